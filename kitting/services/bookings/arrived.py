"""A transfer that has arrived, promised at once to the bookings that wait for it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine, bindparam, exists, select
from sqlalchemy.orm import Session

from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.reservations import lacks, promise_free, promise_here
from kitting.services.stock import transfers
from kitting.tables.bookings import Booking, BookingNeed

_NEEDING = (
    select(Booking.id)
    .where(
        Booking.branch_id == bindparam("branch"),
        Booking.state.in_(OPEN_BOOKINGS),
        exists().where(
            BookingNeed.booking_id == Booking.id, BookingNeed.item_id == bindparam("item")
        ),
    )
    .order_by(Booking.fit_on, Booking.id)
)


def arrive(engine: Engine, number: int, at: datetime, token: str | None = None) -> int:
    """A transfer has arrived: who lacks it in its branch is promised it, the earliest date first.

    Who waits for an order of it is promised what is here instead, and the order is free for who
    lacks it still. Returns the balance of its lot. Raises as `transfers.arrive`.
    """

    def serve(session: Session, branch: int, item: int) -> None:
        needing = session.scalars(_NEEDING, {"branch": branch, "item": item}).all()
        for booking in needing:
            promise_here(session, booking, item, at.date())
            if lacks(session, booking).get(item, 0) > 0:
                promise_free(session, booking, today=at.date())
        for booking in needing:
            if lacks(session, booking).get(item, 0) > 0:
                promise_free(session, booking, today=at.date())

    return transfers.arrive(engine, number, at, token, serve)
