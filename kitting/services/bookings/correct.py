"""Correcting a closed booking: a counter-entry, with the reason; nothing is erased."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, bindparam, select, update

from kitting.errors import KittingError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import BookingState, MovementKind
from kitting.services.bookings.history import correct_history
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
    select(Promise.id, Promise.lot_id, Promise.used, Promise.returned)
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
        used=_table.c.used - bindparam("n_back"), returned=_table.c.returned + bindparam("n_back")
    )
)


@dataclass(frozen=True, slots=True)
class Correction:
    """What was recorded wrongly: so much was not used (`back`), or was used after all."""

    item: str
    quantity: Quantity
    back: bool
    why: str


def correct(
    engine: Engine, number: str, correction: Correction, at: datetime, token: str | None = None
) -> BookingView:
    """Put right what a closed booking says was used or came back.

    What was not used after all goes back to its lots; what was used leaves them. The movements of
    before stay, and the new ones say why. The history of the car is put right too, where less was
    fitted than had to be renewed. Raises KittingError for a booking that is not closed, for
    more than was recorded, and without a reason.
    """
    if not correction.why.strip():
        raise KittingError("a reason is required: say what was recorded wrongly")
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"correct {booking.number} {correction}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking)
        if booking.state is not BookingState.CLOSED:
            raise KittingError(
                f"{booking.number} is {booking.state}; only what is closed is corrected"
            )
        item = find_item(session, correction.item)
        require_amount(correction.quantity, item)
        rows = session.execute(_OF_ITEM, {"booking": booking.id, "item": item.id}).all()
        parts = _shared(booking, correction, rows)
        sign = 1 if correction.back else -1
        session.connection().execute(
            _SHIFT, [{"key": row.id, "n_back": sign * some} for row, some in parts]
        )
        kind = MovementKind.PUT_BACK if correction.back else MovementKind.PICKED
        moves = _moves(parts, sign, (kind, booking.id, correction.why))
        if not correction.back:
            had = {row.lot_id: (some, row.returned) for row, some in parts}
            reach_opened(session, booking.id, had, at)
        post_all(session, moves, at)
        if correction.back:
            keep_opened(session, booking.id, {one.lot: one.quantity for one in moves}, at)
        missing = not_renewed(session, [booking.id])
        correct_history(session, booking, item.code, renewed=(booking.id, item.id) not in missing)
        record(session, token, request, booking.branch_id, at)
        view = booking_view(session, booking)
        session.commit()
        return view


def _shared(
    booking: BookingFacts, correction: Correction, rows: Sequence[Any]
) -> list[tuple[Any, int]]:
    """So much of each promise, the last one first."""
    left, parts = correction.quantity.thousandths, []
    if left <= 0:
        raise KittingError(f"{correction.item}: say how much, more than nothing")
    for row in reversed(rows):
        some = min(left, row.used if correction.back else row.returned)
        if some:
            parts.append((row, some))
            left -= some
    if left:
        recorded = "used" if correction.back else "back"
        over = format_quantity(left, correction.quantity.unit)
        raise KittingError(
            f"{booking.number}: {over} {correction.item} more than was recorded as {recorded}."
            " Nothing was changed"
        )
    return parts


def _moves(
    parts: Sequence[tuple[Any, int]], sign: int, why: tuple[MovementKind, int, str]
) -> list[Move]:
    kind, booking, note = why
    lots: dict[int, int] = {}
    for row, some in parts:
        lots[row.lot_id] = lots.get(row.lot_id, 0) + sign * some
    return [Move(lot, kind, quantity, booking, note) for lot, quantity in lots.items()]
