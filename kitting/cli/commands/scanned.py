"""What a scanned packet says, beside what was typed of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import typer

from kitting.cli.options import fitting_date, open_database, remark

CountedLot = Annotated[
    str, typer.Argument(help="The lot, as its packet says; '-' for the lot that was scanned.")
]


@dataclass(frozen=True, slots=True)
class Stated:
    """What is stated of a packet, as options say it; None where nothing is."""

    item: str | None
    lot: str | None
    made: str | None
    expires: str | None
    good: str | None


def with_scan(database: str | None, text: str | None, typed: Stated) -> Stated:
    """A scanned packet with what was typed of it; what is not used of the scan is told.

    Raises FigureError for what is no scan or contradicts what was typed, UnknownNameError for a
    packet that no item has the number of.
    """
    if text is None:
        return typed
    from kitting.facts.gs1 import read_scan, unread_text
    from kitting.facts.shelf_life import parse_made
    from kitting.services.stock.scans import Typed
    from kitting.services.stock.scans import with_typed as together
    from kitting.store import reading

    scan = read_scan(text)
    stated = Typed(
        item=typed.item,
        lot=typed.lot,
        made=parse_made(typed.made) if typed.made else None,
        expires=fitting_date(typed.expires, "--expires") if typed.expires else None,
    )
    with reading(open_database(database)) as session:
        read = together(session, scan, stated)
    if scan.best_before:
        remark(f"the packet says best before {scan.expires}: taken as its last day")
    if scan.unread:
        remark(f"not used of the scan: {unread_text(scan.unread)}")
    pieces = None if scan.count is None else f"{scan.count} each"
    return Stated(
        item=read.item,
        lot=read.lot,
        made=None if read.made is None else read.made.isoformat(),
        expires=None if read.expires is None else read.expires.isoformat(),
        good=pieces if typed.good is None else typed.good,
    )


def lot_counted(item: str, lot: str) -> str:
    """The lot that was named, or that of the scan for "-"; raises a usage error without one."""
    from kitting.facts.gs1 import read_scan

    if lot != "-":
        return lot
    scanned = read_scan(item).lot
    if scanned is None:
        raise typer.BadParameter("the scan says no lot: name it", param_hint="LOT")
    return scanned
