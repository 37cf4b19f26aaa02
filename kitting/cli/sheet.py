"""Commands that print: pick list, labels, ruler page."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.options import (
    NO,
    Assume,
    Boxes,
    Database,
    Jobs,
    OnDate,
    Out,
    Policy,
    Registration,
    assumptions,
    console,
    fitting_date,
    open_database,
    remark,
    write_file,
)
from kitting.cli.plan import make_plan

app = typer.Typer(
    help="Print sheets and labels as PDF.", no_args_is_help=True, rich_markup_mode=None
)

Stock = Annotated[
    str, typer.Option("--stock", help="Label stock, by name or as WxH in mm; see 'sheet stocks'.")
]
Paper = Annotated[str, typer.Option("--paper", help="A4 or Letter.")]
Offset = Annotated[
    str,
    typer.Option("--offset", metavar="X,Y", help="What the printer is off, in mm right and up."),
]
DEFAULT_STOCK = "99x67-8"


@app.command("pick")
def pick_command(
    registration: Registration,
    jobs: Jobs,
    on: OnDate = None,
    assume: Assume = None,
    out: Out = None,
    paper: Paper = "A4",
    database: Database = None,
) -> None:
    """Print the pick list of a plan in bin order.

    Exit code 3 when some jobs are stopped: what they need is left off, and the sheet says so.

    Example: kitting sheet pick "PELL 117" J1 J2 --on 2026-04-15 --out pick-list.pdf
    """
    from kitting.reports.picklist import draw_pick_list
    from kitting.services.kits import pick_view

    plan = make_plan(registration, jobs, on, assume, database)
    target = BytesIO()
    draw_pick_list(pick_view(plan), target, paper=paper)
    _keep(out or Path(f"pick-list-{plan.reference}.pdf"), target)
    _say_stopped(bool(plan.unresolved))


@app.command("labels")
def labels_command(
    registration: Registration,
    jobs: Jobs,
    on: OnDate = None,
    assume: Assume = None,
    stock: Stock = DEFAULT_STOCK,
    start: Annotated[int, typer.Option("--start", help="First free label of a begun sheet.")] = 1,
    offset: Offset = "0,0",
    out: Out = None,
    database: Database = None,
) -> None:
    """Print the labels of a kit: one for the kit, one per bag, one per ring end.

    Example: kitting sheet labels "PELL 117" J1 J2 --on 2026-04-15 --stock 99x67-8 --start 3
    """
    from kitting.reports.labels import draw_kit_labels
    from kitting.reports.stationery import find_stock
    from kitting.services.kits import kit_view

    shift, chosen = _millimetres(offset), find_stock(stock)
    plan = make_plan(registration, jobs, on, assume, database)
    target = BytesIO()
    draw_kit_labels(kit_view(plan), chosen, target, start=start, offset=shift)
    _keep(out or Path(f"labels-{plan.reference}.pdf"), target)
    _say_stopped(bool(plan.unresolved))


@app.command("tools")
def tools_command(
    registration: Registration,
    jobs: Jobs,
    boxes: Boxes = None,
    on: OnDate = None,
    policy: Policy = "marked",
    assume: Assume = None,
    out: Out = None,
    paper: Paper = "A4",
    database: Database = None,
) -> None:
    """Print the tool check: gaps first, what to lay out, and the torque ranges drawn to scale.

    Exit code 3 when something cannot be done with the boxes.

    Example: kitting sheet tools "PELL 117" J3 --box bay --on 2026-04-15 --out tools.pdf
    """
    from kitting.reports.toolcheck import draw_tool_check
    from kitting.services.tool_buying import check_with_cover
    from kitting.store import reading

    day, assumed = fitting_date(on), assumptions(assume)
    with reading(open_database(database)) as session:
        view = check_with_cover(session, registration, jobs, boxes or (), day, policy, assumed)
    target = BytesIO()
    draw_tool_check(view, target, paper=paper)
    _keep(out or Path(f"tools-{view.reference}.pdf"), target)
    if view.gaps:
        remark(f"{len(view.gaps)} things cannot be done with these boxes (see the sheet)")
        raise typer.Exit(NO)


@app.command("tighten")
def tighten_command(
    registration: Registration,
    jobs: Jobs,
    boxes: Boxes = None,
    on: OnDate = None,
    policy: Policy = "marked",
    assume: Assume = None,
    out: Out = None,
    paper: Paper = "A4",
    database: Database = None,
) -> None:
    """Print the tightening sheet: stages, wrench and setting, order, a tick per bolt and stage.

    Exit code 3 when some jobs are stopped: their joints are left off, and the sheet says so.

    Example: kitting sheet tighten "PELL 117" J3 --box bay --on 2026-04-15 --out tighten.pdf
    """
    from kitting.reports.tightening import draw_tightening
    from kitting.services.tightening import tighten
    from kitting.store import reading

    day, assumed = fitting_date(on), assumptions(assume)
    with reading(open_database(database)) as session:
        view = tighten(session, registration, jobs, boxes or (), day, policy, assumed)
    target = BytesIO()
    draw_tightening(view, target, paper=paper)
    _keep(out or Path(f"tighten-{view.reference}.pdf"), target)
    _say_stopped(bool(view.stopped))


@app.command("ruler")
def ruler_command(stock: Stock = DEFAULT_STOCK, offset: Offset = "0,0", out: Out = None) -> None:
    """Print a test page with the outline of every label and rulers in mm.

    Example: kitting sheet ruler --stock 63x38-21 --out ruler.pdf
    """
    from kitting.reports.labels import draw_ruler
    from kitting.reports.stationery import find_stock

    chosen, target = find_stock(stock), BytesIO()
    draw_ruler(chosen, target, offset=_millimetres(offset))
    _keep(out or Path(f"ruler-{chosen.key}.pdf"), target)


@app.command("stocks")
def stocks_command() -> None:
    """List the label stock known by name.

    Example: kitting sheet stocks
    """
    from rich.table import Table

    from kitting.reports.stationery import STOCKS

    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("name")
    table.add_column("what")
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


def _keep(path: Path, target: BytesIO) -> None:
    write_file(path, target.getvalue())
    remark(f"wrote {path}")


def _say_stopped(stopped: bool) -> None:
    if stopped:
        remark("some jobs are stopped; their parts are left off (see the box on the sheet)")
        raise typer.Exit(NO)
