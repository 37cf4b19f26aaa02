"""Set aside: a stripped car that waits somewhere with its kit, and how it is taken up again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Engine, bindparam, case, func, insert, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS, BookingState, KitEventKind
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.store import writing
from kitting.tables.bookings import Booking
from kitting.tables.kit import KitEvent
from kitting.views.kit_life import SetAsideView

_last = (
    select(func.max(KitEvent.id))
    .where(
        KitEvent.booking_id == Booking.id,
        KitEvent.kind.in_((KitEventKind.SET_ASIDE, KitEventKind.TAKEN_UP)),
    )
    .correlate(Booking)
    .scalar_subquery()
)


def _of_last(column: Any) -> ColumnElement[Any]:
    """What was said when a booking was set aside; null where it is not, or was taken up again."""
    return (
        select(column)
        .where(KitEvent.id == _last, KitEvent.kind == KitEventKind.SET_ASIDE)
        .correlate(Booking)
        .scalar_subquery()
    )


_until = _of_last(KitEvent.until)
PLACE = _of_last(KitEvent.place).label("set_aside_in")
# Every column of being set aside; a row of a booking that selects them is told by `place`.
SET_ASIDE = (
    PLACE,
    _of_last(KitEvent.note).label("set_aside_why"),
    _of_last(KitEvent.at).label("set_aside_at"),
    _until.label("set_aside_until"),
)
# The day for which a booking is judged: what is set aside until later is fitted later.
FIT_ON = case((_until > Booking.fit_on, _until), else_=Booking.fit_on).label("fit_on")
_FITTING_DAY = select(FIT_ON).where(Booking.id == bindparam("booking"))
_PLACE = select(PLACE).where(Booking.id == bindparam("booking"))


def planned_day(row: Any) -> date:
    """The day for which a booking is planned: booked, or until when it is set aside.

    Of a row with its state, `fit_on` and the columns of SET_ASIDE.
    """
    until: date | None = row.set_aside_until if row.state in OPEN_BOOKINGS else None
    booked: date = row.fit_on
    return max(booked, until or booked)


def set_aside_view(row: Any) -> SetAsideView | None:
    """Where a booking is set aside, of such a row; None where it is not."""
    if row.set_aside_in is None or row.state not in OPEN_BOOKINGS:
        return None
    return SetAsideView(
        place=row.set_aside_in,
        why=row.set_aside_why,
        since=row.set_aside_at,
        until=row.set_aside_until,
    )


@dataclass(frozen=True, slots=True)
class SetAside:
    """Where a car waits with its kit and why; until when, if that is known."""

    place: str
    why: str
    until: date | None = None
    told_by: str | None = None


def fitting_day(session: Session, booking: BookingFacts) -> date:
    """The day on which a booking is fitted as planned: later than booked if it is set aside."""
    day: date = session.execute(_FITTING_DAY, {"booking": booking.id}).scalar_one()
    return day


def place_of(session: Session, booking: BookingFacts) -> str | None:
    """Where a booking is set aside; None where it is not."""
    place: str | None = session.execute(_PLACE, {"booking": booking.id}).scalar_one()
    return place


def require_in_work(session: Session, booking: BookingFacts, what: str) -> None:
    """Raise KittingError for a booking that is set aside."""
    place = place_of(session, booking)
    if place is not None:
        raise KittingError(
            "{number} is set aside in {place}; {what}. Take it up again first",
            number=booking.number,
            place=place,
            what=what,
            then=[next_step(Action.TAKE_UP, booking=booking.number)],
        )


def set_aside(engine: Engine, number: str, told: SetAside, at: datetime) -> None:
    """Set a car on the ramp aside, with its kit; again tells another place or day.

    Raises KittingError for a booking that is not on the ramp, without a place or a reason, and for
    a day that is past.
    """
    if not told.place.strip() or not told.why.strip():
        raise KittingError("say where the car and its kit are, and why they wait")
    if told.until is not None and told.until < at.date():
        raise KittingError(
            "{until} is past; name a day from {date} on, or none", until=told.until, date=at.date()
        )
    with writing(engine) as session:
        booking = find_booking(session, number)
        if booking.state is not BookingState.ON_THE_RAMP:
            raise KittingError(
                "{number} is {state}; only what is on the ramp is set aside",
                number=booking.number,
                state=booking.state,
                then=[next_step(Action.SHOW_BOOKING, booking=booking.number)],
            )
        _write(session, booking, KitEventKind.SET_ASIDE, at, told)
        session.commit()


def take_up(engine: Engine, number: str, at: datetime, told_by: str | None = None) -> str:
    """Take a booking up again; returns where it was. Raises KittingError if it is not set aside."""
    with writing(engine) as session:
        booking = find_booking(session, number)
        place = place_of(session, booking)
        if place is None:
            raise KittingError(
                "{number} is not set aside",
                number=booking.number,
                then=[next_step(Action.SHOW_BOOKING, booking=booking.number)],
            )
        _write(session, booking, KitEventKind.TAKEN_UP, at, None, told_by)
        session.commit()
        return place


def _write(
    session: Session,
    booking: BookingFacts,
    kind: KitEventKind,
    at: datetime,
    told: SetAside | None,
    told_by: str | None = None,
) -> None:
    values: dict[str, Any] = {"booking_id": booking.id, "at": at, "kind": kind, "told_by": told_by}
    if told is not None:
        values |= {
            "place": told.place.strip(), "note": told.why.strip(), "until": told.until,
            "told_by": told.told_by,
        }  # fmt: skip
    session.execute(insert(KitEvent), [values])
