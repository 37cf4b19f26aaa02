"""What customers brought and still lies here though their bookings are over."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.handed_back import theirs_of
from kitting.services.day.scope import About, Day, row
from kitting.tables.bookings import Booking
from kitting.tables.stock import CustomerLot, Lot
from kitting.tables.vehicles import Vehicle
from kitting.views.today import TodayCar, TodayItem, TodayKind, TodayRow

_OVER = (
    select(
        Booking.id, Booking.number, Booking.branch_id, Booking.fit_on, Vehicle.registration
    )
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(
        Booking.branch_id.in_(bindparam("branches", expanding=True)),
        Booking.state.not_in(OPEN_BOOKINGS),
        Booking.id.in_(
            select(CustomerLot.booking_id)
            .join(Lot, CustomerLot.lot_id == Lot.id)
            .where(Lot.on_hand > 0)
        ),
    )
    .order_by(Booking.id)
)  # fmt: skip


def hand_back_rows(session: Session, day: Day) -> Iterator[TodayRow]:
    """A row for each booking that is over and of whose customer something lies on a shelf."""
    rows = session.execute(_OVER, {"branches": [yard.id for yard in day.asked]}).all()
    if not rows:
        return
    theirs = theirs_of(session, [booking.id for booking in rows])
    for booking in rows:
        items = tuple(
            TodayItem(one.item, one.name, one.unit, one.quantity) for one in theirs[booking.id]
        )
        car = TodayCar(booking.number, booking.registration, booking.fit_on)
        then = next_step(Action.HAND_BACK, booking=booking.number)
        about = About(then=then, cars=(car,), items=items)
        yield row(day, day.yards[booking.branch_id], TodayKind.HAND_BACK, None, about)
