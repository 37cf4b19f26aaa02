"""Commands about stock: load, list, count, hold, release, extend, scrap, send, arrive; recall."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kitting.cli.commands.holds import hold, release
from kitting.cli.commands.recall import recall
from kitting.cli.commands.scanned import ScannedItem, ScannedLot, named_lot
from kitting.cli.options import (
    Database,
    DryRun,
    Json,
    Now,
    OnDate,
    amount,
    console,
    fitting_date,
    moment,
    open_database,
    print_json,
    remark,
)
from kitting.cli.retry import insisted
from kitting.wording.language import _, in_figures

if TYPE_CHECKING:
    from kitting.services.stock.missing import Missing
    from kitting.services.stock.shelves import LotName

app = typer.Typer(
    help="Show what lies where, and record every movement of it.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
BranchName = Annotated[str, typer.Argument(help="The branch.")]
AmountText = Annotated[str, typer.Argument(help="How much, such as '4 each' or '70 ml'.")]
OneBranch = Annotated[str | None, typer.Option("--branch", help="A branch (all).")]
GiveUp = Annotated[
    bool, typer.Option("--give-up", help="Give up the promises that cannot be kept any more.")
]
Why = Annotated[str, typer.Option("--why", help="The reason, for the ledger.")]


def register(root: typer.Typer) -> None:
    """Add the group, and recall beside it."""
    root.add_typer(app, name="stock")
    app.command()(hold)
    app.command()(release)
    root.command()(recall)


@app.command()
def load(
    files: Annotated[list[Path], typer.Argument(help="Lists, CSV or XLSX.")],
    now: Now = None,
    dry_run: DryRun = False,
    database: Database = None,
) -> None:
    """Set lots to what lists say, all rows or none; the difference is written as a count.

    What is on hold by a list is put on hold with its reason as by kitting stock hold. A blank cell
    leaves a lot as it is: no list ends a hold, kitting stock release does.

    Example: kitting stock load my-stock.csv --dry-run
    """
    from kitting.cli.render.stock import loaded_text, stay_held_text
    from kitting.services.stock.stock_lists import load_stock

    report = load_stock(open_database(database), files, moment(now), dry_run)
    print(loaded_text(report))
    if report.stay_held:
        remark(stay_held_text(report.stay_held))
    for unused in report.unused:
        remark(
            _(
                "{file}:{line}: not used of the scan: {text}",
                file=unused.file,
                line=unused.line,
                text=unused.text,
            )
        )
    if dry_run:
        remark(_("dry run: nothing was kept"))


@app.command("list")
def list_command(
    items: Annotated[list[str] | None, typer.Argument(help="Items (all).")] = None,
    branch: OneBranch = None,
    on: OnDate = None,
    between: Annotated[
        bool, typer.Option("--on-the-way", help="Goods between branches instead.")
    ] = False,
    held: Annotated[bool, typer.Option("--held", help="Only what is on hold.")] = False,
    expired: Annotated[
        bool, typer.Option("--expired", help="Only what does not keep to that date.")
    ] = False,
    low: Annotated[
        bool,
        typer.Option("--low", help="What is below its level, as kitting levels finds it."),
    ] = False,
    now: Now = None,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """List what lies on the shelves, how long it keeps, and what is free, judged at a date.

    With --low, what is below the level that follows from use: how much is free, what is on its way
    and promised to nobody, and how much is missing then. --now is for --low, --on for the rest.

    Example: kitting stock list SEAL-INTAKE --on 2026-04-15
    """
    if low and (between or held or expired or on):
        raise typer.BadParameter("--low goes with items, --branch and --now only")
    if low:
        _list_low(items or (), branch, now, database, as_json=as_json)
        return
    from kitting.cli.render.stock import show_on_the_way, show_stock
    from kitting.facts.words import LotState
    from kitting.services.stock.shelves import list_stock
    from kitting.services.stock.transfers import on_the_way
    from kitting.store import reading

    if between:
        with reading(open_database(database)) as session:
            going = on_the_way(session)
        if as_json:
            print_json(going)
        else:
            show_on_the_way(console(), going)
        return
    states = [
        state for state, asked in ((LotState.ON_HOLD, held), (LotState.EXPIRED, expired)) if asked
    ]
    with reading(open_database(database)) as session:
        found = list_stock(session, branch, items or (), fitting_date(on), states)
    if as_json:
        print_json(found)
    else:
        show_stock(console(), found)


def _list_low(
    items: Sequence[str],
    branch: str | None,
    now: str | None,
    database: str | None,
    *,
    as_json: bool,
) -> None:
    from kitting.cli.render.stock import show_low
    from kitting.services.advice.low_stock import low_stock
    from kitting.store import reading

    with reading(open_database(database)) as session:
        view = low_stock(session, branch, moment(now), items)
    if as_json:
        print_json(view)
    else:
        show_low(console(), view)


@app.command()
def count(
    branch: BranchName,
    item: ScannedItem,
    lot: ScannedLot,
    quantity: AmountText,
    note: Annotated[str | None, typer.Option("--why", help="A remark, for the ledger.")] = None,
    give_up: GiveUp = False,
    now: Now = None,
    database: Database = None,
) -> None:
    """Set a lot to what was counted.

    Less than bookings are promised is refused, unless they give it up: they are short then.

    Example: kitting stock count upper WASHER-AL-14X20 WA-01 "24 each" --why "stocktaking"
    """
    from kitting.services.stock.missing import Missing
    from kitting.services.stock.shelves import count_lot

    name, counted, at = named_lot(database, branch, item, lot), amount(quantity), moment(now)
    if give_up:
        _missing(database, name, Missing(counted, scrapped=False, why=note), at)
        return
    difference = insisted(
        database,
        lambda engine, token: count_lot(engine, name, counted, at, note, token),
    )
    change = f"{difference / 1000:+g}" if difference else "as before"
    print(f"{name.item} {name.lot}: {change}")


def _missing(database: Database, name: LotName, missing: Missing, at: datetime) -> None:
    from kitting.cli.render.stock import show_missing
    from kitting.services.stock.missing import record_missing

    view = insisted(
        database, lambda engine, token: record_missing(engine, name, missing, at, token)
    )
    show_missing(console(), view, name.item)


@app.command()
def extend(
    branch: BranchName,
    item: ScannedItem,
    lot: ScannedLot,
    seen: Annotated[str, typer.Option("--seen", help="What was seen, and by whom.")],
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="When it was inspected (today).")
    ] = None,
    now: Now = None,
    dry_run: DryRun = False,
    database: Database = None,
    as_json: Json = False,
) -> None:
    """Record that a lot of rubber was inspected: by ISO 2230 its storage is extended, once.

    By ARP5316 and by the packet nothing changes. How and by whom a lot may be inspected is a
    matter of the standard and of the customer.

    Example: kitting stock extend upper RING-NBR-11X2 N11-18 --seen "no crack, no flat, springs back" --on 2025-05-02
    """  # noqa: E501  (the example can be copied in one line)
    from kitting.cli.render.stock import show_extended
    from kitting.services.stock.storage_extension import Inspection, extend_lot

    today = moment(now).date()
    inspection = Inspection(today if on is None else fitting_date(on), seen)
    engine, name = open_database(database), named_lot(database, branch, item, lot)
    view = extend_lot(engine, name, inspection, today, dry_run)
    if as_json:
        print_json(view)
    else:
        show_extended(console(), view)
    if dry_run:
        remark(_("dry run: nothing was kept"))


@app.command()
def scrap(
    branch: BranchName,
    item: ScannedItem,
    lot: ScannedLot,
    quantity: AmountText,
    why: Why,
    give_up: GiveUp = False,
    now: Now = None,
    database: Database = None,
) -> None:
    """Take stock out for good, with the reason.

    What bookings are promised stays, unless they give it up: they are short then.

    Example: kitting stock scrap upper RING-NBR-11X2 N11-18 "7 each" --why "too old"
    """
    from kitting.services.stock import shelves as stock
    from kitting.services.stock.missing import Missing

    name = named_lot(database, branch, item, lot)
    out, at = amount(quantity), moment(now)
    if give_up:
        _missing(database, name, Missing(out, scrapped=True, why=why), at)
        return
    balance = insisted(
        database,
        lambda engine, token: stock.scrap(engine, name, out, at, why, token),
    )
    print(
        _(
            "{item} {lot}: {balance} left",
            item=name.item,
            lot=name.lot,
            balance=in_figures(f"{balance / 1000:g}"),
        )
    )


@app.command()
def send(
    branch: BranchName,
    item: ScannedItem,
    lot: ScannedLot,
    quantity: AmountText,
    to: Annotated[str, typer.Option("--to", help="The branch that gets it.")],
    now: Now = None,
    database: Database = None,
) -> None:
    """Send stock to another branch; on the way it is on neither shelf. Promised stock stays.

    Example: kitting stock send canal RING-FKM-17X2.5 F17-25 "1 each" --to upper
    """
    from kitting.services.stock import transfers as sending

    name = named_lot(database, branch, item, lot)
    some, at = amount(quantity), moment(now)
    number, due = insisted(
        database,
        lambda engine, token: sending.send(engine, name, some, to, at, token),
    )
    when = due or "UNKNOWN: nobody says when the van goes"
    print(
        _(
            "transfer {number}: {item} {lot} to {to}, due {when}",
            number=number,
            item=name.item,
            lot=name.lot,
            to=to,
            when=when,
        )
    )


@app.command()
def arrive(
    transfer: Annotated[
        str, typer.Argument(help="The number of the transfer, or its last digits.")
    ],
    now: Now = None,
    database: Database = None,
) -> None:
    """Record that a transfer has arrived; bookings that lack it are promised it at once.

    Of another age, opening or inspection than what lies there by its code, it gets a code of its
    own; put on hold on the way, it arrives on hold.

    Example: kitting stock arrive 1
    """
    from kitting.cli.render.stock import show_arrived
    from kitting.services.bookings.arrived import arrive as take_in
    from kitting.services.stock import transfers as sending
    from kitting.store import reading

    at = moment(now)
    with reading(open_database(database)) as session:
        number = sending.find_transfer(session, transfer)
    insisted(database, lambda engine, token: take_in(engine, number, at, token))
    with reading(open_database(database)) as session:
        show_arrived(console(), sending.arrived_as(session, number))
