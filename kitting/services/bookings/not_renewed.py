"""What had to be renewed when a booking was closed, and was not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.facts.words import BookingState, NeedRule
from kitting.tables.bookings import Booking, BookingNeed, Promise

_used = (
    select(Promise.booking_id, Promise.item_id, func.sum(Promise.used).label("used"))
    .group_by(Promise.booking_id, Promise.item_id)
    .subquery()
)
_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_MISSING = (
    select(
        BookingNeed.booking_id,
        BookingNeed.item_id,
        (func.sum(BookingNeed.quantity) - func.coalesce(_used.c.used, 0)).label("missing"),
    )
    .join(Booking, BookingNeed.booking_id == Booking.id)
    .outerjoin(
        _used,
        (_used.c.booking_id == BookingNeed.booking_id) & (_used.c.item_id == BookingNeed.item_id),
    )
    .where(
        BookingNeed.booking_id.in_(_KEYS),
        BookingNeed.rule == NeedRule.RENEW,
        Booking.state == BookingState.CLOSED,
    )
    .group_by(BookingNeed.booking_id, BookingNeed.item_id, _used.c.used)
    .having(func.sum(BookingNeed.quantity) > func.coalesce(_used.c.used, 0))
)


def not_renewed(session: Session, bookings: Sequence[int]) -> Mapping[tuple[int, int], int]:
    """How much less was used of each item than had to be renewed, by closed booking and item.

    In thousandths; what was renewed in full is left out.
    """
    rows = session.execute(_MISSING, {"keys": list(bookings)})
    return {(row.booking_id, row.item_id): int(row.missing) for row in rows}
