"""Where a kit lies: in the branch of its booking, or whole in another one or a van."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Engine, bindparam, case, func, insert, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS, KitEventKind
from kitting.services.bookings.kit_events import Told
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.branches import find_branch
from kitting.services.db.idempotency import earlier, record
from kitting.store import writing
from kitting.tables.bookings import UNACCOUNTED, Booking, Promise
from kitting.tables.kit import KitEvent
from kitting.tables.supply import Branch

_last = (
    select(func.max(KitEvent.id))
    .where(KitEvent.booking_id == Booking.id, KitEvent.kind == KitEventKind.MOVED)
    .correlate(Booking)
    .scalar_subquery()
)
_moved_to = select(KitEvent.place).where(KitEvent.id == _last).correlate(Booking).scalar_subquery()
_home = (
    select(Branch.code).where(Branch.id == Booking.branch_id).correlate(Booking).scalar_subquery()
)
# Where the kit of an open booking lies; null where that is the branch of the booking.
KIT_IN: Any = case(
    (Booking.state.in_(OPEN_BOOKINGS) & (_moved_to != _home), _moved_to), else_=None
).label("kit_in")
_PLACES = select(KIT_IN, _home.label("home")).where(Booking.id == bindparam("booking"))
_HOLDS = select(Promise.id).where(Promise.booking_id == bindparam("booking"), UNACCOUNTED > 0)


def require_home(session: Session, booking: BookingFacts) -> None:
    """Raise KittingError for a kit of which nothing goes to a shelf: it lies in another branch."""
    row = session.execute(_PLACES, {"booking": booking.id}).one()
    if row.kit_in is not None:
        raise KittingError(
            "the kit of {number} lies in {kit_in}: nothing of it goes back to a shelf of {home}"
            " before it is there again. Nothing was changed",
            number=booking.number,
            kit_in=row.kit_in,
            home=row.home,
            then=[next_step(Action.MOVE_KIT, booking=booking.number, branch=row.home)],
        )


def require_together(session: Session, giver: BookingFacts, taker: BookingFacts) -> None:
    """Raise KittingError for two kits that do not lie in one place."""
    places = [
        row.kit_in or row.home
        for row in (
            session.execute(_PLACES, {"booking": booking.id}).one() for booking in (giver, taker)
        )
    ]
    if places[0] != places[1]:
        raise KittingError(
            "the kit of {number} lies in {places}, that of {taker_number} in {second_place}."
            " Nothing was lent",
            number=giver.number,
            places=places[0],
            taker_number=taker.number,
            second_place=places[1],
            then=[next_step(Action.MOVE_KIT, booking=taker.number, branch=places[0])],
        )


def move_kit(
    engine: Engine, number: str, to: str, told: Told, at: datetime, token: str | None = None
) -> str:
    """Move a kit whole, with all its lots and trays, to another branch or a van; returns its code.

    What lies in it stays that of its booking, and of the branch of its booking: only where it lies
    is another. Back is the same, to the branch of the booking. Raises KittingError for a kit that
    is empty or lies there already.
    """
    with writing(engine) as session:
        booking, target = find_booking(session, number), find_branch(session, to).code
        request = f"kit move {booking.number} {target}"
        if earlier(session, token, request) is not None:
            return target
        require_open(booking, "its kit is accounted for")
        row = session.execute(_PLACES, {"booking": booking.id}).one()
        if target == (row.kit_in or row.home):
            raise KittingError(
                "the kit of {number} lies in {target}: name another branch",
                number=booking.number,
                target=target,
            )
        if session.scalars(_HOLDS.limit(1), {"booking": booking.id}).first() is None:
            raise KittingError(
                "nothing lies in the kit of {number}: there is nothing to move",
                number=booking.number,
                then=[next_step(Action.PICK, booking=booking.number)],
            )
        values: dict[str, Any] = {
            "booking_id": booking.id, "at": at, "kind": KitEventKind.MOVED, "place": target,
            "note": told.note, "told_by": told.told_by,
        }  # fmt: skip
        session.execute(insert(KitEvent), [values])
        record(session, token, request, booking.branch_id, at)
        session.commit()
        return target
