"""Correcting a closed booking: a counter-entry, with the reason; nothing is erased."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import Engine, bindparam, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import BookingState, KitEventKind, MovementKind, RefitOutcome
from kitting.services.bookings.history import correct_history, correct_outcomes, outcomes
from kitting.services.bookings.kit_events import Happened, Told, write_events
from kitting.services.bookings.not_renewed import not_renewed
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import Move, post_all
from kitting.services.stock.lots import find_item, require_amount
from kitting.services.stock.opened_packs import keep_opened, reach_opened
from kitting.store import writing
from kitting.tables.bookings import Promise
from kitting.views.bookings import BookingView

_OF_ITEM = (
    select(Promise.id, Promise.lot_id, Promise.used, Promise.returned, Promise.scrapped)
    .where(
        Promise.booking_id == bindparam("booking"),
        Promise.item_id == bindparam("item"),
        Promise.lot_id.is_not(None),
    )
    .order_by(Promise.id)
)
_table = Promise.metadata.tables["promise"]
_SHIFT = (
    update(_table)
    .where(_table.c.id == bindparam("key"))
    .values(
        used=_table.c.used + bindparam("n_used"),
        returned=_table.c.returned + bindparam("n_returned"),
        scrapped=_table.c.scrapped + bindparam("n_scrapped"),
    )
)


class Became(StrEnum):
    """What became of a piece of a kit that is closed: a column of its promise."""

    USED = "used"
    BACK = "returned"
    SPOILT = "scrapped"


_WORDS = {Became.USED: "used", Became.BACK: "back", Became.SPOILT: "spoilt"}


@dataclass(frozen=True, slots=True)
class Correction:
    """What was recorded wrongly: so much is not what it was recorded as (`was`), but `now`."""

    item: str
    quantity: Quantity
    was: Became
    now: Became
    why: str
    told_by: str | None = None


def correct(
    engine: Engine, number: str, correction: Correction, at: datetime, token: str | None = None
) -> BookingView:
    """Put right what a closed booking says was used, came back or was scrapped.

    What came back after all goes to its lots; what did not leaves them. The entries of before stay,
    and the new ones say why. The history of the car is put right too: where less was fitted than
    had to be renewed, and where a new one was fitted at every position. Raises KittingError for a
    booking that is not closed, for more than was recorded, for nothing that changes, and without a
    reason.
    """
    if not correction.why.strip():
        raise KittingError("a reason is required: say what was recorded wrongly")
    if correction.was is correction.now:
        raise KittingError(
            "it is recorded as {words}. Say what it really was", words=_WORDS[correction.now]
        )
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"correct {booking.number} {correction}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking)
        if booking.state is not BookingState.CLOSED:
            raise KittingError(
                "{number} is {state}; only what is closed is corrected",
                number=booking.number,
                state=booking.state,
            )
        item = find_item(session, correction.item)
        require_amount(correction.quantity, item)
        rows = session.execute(_OF_ITEM, {"booking": booking.id, "item": item.id}).all()
        parts = _shared(booking, correction, rows)
        before = outcomes(session, booking)
        session.connection().execute(
            _SHIFT, [{"key": row.id, **_shift(correction, some)} for row, some in parts]
        )
        _move(session, booking, correction, parts, at)
        happened = [
            Happened(KitEventKind.CORRECTED, item.id, lot, some) for lot, some in _lots(parts)
        ]
        text = f"{_WORDS[correction.was]}, now {_WORDS[correction.now]}: {correction.why}"
        write_events(session, booking, happened, Told(text, correction.told_by), at)
        missing = not_renewed(session, [booking.id])
        correct_history(session, booking, item.code, renewed=(booking.id, item.id) not in missing)
        # A spare that was fitted after all is new, where so many were that it is clear where.
        after = outcomes(session, booking)
        correct_outcomes(session, booking, before, after, first=(RefitOutcome.REFITTED,))
        record(session, token, request, booking.branch_id, at)
        view = booking_view(session, booking)
        session.commit()
        return view


def _shift(correction: Correction, some: int) -> dict[str, int]:
    """How the columns of a promise change."""
    changes = dict.fromkeys((f"n_{column}" for column in Became), 0)
    changes[f"n_{correction.was}"] = -some
    changes[f"n_{correction.now}"] = some
    return changes


def _move(
    session: Session,
    booking: BookingFacts,
    correction: Correction,
    parts: Sequence[tuple[Any, int]],
    at: datetime,
) -> None:
    """Move what came back into its lots, or out of them; what is in the car or gone moves not."""
    if Became.BACK not in (correction.was, correction.now):
        return
    back = correction.now is Became.BACK
    kind = MovementKind.PUT_BACK if back else MovementKind.PICKED
    moves = [
        Move(lot, kind, some if back else -some, booking.id, correction.why)
        for lot, some in _lots(parts)
    ]
    if not back:
        had = {row.lot_id: (some, row.returned) for row, some in parts}
        reach_opened(session, booking.id, had, at)
    post_all(session, moves, at)
    if back:
        keep_opened(session, booking.id, {one.lot: one.quantity for one in moves}, at)


def _shared(
    booking: BookingFacts, correction: Correction, rows: Sequence[Any]
) -> list[tuple[Any, int]]:
    """So much of each promise, the last one first."""
    left, parts = correction.quantity.thousandths, []
    if left <= 0:
        raise KittingError("{item}: say how much, more than nothing", item=correction.item)
    for row in reversed(rows):
        some = min(left, getattr(row, correction.was))
        if some:
            parts.append((row, some))
            left -= some
    if left:
        over = format_quantity(left, correction.quantity.unit)
        raise KittingError(
            "{number}: {over} {item} more than was recorded as {words}. Nothing was changed",
            number=booking.number,
            over=over,
            item=correction.item,
            words=_WORDS[correction.was],
        )
    return parts


def _lots(parts: Sequence[tuple[Any, int]]) -> list[tuple[int, int]]:
    """The lots of parts, and how much of each."""
    lots: dict[int, int] = {}
    for row, some in parts:
        lots[row.lot_id] = lots.get(row.lot_id, 0) + some
    return list(lots.items())
