"""The refit sheet: of a plan, or of a booking with what it lacks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.for_paper import Asked
from kitting.cli.commands.not_fine import say_lacking_tools
from kitting.cli.commands.sheet_options import Paper, Public, keep, paper_for, printing, shown
from kitting.cli.options import (
    NO,
    Assume,
    Boxes,
    Database,
    Now,
    OnDate,
    Out,
    Policy,
    assumptions,
    fitting_date,
    moment,
    open_database,
    remark,
    tool_request,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from kitting.views.refit import RefitView


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("refit")(refit_command)


def refit_command(
    registration: Annotated[str | None, typer.Argument(help="The car, by registration.")] = None,
    jobs: Annotated[list[str] | None, typer.Argument(help="Jobs, by code (or UNIT/CODE).")] = None,
    booking: Annotated[
        str | None, typer.Option("--booking", help="Of a booking: with what it is short of.")
    ] = None,
    boxes: Boxes = None,
    on: OnDate = None,
    now: Now = None,
    policy: Policy = "marked",
    assume: Assume = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    database: Database = None,
) -> None:
    """Print the refit sheet: bag by bag, seals, fasteners and settings, a box for every step.

    Of a booking it is withheld while a count of old seals differs. Exit code 3 unless all is fine
    and there, and the boxes have the tools for every stage; the sheet says at each bag what is not.

    Example: kitting sheet refit "PELL 117" J1 J2 --on 2026-04-15 --out refit.pdf
    """
    from kitting.facts.verdicts import tally
    from kitting.reports.sheets.refit import draw_refit
    from kitting.services.planning.request import PlanRequest
    from kitting.services.tightening.refit import refit
    from kitting.store import reading
    from kitting.wording.language import _, n_
    from kitting.wording.verdicts import tally_text

    Asked(registration, jobs, booking, on, assume, now)
    with reading(open_database(database)) as session:
        if booking is not None:
            view = _of_booking(session, booking, now, (boxes, policy))
        else:
            named = PlanRequest(
                registration or "", tuple(jobs or ()), fitting_date(on), assumptions(assume)
            )
            view = refit(session, tool_request(named, boxes, policy))
    with printing(now) as target:
        draw_refit(shown(view, public), target, paper=paper_for(paper))
    keep(out or Path(f"refit-{view.booking or view.reference}.pdf"), target)
    lacking = say_lacking_tools(view)
    if view.doubts:
        found = tally_text(tally(doubt.verdict for doubt in view.doubts))
        remark(_("not all is fine: {found} (see the box on the sheet)", found=found))
    if view.shortages:
        short = n_("{count} line is short", "{count} lines are short", len(view.shortages))
        remark(_("{short} (see the bags on the sheet)", short=short))
    if lacking or view.doubts or view.shortages:
        raise typer.Exit(NO)


def _of_booking(
    session: Session, number: str, now: str | None, tools: tuple[list[str] | None, str]
) -> RefitView:
    """The sheet of a booking: its own doubts, trays, and what it lacks."""
    from kitting.services.bookings.refit_sheet import with_kit
    from kitting.services.bookings.seal_count import refit_of
    from kitting.services.tightening.refit import refit

    today = moment(now).date()
    asked = refit_of(session, number, today)
    view = refit(session, tool_request(asked.request, *tools))
    return with_kit(session, view, asked, number, today)
