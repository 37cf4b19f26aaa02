"""What was scanned, with what was typed beside it or is on record of the lot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.gs1 import Scan
from kitting.facts.packets import (
    Compared,
    PacketFact,
    Said,
    compared,
    recorded,
    require_agreed,
    typed_otherwise,
)
from kitting.services.item_numbers import code_of, item_of_scan
from kitting.tables.stock import Lot


@dataclass(frozen=True, slots=True)
class Packet:
    """What is known of a packet, scanned and typed together; None where neither says it."""

    item: str
    lot: str | None = None
    made: date | None = None
    expires: date | None = None


@dataclass(frozen=True, slots=True)
class NotOnRecord:
    """A day that a packet says and that is not on record of its lot; `what` says which day."""

    item: str
    lot: str
    what: PacketFact
    day: date


def with_typed(session: Session, scan: Scan, item: str | None, typed: Said) -> Packet:
    """What a scan says, with what was typed beside it: the item, by code or number, and the rest.

    The scan goes first: it has the day where a quarter was typed. Raises FigureError where the two
    contradict each other, UnknownNameError for an unknown packet.
    """
    found = item_of_scan(session, scan).code
    if item is not None and (named := code_of(session, item)) != found:
        raise typed_otherwise(PacketFact.ITEM, named, found)
    require_agreed(scan, typed)
    made = scan.made if typed.made is None or scan.made is not None else typed.made.last
    return Packet(found, scan.lot or typed.lot, made, scan.expires or typed.expires)


def require_recorded(scan: Scan, item: str, lot: Lot) -> tuple[NotOnRecord, ...]:
    """What a packet says beyond what is on record of its lot.

    Raises KittingError where it says otherwise than the record: then it is another packet.
    """
    return beyond_record(item, lot.code, compared(scan, recorded(lot.made_on, lot.expires_on)))


def beyond_record(item: str, lot: str, found: Iterable[Compared]) -> tuple[NotOnRecord, ...]:
    """What of some comparisons with a lot is not on record; raises as `require_recorded`."""
    missing = []
    for one in found:
        if one.differs:
            raise KittingError(
                "scanned {item}, lot {lot}: the {what} of the packet is {scanned}, on record is"
                " {said}. Keep it apart, and look which is right: what has other dates needs a"
                " lot of its own",
                item=item,
                lot=lot,
                what=one.what,
                scanned=one.scanned,
                said=one.said,
            )
        if one.said is None and isinstance(one.scanned, date):
            missing.append(NotOnRecord(item, lot, one.what, one.scanned))
    return tuple(missing)
