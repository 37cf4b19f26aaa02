"""The item that a number on a packet stands for: a GTIN, typed or scanned."""

from __future__ import annotations

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.errors import FigureError, UnknownNameError
from kitting.facts.gs1 import Scan, looks_scanned, read_scan, shortest_gtin
from kitting.tables.items import Item, ItemGtin

_OF_GTINS = (
    select(Item)
    .join(ItemGtin, ItemGtin.item_id == Item.id)
    .where(ItemGtin.gtin.in_(bindparam("gtins", expanding=True)))
    .distinct()
    .order_by(Item.code)
)
_CODES = select(Item.code).where(Item.code == bindparam("code"))


def item_of_scan(session: Session, scan: Scan) -> Item:
    """The item of a scanned packet; raises UnknownNameError where no item has its number."""
    if scan.gtin is None:
        what = f"({scan.sscc}) is a whole delivery" if scan.sscc else "it names no item"
        raise UnknownNameError(
            "{text!r}: {what}. Scan the packet itself, or name it", text=scan.text[:60], what=what
        )
    gtins = [gtin for gtin in (scan.gtin, scan.or_gtin) if gtin is not None]
    items = session.scalars(_OF_GTINS, {"gtins": gtins}).all()
    if len(items) > 1:
        raise UnknownNameError(
            "{text!r} is {items}: its 8 digits may be an EAN-8 or a UPC-E. Name the item, or set"
            " the scanner to send the kind of symbol (]E4, ]E0)",
            text=scan.text,
            items=" or ".join(item.code for item in items),
        )
    if not items:
        numbers = [shortest_gtin(gtin) for gtin in gtins]
        raise UnknownNameError(
            "no item has the number {numbers}. Compare it with the packet, then write it at its"
            " item: gtins: ['{first_number}']",
            numbers=" or ".join(numbers),
            first_number=numbers[0],
        )
    return items[0]


def scan_named(session: Session, text: str) -> Scan | None:
    """The scan by which an item is named; None for a code, and for digits that are no number.

    Raises FigureError for what is a scan and cannot be read.
    """
    if not looks_scanned(text) or session.scalar(_CODES, {"code": text}) is not None:
        return None
    try:
        return read_scan(text)
    except FigureError:
        if text.strip().isdigit():
            return None
        raise


def item_scanned(session: Session, text: str) -> Item | None:
    """The item that a scan or a number stands for; None for a code and for anything else.

    Raises UnknownNameError for a number that no item has, FigureError for a scan that cannot be
    read.
    """
    scan = scan_named(session, text)
    return None if scan is None else item_of_scan(session, scan)


def code_of(session: Session, text: str) -> str:
    """The code of the item that a text names: the text itself, or that of the number it is.

    Raises as `item_scanned`.
    """
    item = item_scanned(session, text)
    return text if item is None else item.code
