"""The command that prints a plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.for_paper import Asked
from kitting.cli.commands.sheet_options import Paper, Public, keep, paper_for, printing
from kitting.cli.options import (
    NO,
    Assume,
    Database,
    Now,
    OnDate,
    Out,
    moment,
    open_database,
    remark,
)
from kitting.wording.language import _, n_

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from kitting.reports.sheets.plan import OfBooking


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("plan")(plan_command)


def plan_command(
    registration: Annotated[str | None, typer.Argument(help="The car, by registration.")] = None,
    jobs: Annotated[list[str] | None, typer.Argument(help="Jobs, by code (or UNIT/CODE).")] = None,
    booking: Annotated[
        str | None, typer.Option("--booking", help="Of a booking: with what is short of it.")
    ] = None,
    on: OnDate = None,
    now: Now = None,
    assume: Assume = None,
    out: Out = None,
    public: Public = False,
    paper: Paper = None,
    database: Database = None,
) -> None:
    """Print the plan: unknowns first, every line with its reason, cautions in full.

    Labels and other sheets send to it where they have no room. Exit code 3 unless all is fine and
    there; the sheet says first what is not.

    Example: kitting sheet plan "PELL 117" J1 J2 --on 2026-04-15 --out plan.pdf
    """
    from kitting.facts.verdicts import tally
    from kitting.reports.sheets.plan import draw_plan
    from kitting.store import reading
    from kitting.wording.verdicts import tally_text

    asked = Asked(registration, jobs, booking, on, assume, now)
    with reading(open_database(database)) as session:
        view = asked.plan(session)
        of = _of_booking(session, booking, now) if booking is not None else None
    with printing(now) as target:
        draw_plan(view, target, paper_for(paper), of, public=public)
    keep(out or Path(f"plan-{booking or view.reference}.pdf"), target)
    lines = of.lines if of is not None else ()
    short = [line for line in lines if line.lacks]
    not_here = [line for line in lines if not line.complete and not line.lacks]
    if view.doubts:
        found = tally_text(tally(doubt.verdict for doubt in view.doubts))
        remark(_("not all is fine: {found} (see the box on the sheet)", found=found))
    if short:
        remark(
            n_(
                "{count} line is short (marked SHORT on the sheet)",
                "{count} lines are short (marked SHORT on the sheet)",
                len(short),
            )
        )
    if not_here:
        remark(
            n_(
                "{count} line is not here to fit (see the boxes on the sheet)",
                "{count} lines are not here to fit (see the boxes on the sheet)",
                len(not_here),
            )
        )
    if view.doubts or short or not_here:
        raise typer.Exit(NO)


def _of_booking(session: Session, number: str, now: str | None) -> OfBooking:
    from kitting.reports.sheets.plan import OfBooking
    from kitting.services.bookings.kit_sheets import pick_of

    pick = pick_of(session, number, moment(now).date())
    return OfBooking(pick.booking or number, pick.lines)
