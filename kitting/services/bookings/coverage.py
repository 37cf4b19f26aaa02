"""What is promised or picked for a booking."""

from __future__ import annotations

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.tables.bookings import Promise

_COVERED = (
    select(Promise.item_id, func.sum(Promise.waiting + Promise.picked))
    .where(Promise.booking_id == bindparam("booking"))
    .group_by(Promise.item_id)
)


def coverage(session: Session, booking_id: int) -> dict[int, int]:
    """What is promised or picked for a booking, by item, in thousandths."""
    rows = session.execute(_COVERED, {"booking": booking_id})
    return {item: int(amount) for item, amount in rows}
