"""The same job on the same car twice: mostly a slip, and all of it would be bought twice."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.words import OPEN_BOOKINGS
from kitting.tables.bookings import Booking, BookingJob
from kitting.views.bookings import BookedJobView

_SAME_JOB = (
    select(Booking.number, Booking.fit_on, BookingJob.name)
    .join(BookingJob, BookingJob.booking_id == Booking.id)
    .where(
        Booking.vehicle_id == bindparam("vehicle"),
        Booking.state.in_(OPEN_BOOKINGS),
        BookingJob.name.in_(bindparam("jobs", expanding=True)),
        Booking.id != bindparam("but"),
    )
    .order_by(Booking.id, BookingJob.seq)
)


def booked_already(
    session: Session, vehicle_id: int, jobs: Sequence[str], but: int = 0
) -> tuple[BookedJobView, ...]:
    """Which of some jobs open bookings of a car have; the booking with the key `but` aside."""
    asked = {"vehicle": vehicle_id, "jobs": list(jobs), "but": but}
    rows = session.execute(_SAME_JOB, asked)
    return tuple(BookedJobView(row.name, row.number, row.fit_on) for row in rows)
