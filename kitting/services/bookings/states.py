"""Bookings by number, where they stand, and where they may go from there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS, BookingState, ShelfPolicy
from kitting.services.lookup import whole_number
from kitting.tables.bookings import Booking

_PROVISIONAL, _CONFIRMED = BookingState.PROVISIONAL, BookingState.CONFIRMED
_RAMP, _CLOSED, _CANCELLED = (
    BookingState.ON_THE_RAMP, BookingState.CLOSED, BookingState.CANCELLED,
)  # fmt: skip
# From which states a booking may go where.
_STEPS: Mapping[BookingState, tuple[BookingState, ...]] = {
    _CONFIRMED: (_PROVISIONAL,),
    _RAMP: (_CONFIRMED,),
    _CLOSED: (_RAMP,),
    _CANCELLED: (_PROVISIONAL, _CONFIRMED),
}
# What to do first where a step is missing.
_FIRST: Mapping[tuple[BookingState, BookingState], tuple[Action, ...]] = {
    (_PROVISIONAL, _CLOSED): (Action.CONFIRM, Action.PUT_ON_RAMP),
    (_CONFIRMED, _CLOSED): (Action.PUT_ON_RAMP,),
    (_PROVISIONAL, _RAMP): (Action.CONFIRM,),
    (_RAMP, _CANCELLED): (Action.CLOSE,),
}
_BY_NUMBER = select(
    Booking.id, Booking.number, Booking.branch_id, Booking.vehicle_id, Booking.fit_on,
    Booking.state, Booking.override, Booking.shelf_policy, Booking.made_at,
).where(Booking.number == bindparam("number"))  # fmt: skip
_NUMBERS = select(Booking.number).order_by(Booking.id)


@dataclass(frozen=True, slots=True)
class BookingFacts:
    """A booking as it was read; `override` is why it went on or was closed incomplete.

    `shelf_policy` is None where its branch's holds.
    """

    id: int
    number: str
    branch_id: int
    vehicle_id: int
    fit_on: date
    state: BookingState
    override: str | None
    shelf_policy: ShelfPolicy | None
    made_at: datetime


def find_booking(session: Session, number: str) -> BookingFacts:
    """A booking by number, or by its last digits where they are clear.

    Raises UnknownNameError naming near ones, or those that could be meant.
    """
    row = session.execute(_BY_NUMBER, {"number": number.strip().upper()}).first()
    if row is None:
        whole = booking_number(session, number)
        row = session.execute(_BY_NUMBER, {"number": whole}).one()
    return BookingFacts(**row._mapping)


def booking_number(session: Session, given: str) -> str:
    """The whole number of a booking given by its last digits; raises as `find_booking`."""
    known = session.scalars(_NUMBERS).all()
    return whole_number("booking", given, known, [next_step(Action.BOOK)])


def require_open(booking: BookingFacts, what: str = "nothing of it can be changed") -> None:
    """Raise KittingError for a booking that is closed or cancelled."""
    if booking.state not in OPEN_BOOKINGS:
        raise KittingError(
            "{number} is {state}; {what}", number=booking.number, state=booking.state, what=what
        )


def require_step(booking: BookingFacts, state: BookingState) -> None:
    """Raise KittingError if a booking cannot go to a state from where it is."""
    if booking.state not in _STEPS[state]:
        allowed = " or ".join(_STEPS[state])
        raise KittingError(
            "{number} is {state}; only what is {allowed} can become {wanted_state}",
            number=booking.number,
            state=booking.state,
            allowed=allowed,
            wanted_state=state,
            then=[
                next_step(action, booking=booking.number)
                for action in _FIRST.get((booking.state, state), ())
            ],
        )
