"""Commands that change an order: place one by hand, buy over the counter, what comes after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.book import say_prices_for
from kitting.cli.commands.scanned import Stated, with_scan
from kitting.cli.options import (
    Batch,
    Bin,
    Branch,
    Database,
    Json,
    Now,
    OrderNumber,
    amount,
    code_text,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
)
from kitting.cli.retry import insisted
from kitting.wording.language import _

if TYPE_CHECKING:
    from kitting.views.orders import OrderView

Supplier = Annotated[str, typer.Argument(help="The supplier.")]
AnotherLine = Annotated[
    bool, typer.Option("--another-line", help="The same paper has the item on one more line.")
]
For = Annotated[
    list[str] | None,
    typer.Option("--for", help="A booking that it is for; several may be named (the shelf)."),
]


def add_to(app: typer.Typer) -> None:
    """Add the commands to those of `order`."""
    for command in (place, counter, announce, keep, correct):
        app.command()(command)


def place(
    supplier: Supplier,
    packs: Annotated[
        list[str],
        typer.Argument(help="ITEM=PACKS, or the supplier's own PART=PACKS.", metavar="ITEM=PACKS"),
    ],
    branch: Branch = None,
    for_bookings: For = None,
    write: Annotated[bool, typer.Option("--place", help="Write the order.")] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Order by hand, for the shelf or for bookings, at the prices and terms of the price list.

    Shows what it comes to; with --place it is written. What comes is promised to the bookings named
    with --for, as far as they lack it; the rest is free.

    Example: kitting order place quandrel RING-FKM-17X2.5=1 --branch upper --now "2026-04-02 14:20"
    """
    from kitting.cli.render.orders import show_hand_order
    from kitting.services.purchasing.by_hand import HandOrder, place_by_hand, propose_by_hand
    from kitting.store import reading

    wanted = HandOrder(supplier, _packs(packs), branch, tuple(for_bookings or ()))
    at = moment(now)
    if write:
        view = insisted(database, lambda engine, token: place_by_hand(engine, wanted, at, token))
    else:
        with reading(open_database(database)) as session:
            view = propose_by_hand(session, wanted, at)
    if as_json:
        print_json(view)
    else:
        show_hand_order(console(), view)
        say_prices_for(database, for_bookings, at)
    if not write:
        remark(_("nothing was ordered; --place writes the order"))


