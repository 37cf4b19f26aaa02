"""Commands about supply: prices, buy, dates, order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands import claims, goods_in, orders
from kitting.cli.commands.dates_asked import (
    AskedOf,
    DatesAsked,
    First,
    OfCar,
    OfModel,
    car_asked,
    dates_view,
)
from kitting.cli.options import (
    NO,
    Branch,
    Choose,
    Currency,
    Database,
    DryRun,
    Json,
    Now,
    OfItem,
    OrderNumber,
    Overdue,
    choices,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
    share,
)
from kitting.cli.render.amounts import counted
from kitting.errors import FigureError
from kitting.wording.language import _, told, word_text

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Engine

    from kitting.facts.exchange_rates import PricedIn
    from kitting.views.purchasing import PurchaseView

app = typer.Typer(
    help="Show what was ordered and what has come, and put an order right.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Bookings = Annotated[list[str], typer.Argument(help="Bookings of one branch.")]
Sure = Annotated[
    str, typer.Option("--sure", help="The chance asked for that all is there in time.")
]


def register(root: typer.Typer) -> None:
    """Add the commands."""
    for command in (prices, buy, dates, goods_in.receive):
        root.command()(command)
    orders.add_to(app)
    claims.add_to(app)
    root.add_typer(app, name="order")


def prices(
    supplier: Annotated[str, typer.Argument(help="The supplier.")],
    file: Annotated[Path, typer.Argument(help="Its price list, CSV or XLSX.")],
    columns: Annotated[
        Path | None, typer.Option("--columns", help="A file that maps its headings to ours.")
    ] = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Take over a supplier's whole price list, or nothing of it; every bad row is named.

    Example: kitting prices quandrel my-prices.csv --dry-run
    """
    from kitting.cli.progress import rows_read
    from kitting.files.lists.prices import read_column_map
    from kitting.services.purchasing.price_lists import load_prices

    mapped = read_column_map(columns) if columns is not None else None
    with rows_read(file) as listener:
        report = load_prices(open_database(database), supplier, file, mapped, listener, dry_run)
    print(
        _(
            "{supplier}: {rows} parts, {known} of items known here, {new} new, {gone} gone",
            supplier=report.supplier,
            rows=counted(report.rows),
            known=counted(report.known),
            new=counted(report.new),
            gone=counted(report.gone),
        )
    )
    if dry_run:
        remark(_("dry run: nothing was kept"))


