"""What was scanned at the shelf, held against what is promised to a booking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.gs1 import Scan
from kitting.services.stock.scans import item_of_scan


def scanned_only(
    session: Session, booking: str, waiting: Mapping[int, Any], scans: Sequence[Scan]
) -> dict[int, Any]:
    """The promises (rows with code, lot_code, expires_on, by key) whose packets were scanned.

    Raises KittingError for a packet that none of them is of, for another lot of the same item, and
    for one whose last day is not the one on record.
    """
    found: dict[int, Any] = {}
    for scan in scans:
        item = item_of_scan(session, scan)
        of_item = {key: row for key, row in waiting.items() if row.code == item.code}
        if not of_item:
            asked = ", ".join(sorted({row.code for row in waiting.values()})) or "nothing"
            raise KittingError(
                f"scanned {item.code}: {booking} takes none of it from the shelf. It takes {asked}."
                " Put the packet back"
            )
        lots = {row.lot_code for row in of_item.values()}
        if scan.lot is not None and scan.lot not in lots:
            raise KittingError(
                f"scanned lot {scan.lot} of {item.code}: {booking} takes lot"
                f" {' or '.join(sorted(lots))}. Put the packet back, and take that one; if it is"
                " the same under another name, scan the number of the item alone"
            )
        chosen = {key: row for key, row in of_item.items() if scan.lot in (None, row.lot_code)}
        for row in chosen.values():
            if None not in (scan.expires, row.expires_on) and scan.expires != row.expires_on:
                raise KittingError(
                    f"scanned {item.code}, lot {row.lot_code}: the packet says {scan.expires}, on"
                    f" record is {row.expires_on}. Look which is right before it is fitted"
                )
        found |= chosen
    return found