def counter(
    supplier: Supplier,
    item: Annotated[str, typer.Argument(help="The item.")],
    quantity: Annotated[str, typer.Argument(help="How much, such as '2 each'.")],
    paid: Annotated[str, typer.Option("--paid", help="For all of it, such as '7.60 GBP'.")],
    bill: Annotated[
        str, typer.Option("--bill", help="The number of the receipt.", callback=code_text)
    ],
    for_bookings: For = None,
    lot: Batch = None,
    made: Annotated[
        str | None, typer.Option("--made", help="When it was made, as printed: 1Q26, 2026-03.")
    ] = None,
    expires: Annotated[str | None, typer.Option("--expires", help="The date printed.")] = None,
    age_unknown: Annotated[
        bool, typer.Option("--age-unknown", help="Nothing on it tells how old it is.")
    ] = False,
    another_line: AnotherLine = False,
    bin_name: Bin = None,
    branch: Branch = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record what was bought over the counter: order, receipt and stock in one.

    It goes to the bookings named with --for, as far as they lack it; the rest is free on the shelf.
    An item that is recorded of the same bill already is refused, unless --another-line says that
    the bill has it twice.

    Example: kitting order counter ombrith CLIP-TRIM "1 each" --paid "9 GBP" --bill 7 --branch upper
    """
    from kitting.cli.render.orders import show_order
    from kitting.facts.making import parse_made
    from kitting.facts.money import parse_money
    from kitting.services.purchasing.counter import CounterPurchase, buy_over_counter
    from kitting.services.purchasing.goods_in import GoodsReceived

    much = amount(quantity)
    read = with_scan(database, None, Stated(item, lot, made, expires, quantity))
    made, expires = read.made, read.expires
    bought = CounterPurchase(
        supplier=supplier,
        goods=GoodsReceived(
            item=read.item or item,
            good=much.thousandths,
            unit=much.unit,
            lot=read.lot,
            made=parse_made(made) if made else None,
            expires=fitting_date(expires, "--expires") if expires else None,
            bin=bin_name,
        ),
        paid=parse_money(paid),
        bill=bill,
        branch=branch,
        bookings=tuple(for_bookings or ()),
        age_unknown=age_unknown,
        another_line=another_line,
    )
    at = moment(now)
    view = insisted(database, lambda engine, token: buy_over_counter(engine, bought, at, token))
    if as_json:
        print_json(view)
    else:
        show_order(console(), view)
        say_prices_for(database, for_bookings, at)


def announce(
    order: OrderNumber,
    due: Annotated[str, typer.Option("--due", help="The day that the supplier announced.")],
    item: Annotated[str | None, typer.Option("--item", help="Of one item only.")] = None,
    again: Annotated[
        str | None,
        typer.Option("--again", help="So much of it is sent once more: came damaged, wrong, lost."),
    ] = None,
    why: Annotated[str | None, typer.Option("--why", help="What the supplier says.")] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record a new date that the supplier announced; chances and bookings are judged by it.

    The date of before stays on record. What came damaged or wrong is lacking until the supplier
    announces with --again that it is sent once more.

    Example: kitting order announce P0001 --due 2026-04-14 --why "van broke down" --now 2026-04-08
    """
    from kitting.cli.render.orders import show_order
    from kitting.services.purchasing.announcements import Announcement
    from kitting.services.purchasing.announcements import announce as write_down

    said = Announcement(
        due=fitting_date(due, "--due"), item=item, again=amount(again) if again else None, why=why
    )
    at = moment(now)
    view = insisted(database, lambda engine, token: write_down(engine, order, said, at, token))
    if as_json:
        print_json(view)
    else:
        show_order(console(), view)


Item = Annotated[str, typer.Argument(help="The item.")]
Quantity = Annotated[str, typer.Argument(help="How much, such as '2 each'.")]


def keep(
    order: OrderNumber,
    item: Item,
    quantity: Quantity,
    lot: Annotated[
        str | None, typer.Option("--lot", help="The lot it is on hold in, where there are several.")
    ] = None,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Keep what came beyond the order: it is charged at its price, and free of its hold.

    It becomes a line of the order. What is not kept goes back with order return and its lot.

    Example: kitting order keep P0001 NUT-EXH-M8 "1 each"
    """
    from kitting.services.purchasing.kept_goods import Kept
    from kitting.services.purchasing.kept_goods import keep as write_down

    kept = Kept(item, amount(quantity), lot)
    at = moment(now)
    shown(
        insisted(database, lambda engine, token: write_down(engine, order, kept, at, token)),
        as_json,
    )


def correct(
    order: OrderNumber,
    item: Item,
    why: Annotated[str, typer.Option("--why", help="What was recorded wrongly.")],
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Take back the newest receipt of an item, all of it; then receive it as it really was.

    The stock leaves its lot again, and bookings wait for the order as before. Nothing is erased.

    Example: kitting order correct P0001 NUT-EXH-M8 --why "three came, not four"
    """
    from kitting.services.purchasing.corrections import take_back_receipt

    at = moment(now)
    shown(
        insisted(
            database, lambda engine, token: take_back_receipt(engine, order, item, why, at, token)
        ),
        as_json,
    )


def shown(view: OrderView, as_json: bool) -> None:
    """An order as it stands now, on the screen or as JSON."""
    from kitting.cli.render.orders import show_order

    if as_json:
        print_json(view)
    else:
        show_order(console(), view)


def _packs(pairs: Sequence[str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for pair in pairs:
        name, sign, count = pair.rpartition("=")
        if not (sign and name.strip() and count.strip().isdecimal()):
            raise typer.BadParameter(
                f"{pair!r}: write ITEM=PACKS, for example CLIP=2", param_hint="ITEM=PACKS"
            )
        if name.strip() in found:
            raise typer.BadParameter(f"{name.strip()} is named twice", param_hint="ITEM=PACKS")
        found[name.strip()] = int(count)
    return found
