"""What was scanned at the shelf, held against what is promised to a booking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import judge
from kitting.errors import KittingError
from kitting.facts.gs1 import Scan
from kitting.facts.packets import Compared, compared, recorded
from kitting.services.bookings.states import find_booking
from kitting.services.item_numbers import item_of_scan
from kitting.services.stock.lots import stored
from kitting.services.stock.scans import NotOnRecord, beyond_record
from kitting.tables.bookings import Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot

_PROMISED = (
    select(Item.code, Lot.code.label("lot_code"), Lot.batch, Lot.made_on, Lot.expires_on)
    .select_from(Promise)
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Promise.booking_id == bindparam("booking"))
    .order_by(Promise.id)
)


def scanned_only(
    session: Session, booking: str, waiting: Mapping[int, Any], scans: Sequence[Scan], day: date
) -> dict[int, Any]:
    """The promises (rows of code, lot_code, batch, policy, STORED, by key) that were scanned.

    Raises KittingError for a packet that none of them is of, for another lot of the same item, for
    one with other dates than are on record, and for one that its own dates forbid on the day of
    fitting, where none are on record.
    """
    found: dict[int, Any] = {}
    for scan in scans:
        item = item_of_scan(session, scan)
        of_item = {key: row for key, row in waiting.items() if row.code == item.code}
        if not of_item:
            asked = ", ".join(sorted({row.code for row in waiting.values()})) or "nothing"
            raise KittingError(
                "scanned {code}: {booking} takes none of it from the shelf. It takes {asked}. Put"
                " the packet back",
                code=item.code,
                booking=booking,
                asked=asked,
            )
        of_lot = {key: row for key, row in of_item.items() if _of_lot(scan, row)}
        if not of_lot:
            lots = sorted({row.lot_code for row in of_item.values()})
            raise KittingError(
                "scanned lot {lot} of {code}: {booking} takes lot {lots}. Put the packet back,"
                " and take that one; if that lot is named otherwise on its packet, type what is"
                " printed without the lot, so that its dates are compared",
                lot=scan.lot,
                code=item.code,
                booking=booking,
                lots=" or ".join(lots),
            )
        alike = {key: row for key, row in of_lot.items() if not _differs(scan, row)}
        for row in (alike or of_lot).values():
            missing = beyond_record(row.code, row.lot_code, _beside(scan, row))
            _require_fit(scan, row, missing, day)
        found |= alike
    return found


def not_on_record(session: Session, number: str, scans: Sequence[Scan]) -> tuple[NotOnRecord, ...]:
    """The days of scanned packets that are not on record of the lots promised to a booking."""
    rows = session.execute(_PROMISED, {"booking": find_booking(session, number).id}).all()
    found: dict[NotOnRecord, None] = {}
    for scan in scans:
        code = item_of_scan(session, scan).code
        for row in rows:
            if row.code == code and _of_lot(scan, row) and not _differs(scan, row):
                found |= dict.fromkeys(beyond_record(code, row.lot_code, _beside(scan, row)))
    return tuple(found)


def _of_lot(scan: Scan, row: Any) -> bool:
    """Whether a packet may be of a lot: by its code, or that of the batch it comes from."""
    return scan.lot in (None, row.lot_code, row.batch)


def _beside(scan: Scan, row: Any) -> tuple[Compared, ...]:
    return compared(scan, recorded(row.made_on, row.expires_on))


def _differs(scan: Scan, row: Any) -> bool:
    return any(one.differs for one in _beside(scan, row))


def _require_fit(scan: Scan, row: Any, missing: Sequence[NotOnRecord], day: date) -> None:
    """Refuses a packet that may not be fitted by a day that it says and nobody recorded."""
    if not missing:
        return
    lot = stored(row)
    as_scanned = replace(
        lot, made_on=lot.made_on or scan.made, expires_on=lot.expires_on or scan.expires
    )
    if judge(as_scanned, row.policy, day).may_be_fitted:
        return
    said = " and ".join(f"{one.what} {one.day}" for one in missing)
    raise KittingError(
        "scanned {code}, lot {lot_code}: the packet says {said}, which is not on record, and may"
        " not be fitted on {day}. Put it back, and write its dates into a stock list, so that"
        " nobody else takes it",
        code=row.code,
        lot_code=row.lot_code,
        said=said,
        day=day,
    )
