"""Commands about supply: prices, buy, dates, order, receive."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.commands import orders
from kitting.cli.options import (
    NO,
    Branch,
    Database,
    DryRun,
    Json,
    Now,
    amount,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
    share,
)
from kitting.cli.retry import insisted

app = typer.Typer(
    help="Orders: what was ordered and what has come.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Bookings = Annotated[list[str], typer.Argument(help="Bookings of one branch.")]
Order = Annotated[str, typer.Argument(help="The number of the order.")]
Sure = Annotated[
    str, typer.Option("--sure", help="The chance asked for that all is there in time.")
]


def register(root: typer.Typer) -> None:
    """Add the commands."""
    for command in (prices, buy, dates, receive):
        root.command()(command)
    orders.add_to(app)
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
        f"{report.supplier}: {report.rows:,} parts, {report.known:,} of items known here,"
        f" {report.new:,} new, {report.gone:,} gone"
    )
    if dry_run:
        remark("dry run: nothing was kept")


def buy(
    bookings: Bookings,
    on: Annotated[
        str | None, typer.Option("--on", help="Another fitting date than the bookings' first.")
    ] = None,
    sure: Sure = "95%",
    place: Annotated[bool, typer.Option("--place", help="Write the orders.")] = False,
    extras: Annotated[
        bool, typer.Option("--extras", help="Order what is worth taking along as well.")
    ] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Find the cheapest purchase that makes bookings whole in time, proven, with the reasons.

    Goods have to be there one working day before the fitting date. Exit code 3 when nothing that
    can be bought comes in time with the chance asked for, or where the kit is not fine even so.

    Example: kitting buy B0001 --sure 90% --now "2026-04-02 14:20"
    """
    from kitting.cli.render.purchasing import show_purchase
    from kitting.services.purchasing.orders import place as place_orders
    from kitting.services.purchasing.purchase import buy as propose
    from kitting.store import reading

    day = fitting_date(on) if on else None
    engine, at, chance = open_database(database), moment(now), share(sure)
    if place:
        view = place_orders(engine, bookings, at, day, chance, extras)
    else:
        with reading(engine) as session:
            view = propose(session, bookings, at, day, chance)
    if as_json:
        print_json(view)
    else:
        show_purchase(console(), view)
    if view.chance < view.asked or view.doubts:
        raise typer.Exit(NO)


