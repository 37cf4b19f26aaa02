"""What is promised to a booking or lies in its kit."""

from __future__ import annotations

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.tables.bookings import IN_KIT, Promise

_COVERED = (
    select(Promise.item_id, func.sum(Promise.waiting + IN_KIT))
    .where(Promise.booking_id == bindparam("booking"))
    .group_by(Promise.item_id)
)


def coverage(session: Session, booking_id: int) -> dict[int, int]:
    """What is promised to a booking or lies in its kit, by item, in thousandths."""
    rows = session.execute(_COVERED, {"booking": booking_id})
    return {item: int(amount) for item, amount in rows}