def buy(
    bookings: Annotated[
        list[str] | None, typer.Argument(help="Bookings of one branch; or all with --all.")
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="All open bookings, of one branch.")] = False,
    branch: Branch = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on", help="One fitting date for all instead of their own; of a car, its day."
        ),
    ] = None,
    model: OfModel = None,
    choose: Choose = None,
    sure: Sure = "95%",
    place: Annotated[bool, typer.Option("--place", help="Write the orders.")] = False,
    extras: Annotated[
        bool, typer.Option("--extras", help="Order what is worth taking along as well.")
    ] = False,
    currency: Currency = None,
    rates: Annotated[
        list[str] | None,
        typer.Option(
            "--rate",
            metavar="CODE=RATE@DATE",
            help="What 1 of another currency is in what is bought in, and of which day it is.",
        ),
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Find the cheapest purchase that makes bookings whole in time, proven, with the reasons.

    Each booking is judged at its own date: goods have to be there one working day before it. What
    is free on the shelf or comes free is counted first. Exit code 3 when nothing that can be bought
    comes in time with the chance asked for, where that hangs on a van, or where the kit is not fine
    even so. Of a car (or with --model of any car) and its jobs it tells what a booking of them
    would buy, and orders nothing.

    Example: kitting buy B0001 --sure 90% --now "2026-04-02 14:20"
    """
    from kitting.cli.render.purchasing import show_purchase
    from kitting.services.purchasing.orders import Choice
    from kitting.services.purchasing.orders import place as place_orders
    from kitting.services.purchasing.purchase import buy as propose
    from kitting.services.purchasing.purchase_unbooked import buy_unbooked
    from kitting.store import reading

    day = fitting_date(on) if on else None
    engine, at, chance = open_database(database), moment(now), share(sure)
    priced = _priced(currency, rates or (), at)
    if not every and bookings:
        with reading(engine) as session:
            own = OfCar(branch, model, choices(choose))
            request = car_asked(session, bookings, own, day)
            if request is not None:
                if place or extras:
                    raise typer.BadParameter("only bookings are ordered for: book these jobs first")
                view = buy_unbooked(session, request, at, chance, priced)
                if not as_json:
                    show_purchase(console(), view)
                _answer(view, as_json=as_json)
                return
    numbers = _asked_for(engine, bookings or [], every, branch)
    if not numbers:
        remark(_("no booking is open: nothing is bought"))
        return
    if place:
        view = place_orders(engine, numbers, at, day, chance, Choice(extras, priced))
    else:
        with reading(engine) as session:
            view = propose(session, numbers, at, day, chance, priced)
    if not as_json:
        from kitting.cli.commands.book import say_prices

        show_purchase(console(), view)
        say_prices(engine, numbers, at)
    _answer(view, as_json=as_json)


def _priced(currency: str | None, rates: Sequence[str], at: datetime) -> PricedIn:
    """In which currency is bought, and by which stated rates; raises a usage error."""
    from kitting.facts.exchange_rates import parse_exchange_rate, priced_in

    named = currency.strip().upper() if currency else None
    try:
        return priced_in(named, [parse_exchange_rate(text, at.date()) for text in rates])
    except FigureError as error:
        raise typer.BadParameter(told(error), param_hint="--rate") from error


def _answer(view: PurchaseView, *, as_json: bool) -> None:
    if as_json:
        print_json(view)
    if not view.sure:
        raise typer.Exit(NO)


def _asked_for(
    engine: Engine, bookings: Sequence[str], every: bool, branch: str | None
) -> Sequence[str]:
    """The bookings that are named, or all that are open."""
    from kitting.services.purchasing.open_bookings import open_bookings
    from kitting.store import reading

    if every == bool(bookings):
        raise typer.BadParameter("name bookings, or say --all", param_hint="bookings")
    if not every:
        return bookings
    with reading(engine) as session:
        return open_bookings(session, branch)


def dates(
    asked: AskedOf,
    first: First = None,
    branch: Branch = None,
    model: OfModel = None,
    choose: Choose = None,
    sure: Sure = "95%",
    days: Annotated[int, typer.Option("--days", help="Working days.", min=1, max=60)] = 12,
    currency: Currency = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show cost and chance of each possible date, the earliest safe one, and when to order.

    A car and its jobs need no booking: nothing is written, and the answer is what a booking of them
    would get. Nor do jobs on a model need a car: where they hang on a variant, that is told instead
    of a date. Exit code 3 when no date within reach is safe, where it is if a van keeps its day, or
    the kit is not fine even when all is there.

    Example: kitting dates "PELL 117" J1 J2 --branch upper --now "2026-04-02 14:20"
    """
    from kitting.cli.render.dates import show_dates
    from kitting.store import reading

    at, chance = moment(now), share(sure)
    with reading(open_database(database)) as session:
        own = OfCar(branch, model, choices(choose))
        what = DatesAsked(asked, first, own, days, currency)
        view = dates_view(session, what, at, chance)
    if as_json:
        print_json(view)
    else:
        show_dates(console(), view)
    if not view.safe:
        raise typer.Exit(NO)


@app.command("list")
def list_command(
    branch: Branch = None,
    everything: Annotated[bool, typer.Option("--all", help="Complete and cancelled too.")] = False,
    overdue: Overdue = False,
    supplier: Annotated[
        str | None, typer.Option("--supplier", help="Only of this supplier.")
    ] = None,
    item: OfItem = None,
    booking: Annotated[
        str | None, typer.Option("--booking", help="Only what this booking waits for.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List the open orders with what has come of each; what is overdue is marked.

    Example: kitting order list --supplier ombrith
    """
    from kitting.cli.render.orders import show_orders
    from kitting.services.branches import find_branch
    from kitting.services.purchasing.chosen_orders import OrderFilter, chosen, only_open
    from kitting.services.purchasing.order_view import list_orders
    from kitting.store import reading

    late = moment(now).date() if overdue else None
    asked = OrderFilter(not everything, late, supplier, item, booking)
    with reading(open_database(database)) as session:
        owner = find_branch(session, branch).id if branch else None
        today = moment(now).date()
        like_that = chosen(
            session, list_orders(session, owner, today), replace(asked, is_open=False)
        )
    found = only_open(like_that) if asked.is_open else like_that
    if as_json:
        print_json(found)
    else:
        every = replace(asked, is_open=False) == OrderFilter()
        show_orders(console(), found, every=every, left_out=len(like_that) - len(found))


@app.command()
def show(
    order: OrderNumber, now: Now = None, database: Database = None, as_json: Json = False
) -> None:
    """Show an order line by line, with what the supplier announced since.

    Example: kitting order show P0001
    """
    from kitting.cli.render.orders import show_order
    from kitting.services.purchasing.order_view import find_order, order_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = order_view(session, find_order(session, order), moment(now).date())
    if as_json:
        print_json(view)
    else:
        show_order(console(), view)


@app.command()
def cancel(order: OrderNumber, now: Now = None, database: Database = None) -> None:
    """Cancel what has not come of an order; bookings are promised what else is free.

    Example: kitting order cancel P0001
    """
    from kitting.services.purchasing.cancellation import cancel_order

    view = cancel_order(open_database(database), order, moment(now))
    print(f"{view.number}: {word_text(view.state)}")
