"""The spares that are proposed for a chance, taken into a booking: needed there, and bought.

They stay spares: fitted only where a look fails, and closing asks what became of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Engine, bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.words import BookingState, NeedRule
from kitting.services.advice.completion import weighed
from kitting.services.advice.weighed import Weighed
from kitting.services.advice.weighed_case import work_of_booking
from kitting.services.bookings.reservations import promise_free
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.store import writing
from kitting.tables.bookings import BookingNeed, BookingSpare, BookingSure
from kitting.tables.items import Item
from kitting.views.completion import CompletionView, SparesTakenView, SpareView

_WHOLE = 100_000  # thousandths of a percent
_TARGET = select(BookingSure.target).where(BookingSure.booking_id == bindparam("booking"))
_TAKEN = (
    select(BookingSpare.item_id, BookingSpare.quantity)
    .where(BookingSpare.booking_id == bindparam("booking"))
    .order_by(BookingSpare.item_id)
)
_CODES = select(Item.id, Item.code).where(Item.id.in_(bindparam("keys", expanding=True)))
_LOOKED_AT = select(BookingNeed.item_id, BookingNeed.quantity).where(
    BookingNeed.booking_id == bindparam("booking"), BookingNeed.rule == NeedRule.INSPECT
)


def take_spares(engine: Engine, number: str, at: datetime, target: float) -> CompletionView:
    """Take the cheapest spares that reach a chance into a booking, instead of those taken before.

    Where those of before were for the same chance and still reach it, they stay as they are. What
    lies free is promised. Raises KittingError on the ramp or after, where no spares reach the
    chance, and as `completion_chance`.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        if booking.state is BookingState.ON_THE_RAMP:
            raise KittingError(
                "{number} is on the ramp: what its looks find decides now. Record it, and buy"
                " what failed",
                number=booking.number,
            )
        found = weighed(session, work_of_booking(session, booking.number), at, target)
        if not found.view.reached:
            raise KittingError(
                "no spares reach {target:g}%: the most that can be had is {chance:.1f}%. Nothing"
                " was taken; name a lower chance",
                target=target * 100,
                chance=found.view.chance * 100,
            )
        before = dict(session.execute(_TAKEN, {"booking": booking.id}).all())
        kept = session.scalar(_TARGET, {"booking": booking.id}) == _share(target)
        if not kept or not found.reached_with(before):
            _write(session, booking, found, at)
            promise_free(session, booking.id, today=at.date())
        after = dict(session.execute(_TAKEN, {"booking": booking.id}).all())
        view = SparesTakenView(
            booking.number, target, _named(session, after), changed=before != after
        )
        session.commit()
        return replace(found.view, taken=view)


def take_anew(session: Session, booking: BookingFacts, at: datetime) -> None:
    """Take the spares of a changed booking for the chance of before, if any was named.

    Where no spares reach it any more, or prices cannot be compared, those of before stay as far as
    anything is still inspected.
    """
    target = session.scalar(_TARGET, {"booking": booking.id})
    if target is None or booking.state is BookingState.ON_THE_RAMP:
        return
    try:
        found = weighed(session, work_of_booking(session, booking.number), at, target / _WHOLE)
    except KittingError:
        return
    if found.view.reached:
        _write(session, booking, found, at)


def _share(target: float) -> int:
    return round(target * _WHOLE)


def _write(session: Session, booking: BookingFacts, found: Weighed, at: datetime) -> None:
    for table in (BookingSpare, BookingSure):
        session.execute(delete(table).where(table.booking_id == booking.id))
    session.execute(
        insert(BookingSure).values(booking_id=booking.id, target=_share(found.view.target), at=at)
    )
    looked_at = dict(session.execute(_LOOKED_AT, {"booking": booking.id}).all())
    rows = [
        {
            "booking_id": booking.id, "item_id": item,
            "quantity": min(amount, looked_at[item]), "looked_at": looked_at[item],
        }
        for item, amount in sorted(found.to_bring.items())
        if item in looked_at
    ]  # fmt: skip
    if rows:
        session.execute(insert(BookingSpare), rows)


def _named(session: Session, taken: Mapping[int, int]) -> tuple[SpareView, ...]:
    codes = dict(session.execute(_CODES, {"keys": sorted(taken)}).all())
    found = (SpareView(codes[item], amount // 1000) for item, amount in taken.items())
    return tuple(sorted(found, key=lambda spare: spare.item))
