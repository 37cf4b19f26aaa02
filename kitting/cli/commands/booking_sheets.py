"""Sheets of orders and bookings: order, removal count, findings, chart of dates."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.dates_asked import AskedOf, DatesAsked, First, OfCar, OfModel, dates_view
from kitting.cli.commands.not_fine import say_doubts
from kitting.cli.commands.sheet_options import (
    Booked,
    BookedFirst,
    Paper,
    Public,
    keep,
    paper_for,
    printing,
    shown,
    the_booking,
)
from kitting.cli.options import (
    NO,
    Branch,
    Choose,
    Database,
    Now,
    OrderNumber,
    Out,
    choices,
    moment,
    open_database,
    remark,
    share,
    write_file,
)
from kitting.wording.language import _

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from kitting.reports.sheets.dates import KitAsked


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command("order")(order_command)
    app.command("removal")(removal_command)
    app.command("findings")(findings_command)
    app.command("dates")(dates_command)


def order_command(
    order: OrderNumber,
    csv: Annotated[bool, typer.Option("--csv", help="A CSV list for the supplier.")] = False,
    inside: Annotated[
        bool, typer.Option("--inside", help="A copy for the house: it names who waits.")
    ] = False,
    out: Out = None,
    paper: Paper = None,
    database: Database = None,
) -> None:
    """Print an order, or write it as a list for the supplier.

    What goes to the supplier names no booking; --inside makes the copy that does.

    Example: kitting sheet order P0001 --out order.pdf
    """
    from kitting.services.purchasing.order_view import find_order, order_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = order_view(session, find_order(session, order))
    if csv:
        from kitting.files.output.order_csv import order_csv

        path = out or Path(f"order-{view.number}.csv")
        write_file(path, order_csv(view).encode())
        remark(_("wrote {path}", path=path))
        return
    from kitting.reports.sheets.order import draw_order

    with printing() as target:
        draw_order(view, target, paper=paper_for(paper), inside=inside)
    kept = f"order-{view.number}{'-inside' if inside else ''}.pdf"
    keep(out or Path(kept), target)


def removal_command(
    first: BookedFirst = None,
    booking: Booked = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    now: Now = None,
    database: Database = None,
) -> None:
    """Print the removal count of a booking: old seals out, joint by joint.

    Exit code 3 where not all of the kit is fine; the sheet says it first.

    Example: kitting sheet removal B0001 --out removal.pdf
    """
    from kitting.reports.sheets.removal_count import draw_removal
    from kitting.services.bookings.seal_count import removal_sheet
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = removal_sheet(session, the_booking(first, booking), moment(now).date())
    with printing() as target:
        draw_removal(shown(view, public), target, paper=paper_for(paper))
    keep(out or Path(f"removal-{view.booking}.pdf"), target)
    say_doubts(view.doubts)


def findings_command(
    first: BookedFirst = None,
    booking: Booked = None,
    out: Out = None,
    paper: Paper = None,
    public: Public = False,
    now: Now = None,
    database: Database = None,
) -> None:
    """Print the findings sheet of a booking: what each position has to show, boxes to tick.

    Exit code 3 where not all of the kit is fine; the sheet says it first.

    Example: kitting sheet findings B0001 --out findings.pdf
    """
    from kitting.reports.sheets.findings import draw_findings
    from kitting.services.bookings.findings_sheet import findings_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = findings_view(session, the_booking(first, booking), moment(now).date())
    with printing() as target:
        draw_findings(shown(view, public), target, paper=paper_for(paper))
    keep(out or Path(f"findings-{view.booking}.pdf"), target)
    say_doubts(view.doubts)


def _kit_asked(session: Session, number: str, public: bool) -> KitAsked:
    from kitting.reports.sheets.dates import KitAsked
    from kitting.services.bookings.kit_record import plan_of
    from kitting.services.bookings.states import find_booking

    planned = plan_of(session, find_booking(session, number))
    car = planned.vehicle.public_name if public else planned.vehicle.whole_name
    jobs = tuple(f"{job.code} {job.name}" for job in planned.jobs)
    return KitAsked(number, planned.reference, car, jobs)


def dates_command(
    asked: AskedOf,
    first: First = None,
    branch: Branch = None,
    model: OfModel = None,
    choose: Choose = None,
    sure: Annotated[str, typer.Option("--sure", help="The chance asked for.")] = "95%",
    now: Now = None,
    out: Out = None,
    public: Public = False,
    paper: Paper = None,
    database: Database = None,
) -> None:
    """Print the chart of possible dates: chance and cost of each, the earliest safe one.

    Of bookings, of jobs on a car that nobody has booked, or with --model of jobs on any car of it.
    Exit code 3 when no date within reach is safe.

    Example: kitting sheet dates B0001 --now "2026-04-02 14:20" --out dates.pdf
    """
    from kitting.reports.sheets.dates import draw_dates
    from kitting.services.purchasing.safe_dates import DAYS
    from kitting.store import reading

    with reading(open_database(database)) as session:
        own = OfCar(branch, model, choices(choose))
        what = DatesAsked(asked, first, own, DAYS)
        view = dates_view(session, what, moment(now), share(sure))
        kits = [_kit_asked(session, number, public) for number in view.bookings]
    if public and view.car is not None and model is None:
        view = replace(view, car=f"…{''.join(view.car.split())[-3:]}")
    with printing(now) as target:
        draw_dates(view, target, paper=paper_for(paper), kits=kits)
    of = view.bookings or ("".join((view.car or "").split()), *view.jobs)
    keep(out or Path(f"dates-{'-'.join(of)}.pdf"), target)
    if not view.safe:
        raise typer.Exit(NO)
