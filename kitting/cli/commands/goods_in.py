"""The command for what came: receive."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from kitting.cli.commands.orders import AnotherLine
from kitting.cli.commands.scanned import Stated, with_scan
from kitting.cli.options import (
    Batch,
    Bin,
    Database,
    Json,
    Now,
    OrderNumber,
    amount,
    code_text,
    console,
    fitting_date,
    moment,
    print_json,
)
from kitting.cli.retry import insisted


def receive(
    order: OrderNumber,
    item: Annotated[
        str | None, typer.Option("--item", help="One item of it; without, all came as ordered.")
    ] = None,
    good: Annotated[str | None, typer.Option("--good", help="How much came usable.")] = None,
    damaged: Annotated[str | None, typer.Option("--damaged", help="How much came damaged.")] = None,
    wrong: Annotated[str | None, typer.Option("--wrong", help="How much was another part.")] = None,
    scan: Annotated[
        str | None,
        typer.Option("--scan", help="The packet as scanned: item, lot, dates, number."),
    ] = None,
    lot: Batch = None,
    made: Annotated[
        str | None,
        typer.Option("--made", help="Cure date, such as 2Q25; without --item, of all that ages."),
    ] = None,
    expires: Annotated[str | None, typer.Option("--expires", help="The printed date.")] = None,
    bin_name: Bin = None,
    final: Annotated[bool, typer.Option("--rest-lost", help="The rest will not come.")] = False,
    note: Annotated[str | None, typer.Option("--note", help="A remark.")] = None,
    instead: Annotated[
        str | None, typer.Option("--instead", help="What came in its place: a substitute.")
    ] = None,
    files: Annotated[
        list[Path] | None,
        typer.Option("--file", help="A whole delivery note instead, CSV or XLSX, all or nothing."),
    ] = None,
    note_no: Annotated[
        str | None,
        typer.Option("--note-no", help="The number of the delivery note.", callback=code_text),
    ] = None,
    another_line: AnotherLine = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Take in what came of an order; good pieces go to the bookings that waited for them.

    Columns of a delivery note: item or part (the supplier's), good, damaged, wrong, lot, made,
    expires, bin, note. What came by a note of the same number already is refused, and without a
    number a whole note that says what one said before.

    Example: kitting receive P0001 --item RING-FKM-17X2.5 --good "1 each" --made 1Q26 --lot F17-26
    """
    from kitting.cli.render.orders import show_order
    from kitting.facts.making import parse_made
    from kitting.services.purchasing.goods_in import GoodsReceived
    from kitting.services.purchasing.goods_in import receive as take_in
    from kitting.services.purchasing.known_notes import DeliveryNote

    by = DeliveryNote(note_no, another_line)
    received: Sequence[GoodsReceived] | DeliveryNote = by
    at = moment(now)
    typed = Stated(item, lot, made, expires, good, (damaged, wrong), instead)
    read = with_scan(database, scan, typed)
    item, instead, good = read.item, read.instead, read.good
    lot, made, expires = read.lot, read.made, read.expires
    if files:
        if any((item, good, damaged, wrong, lot, made, expires, bin_name, final, note, instead)):
            raise typer.BadParameter("a delivery note says all of it", param_hint="--file")
        from kitting.services.purchasing.delivery_notes import receive_notes

        view = insisted(
            database, lambda engine, token: receive_notes(engine, order, files, at, token, by)
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
                by=by,
            )
        ]
        if instead is not None:
            from kitting.services.purchasing.substitutes import receive_substitute

            (came,) = received
            view = insisted(
                database,
                lambda engine, token: receive_substitute(engine, order, came, instead, at, token),
            )
            if as_json:
                print_json(view)
            else:
                show_order(console(), view)
            return
    elif any((instead, good, damaged, wrong, lot, expires, bin_name, final, note)):
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