def dates(
    bookings: Bookings,
    sure: Sure = "95%",
    days: Annotated[int, typer.Option("--days", help="Working days.", min=1, max=60)] = 12,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Show cost and chance of each possible date, the earliest safe one, and when to order.

    Exit code 3 when no date within reach is safe, or the kit is not fine even when all is there.

    Example: kitting dates B0001 --now "2026-04-02 14:20"
    """
    from kitting.cli.render.purchasing import show_dates
    from kitting.services.purchasing.safe_dates import dates as find
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = find(session, bookings, moment(now), share(sure), days)
    if as_json:
        print_json(view)
    else:
        show_dates(console(), view)
    if not view.safe:
        raise typer.Exit(NO)


@app.command("list")
def list_command(
    branch: Branch = None, now: Now = None, database: Database = None, as_json: Json = False
) -> None:
    """List the orders with what has come of each; what is overdue is marked.

    Example: kitting order list
    """
    from kitting.cli.render.purchasing import show_orders
    from kitting.services.branches import find_branch
    from kitting.services.purchasing.order_view import list_orders
    from kitting.store import reading

    with reading(open_database(database)) as session:
        owner = find_branch(session, branch).id if branch else None
        found = list_orders(session, owner, moment(now).date())
    if as_json:
        print_json(found)
    else:
        show_orders(console(), found)


@app.command()
def show(order: Order, now: Now = None, database: Database = None, as_json: Json = False) -> None:
    """Show an order line by line, with what the supplier announced since.

    Example: kitting order show P0001
    """
    from kitting.cli.render.purchasing import show_order
    from kitting.services.purchasing.order_view import find_order, order_view
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = order_view(session, find_order(session, order), moment(now).date())
    if as_json:
        print_json(view)
    else:
        show_order(console(), view)


@app.command()
def cancel(order: Order, now: Now = None, database: Database = None) -> None:
    """Cancel what has not come of an order; bookings are promised what else is free.

    Example: kitting order cancel P0001
    """
    from kitting.services.purchasing.goods_in import cancel_order

    view = cancel_order(open_database(database), order, moment(now))
    print(f"{view.number}: {view.state}")


def receive(
    order: Order,
    item: Annotated[
        str | None, typer.Option("--item", help="One item of it; without, all came as ordered.")
    ] = None,
    good: Annotated[str | None, typer.Option("--good", help="How much came usable.")] = None,
    damaged: Annotated[str | None, typer.Option("--damaged", help="How much came damaged.")] = None,
    wrong: Annotated[str | None, typer.Option("--wrong", help="How much was another part.")] = None,
    lot: Annotated[str | None, typer.Option("--lot", help="The batch on the packet.")] = None,
    made: Annotated[
        str | None,
        typer.Option("--made", help="Cure date, such as 2Q25; without --item, of all of it."),
    ] = None,
    expires: Annotated[str | None, typer.Option("--expires", help="The printed date.")] = None,
    bin_name: Annotated[str | None, typer.Option("--bin", help="Where it goes.")] = None,
    final: Annotated[bool, typer.Option("--rest-lost", help="The rest will not come.")] = False,
    note: Annotated[str | None, typer.Option("--note", help="A remark.")] = None,
    instead: Annotated[
        str | None, typer.Option("--instead", help="What came in its place: a substitute.")
    ] = None,
    files: Annotated[
        list[Path] | None,
        typer.Option("--file", help="A whole delivery note instead, CSV or XLSX, all or nothing."),
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Take in what came of an order; good pieces go to the bookings that waited for them.

    Columns of a delivery note: item or part (the supplier's), good, damaged, wrong, lot, made,
    expires, bin, note.

    Example: kitting receive P0001 --item RING-FKM-17X2.5 --good "1 each" --made 1Q26 --lot F17-26
    """
    from kitting.cli.render.purchasing import show_order
    from kitting.facts.shelf_life import parse_made
    from kitting.services.purchasing.goods_in import GoodsReceived
    from kitting.services.purchasing.goods_in import receive as take_in

    received = None
    at = moment(now)
    if files:
        if any((item, good, damaged, wrong, lot, made, expires, bin_name, final, note, instead)):
            raise typer.BadParameter("a delivery note says all of it", param_hint="--file")
        from kitting.services.purchasing.delivery_notes import receive_notes

        view = insisted(
            database, lambda engine, token: receive_notes(engine, order, files, at, token)
        )
        if as_json:
            print_json(view)
        else:
            show_order(console(), view)
        return
    if item is not None:
        printed: date | None = fitting_date(expires, "--expires") if expires else None
        stated = [amount(text) if text else None for text in (good, damaged, wrong)]
        units = {one.unit for one in stated if one is not None}
        if len(units) > 1:
            raise typer.BadParameter("give all amounts in one unit")
        pieces = [one.thousandths if one is not None else 0 for one in stated]
        received = [
            GoodsReceived(
                item=item,
                good=pieces[0],
                damaged=pieces[1],
                wrong=pieces[2],
                lot=lot,
                made=parse_made(made) if made else None,
                expires=printed,
                bin=bin_name,
                final=final,
                note=note,
                unit=next(iter(units), None),
            )
        ]
        if instead is not None:
            from kitting.services.purchasing.substitutes import receive_substitute

            came = received[0]
            view = insisted(
                database,
                lambda engine, token: receive_substitute(engine, order, came, instead, at, token),
            )
            if as_json:
                print_json(view)
            else:
                show_order(console(), view)
            return
    elif instead or good or damaged or wrong or lot or expires or bin_name or final:
        raise typer.BadParameter("say of which item with --item", param_hint="--item")
    cured = parse_made(made) if made and item is None else None
    view = insisted(
        database,
        lambda engine, token: take_in(engine, order, received, at, token=token, made=cured),
    )
    if as_json:
        print_json(view)
    else:
        show_order(console(), view)
