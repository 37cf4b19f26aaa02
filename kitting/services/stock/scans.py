"""What was scanned: the item of a packet, and what goes with what was typed beside it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.errors import FigureError, UnknownNameError
from kitting.facts.gs1 import Scan, agreed, looks_scanned, read_scan, shortest_gtin
from kitting.tables.items import Item, ItemGtin

_OF_GTIN = (
    select(Item)
    .join(ItemGtin, ItemGtin.item_id == Item.id)
    .where(ItemGtin.gtin == bindparam("gtin"))
)


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed beside a scan; None where the scan is to say it."""

    item: str | None = None
    lot: str | None = None
    made: date | None = None
    expires: date | None = None


def item_of_scan(session: Session, scan: Scan) -> Item:
    """The item of a scanned packet; raises UnknownNameError where no item has its number."""
    if scan.gtin is None:
        what = f"({scan.sscc}) is a whole delivery" if scan.sscc else "it names no item"
        raise UnknownNameError(f"{scan.text[:60]!r}: {what}. Scan the packet itself, or name it")
    item = session.scalar(_OF_GTIN, {"gtin": scan.gtin})
    if item is None:
        raise UnknownNameError(
            f"no item has the number {shortest_gtin(scan.gtin)}. Compare it with the packet, then"
            f" write it at its item: gtins: ['{shortest_gtin(scan.gtin)}']"
        )
    return item


def item_scanned(session: Session, text: str) -> Item | None:
    """The item of a text that is no code and may be a scan; None where it is neither.

    Raises UnknownNameError for a packet that no item has the number of.
    """
    if not looks_scanned(text):
        return None
    try:
        scan = read_scan(text)
    except FigureError:
        return None
    return item_of_scan(session, scan)


def with_typed(session: Session, scan: Scan, typed: Typed) -> Typed:
    """What a scan says, with what was typed beside it.

    Raises FigureError where the two contradict each other, UnknownNameError for an unknown packet.
    """
    item = item_of_scan(session, scan)
    agreed("item", typed.item, item.code)
    agreed("lot", typed.lot, scan.lot)
    agreed("day of making", typed.made, scan.made)
    agreed("last day", typed.expires, scan.expires)
    return Typed(
        item=item.code,
        lot=scan.lot if typed.lot is None else typed.lot,
        made=scan.made if typed.made is None else typed.made,
        expires=scan.expires if typed.expires is None else typed.expires,
    )
