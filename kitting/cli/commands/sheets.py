"""Commands that print: pick list, labels, ruler page."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands import booking_sheets as sheet_booking
from kitting.cli.commands import plan_sheet
from kitting.cli.commands import refit_sheet as sheet_refit
from kitting.cli.commands import tool_sheet as sheet_tools
from kitting.cli.commands.for_paper import (
    Asked,
    kit_for_paper,
    pick_for_paper,
    seals_for_paper,
)
from kitting.cli.commands.not_fine import say_doubts, say_lacking_tools
from kitting.cli.commands.sheet_options import (
    Booked,
    Paper,
    Public,
    keep,
    paper_for,
    printing,
    shown,
    shown_on_labels,
    stock_for,
)
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
    console,
    fitting_date,
    moment,
    open_database,
    remark,
    tool_request,
)
from kitting.wording.language import n_

if TYPE_CHECKING:
    from kitting.facts.verdicts import Doubt

app = typer.Typer(
    help="Print sheets and labels as PDF, for a plan or a booking.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
sheet_booking.register(app)
sheet_refit.register(app)
sheet_tools.register(app)
plan_sheet.register(app)


def register(root: typer.Typer) -> None:
    """Add the group."""
    root.add_typer(app, name="sheet")


Stock = Annotated[
    str | None,
    typer.Option(
        "--stock",
        help="Label stock, by name, or a roll as 'WxH roll' in mm; see 'sheet stocks' (99x67-8, or"
        " 102x85-6 where Letter is usual).",
    ),
]
Offset = Annotated[
    str,
    typer.Option("--offset", metavar="X,Y", help="What the printer is off, in mm right and up."),
]


CarOrNone = Annotated[str | None, typer.Argument(help="The car, by registration.")]
JobsOrNone = Annotated[list[str] | None, typer.Argument(help="Jobs, by code (or UNIT/CODE).")]


@app.command("pick")
def pick_command(
    registration: CarOrNone = None,
    jobs: JobsOrNone = None,
    booking: Booked = None,
    on: OnDate = None,
    now: Now = None,
    assume: Assume = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    database: Database = None,
) -> None:
    """Print the pick list of a plan, or of a booking, in bin order.

    Exit code 3 unless all is fine and there; the sheet says first what is not.

    Example: kitting sheet pick "PELL 117" J1 J2 --on 2026-04-15 --out pick-list.pdf
    """
    from kitting.reports.sheets.pick_list import draw_pick_list

    asked = Asked(registration, jobs, booking, on, assume, now)
    view, photographs = pick_for_paper(asked, database)
    with printing(now) as target:
        draw_pick_list(shown(view, public), target, paper_for(paper), photographs)
    keep(out or Path(f"pick-list-{view.booking or view.reference}.pdf"), target)
    say_doubts(view.doubts, view.short_lines)


@app.command("labels")
def labels_command(
    registration: CarOrNone = None,
    jobs: JobsOrNone = None,
    booking: Booked = None,
    on: OnDate = None,
    now: Now = None,
    assume: Assume = None,
    stock: Stock = None,
    start: Annotated[int, typer.Option("--start", help="First free label of a begun sheet.")] = 1,
    offset: Offset = "0,0",
    out: Out = None,
    public: Public = False,
    database: Database = None,
) -> None:
    """Print the labels of a kit, or of a booking's: for the kit, each bag, each ring end.

    What must survive stands on any stock, and a stock too small for it is refused with one that
    would do. Like rings of a bag share a label.

    Example: kitting sheet labels "PELL 117" J1 J2 --on 2026-04-15 --stock 99x67-8 --start 3
    """
    from kitting.reports.labels.labels import draw_kit_labels

    shift, chosen = _millimetres(offset), stock_for(stock)
    asked = Asked(registration, jobs, booking, on, assume, now)
    view, photographs = kit_for_paper(asked, database)
    with printing(now) as target:
        count = draw_kit_labels(
            shown_on_labels(view, public),
            chosen,
            target,
            start=start,
            offset=shift,
            photographs=photographs,
        )
    keep(out or Path(f"labels-{view.booking or view.reference}.pdf"), target)
    remark(n_("{count} label on {name}", "{count} labels on {name}", count, name=chosen.name))
    say_doubts(view.doubts, view.shortages, of_labels=True)


@app.command("seals")
def seals_command(
    registration: CarOrNone = None,
    jobs: JobsOrNone = None,
    booking: Booked = None,
    on: OnDate = None,
    now: Now = None,
    assume: Assume = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    database: Database = None,
) -> None:
    """Print the seal map: joint by joint, which seal goes where, drawn to scale or to be matched.

    It tells each ring from those it could be swapped with. Exit code 3 unless all is fine and
    there; the sheet says first what is not.

    Example: kitting sheet seals "PELL 117" J1 J2 --on 2026-04-15 --out seal-map.pdf
    """
    from kitting.reports.sheets.seal_map import draw_seal_map

    asked = Asked(registration, jobs, booking, on, assume, now)
    view, photographs = seals_for_paper(asked, database)
    with printing(now) as target:
        draw_seal_map(shown(view, public), target, paper_for(paper), photographs)
    keep(out or Path(f"seal-map-{view.booking or view.reference}.pdf"), target)
    say_doubts(view.doubts, tuple(line for line in view.short if line.lacks))


@app.command("tighten")
def tighten_command(
    registration: CarOrNone = None,
    jobs: JobsOrNone = None,
    booking: Booked = None,
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
    """Print the tightening sheet: stages, wrench and setting, order, a tick per bolt and stage.

    Of a booking it is withheld while a count of old seals differs. Exit code 3 unless all is fine
    and the boxes have the tools for every stage; the sheet says what is not.

    Example: kitting sheet tighten "PELL 117" J3 --box bay --on 2026-04-15 --out tighten.pdf
    """
    from kitting.cli.render.tools import to_state
    from kitting.facts.verdicts import worst_first
    from kitting.reports.sheets.tightening import draw_tightening
    from kitting.services.planning.request import PlanRequest
    from kitting.services.tightening.sheet import tighten
    from kitting.services.tools.toolboxes import list_tools
    from kitting.store import reading

    Asked(registration, jobs, booking, on, assume, now)
    with reading(open_database(database)) as session:
        plan = PlanRequest(
            registration or "", tuple(jobs or ()), fitting_date(on), assumptions(assume)
        )
        doubts: tuple[Doubt, ...] = ()
        slot = None
        if booking is not None:
            from kitting.services.bookings.seal_count import refit_of

            refit = refit_of(session, booking, moment(now).date())
            plan, doubts, slot = refit.request, refit.doubts, refit.slot
        view = tighten(session, tool_request(plan, boxes, policy))
        tools = list_tools(session, view.boxes) if view.boxes else ()
    told = worst_first((*view.doubts, *doubts))
    view = replace(view, doubts=told, slot=slot, booking=booking)
    with printing(now) as target:
        draw_tightening(shown(view, public), target, paper=paper_for(paper))
    keep(out or Path(f"tighten-{booking or view.reference}.pdf"), target)
    lacking = say_lacking_tools(view)
    for line in to_state(tools) if lacking else ():
        remark(line)
    say_doubts(view.doubts)
    if lacking:
        raise typer.Exit(NO)


@app.command("strip")
def strip_command(
    registration: CarOrNone = None,
    jobs: JobsOrNone = None,
    booking: Booked = None,
    on: OnDate = None,
    now: Now = None,
    assume: Assume = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    database: Database = None,
) -> None:
    """Print the strip sheet: what comes off, step by step, what to close, keep and photograph.

    Exit code 3 unless all is fine; the sheet says first what has to be known before.

    Example: kitting sheet strip "PELL 117" J1 J2 --on 2026-04-15 --out strip.pdf
    """
    from kitting.cli.commands.for_paper import strip_for_paper
    from kitting.reports.sheets.strip import draw_strip

    asked = Asked(registration, jobs, booking, on, assume, now)
    view, photographs = strip_for_paper(asked, database)
    with printing(now) as target:
        draw_strip(shown(view, public), target, paper_for(paper), photographs)
    keep(out or Path(f"strip-{view.booking or view.reference}.pdf"), target)
    say_doubts((*view.doubts, *view.other_doubts))


@app.command("ruler")
def ruler_command(stock: Stock = None, offset: Offset = "0,0", out: Out = None) -> None:
    """Print a test page with the outline of every label and rulers in mm.

    Example: kitting sheet ruler --stock 63x38-21 --out ruler.pdf
    """
    from kitting.reports.labels.labels import draw_ruler

    chosen, target = stock_for(stock), BytesIO()
    draw_ruler(chosen, target, offset=_millimetres(offset))
    keep(out or Path(f"ruler-{chosen.key}.pdf"), target)


@app.command("stocks")
def stocks_command() -> None:
    """List the label stock known by name.

    Example: kitting sheet stocks
    """
    from kitting.cli.render import headings
    from kitting.cli.render.tables import plain_table
    from kitting.reports.stationery import STOCKS

    table = plain_table(headings.NAME, headings.WHAT)
    for stock in STOCKS.values():
        table.add_row(stock.key, stock.name)
    console().print(table)


def _millimetres(text: str) -> tuple[float, float]:
    try:
        right, up = (float(part) for part in text.split(","))
    except ValueError as error:
        raise typer.BadParameter(
            f"{text!r} is no offset; write X,Y in mm, for example 0.5,-1", param_hint="--offset"
        ) from error
    if not (abs(right) <= 50 and abs(up) <= 50):
        raise typer.BadParameter("an offset is at most 50 mm", param_hint="--offset")
    return right, up
