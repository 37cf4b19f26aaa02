"""The tool check on paper: of a plan, or of a booking."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.commands.for_paper import Asked
from kitting.cli.commands.sheet_options import Paper, Public, keep, paper_for, printing, shown
from kitting.cli.options import (
    NO,
    Assume,
    Boxes,
    Currency,
    Database,
    OnDate,
    Out,
    Policy,
    open_database,
    plan_request,
    remark,
    tool_request,
)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("tools")(tools_command)


def tools_command(
    registration: Annotated[str | None, typer.Argument(help="The car, by registration.")] = None,
    jobs: Annotated[list[str] | None, typer.Argument(help="Jobs, by code (or UNIT/CODE).")] = None,
    booking: Annotated[
        str | None, typer.Option("--booking", help="Of a booking, at its fitting date.")
    ] = None,
    boxes: Boxes = None,
    on: OnDate = None,
    policy: Policy = "marked",
    currency: Currency = None,
    assume: Assume = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    database: Database = None,
) -> None:
    """Print the tool check: what to lay out, the torque ranges to scale, gaps, every task.

    Exit code 3 unless everything can be done, for certain, with the boxes.

    Example: kitting sheet tools "PELL 117" J3 --box bay --on 2026-04-15 --out tools.pdf
    """
    from kitting.cli.render.tools import to_state
    from kitting.facts.verdicts import Verdict
    from kitting.reports.sheets.tool_check import draw_tool_check
    from kitting.services.bookings.kit_record import request_of
    from kitting.services.bookings.states import find_booking
    from kitting.services.tools.purchase import check_with_cover
    from kitting.store import reading
    from kitting.wording.language import _
    from kitting.wording.verdicts import tally_text

    Asked(registration, jobs, booking, on, assume, None)
    with reading(open_database(database)) as session:
        if booking is None:
            number, plan = None, plan_request(registration or "", jobs or [], on, assume)
        else:
            found = find_booking(session, booking)
            number, plan = found.number, request_of(session, found)
        view = check_with_cover(session, tool_request(plan, boxes, policy, currency))
    view = replace(view, booking=number)
    with printing() as target:
        draw_tool_check(shown(view, public), target, paper=paper_for(paper))
    keep(out or Path(f"tools-{view.booking or view.reference}.pdf"), target)
    if view.verdict is not Verdict.FINE:
        told = tally_text(view.tally)
        remark(_("not all can be done with these boxes: {found} (see the sheet)", found=told))
        for line in to_state(view.scales):
            remark(line)
        raise typer.Exit(NO)
