"""What is missing or broken though bookings are promised it: it is recorded, and they are short."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import MovementKind
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import Move, let_all_go, post
from kitting.services.stock.lots import require_amount
from kitting.services.stock.shelves import LotName, find_lot, require_something
from kitting.store import writing
from kitting.tables.bookings import Booking, Promise
from kitting.tables.stock import Lot
from kitting.tables.vehicles import Vehicle
from kitting.views.stock import GivenUpView, MissingView


@dataclass(frozen=True, slots=True)
class Missing:
    """So much of a lot was counted, or, with `scrapped`, so much of it is broken; and why."""

    quantity: Quantity
    scrapped: bool
    why: str | None = None


def record_missing(
    engine: Engine, name: LotName, missing: Missing, at: datetime, token: str | None = None
) -> MissingView:
    """Count a lot or scrap of it, giving up the promises that it cannot keep any more.

    The booking that fits last gives up first; what lies in kits stays there. Raises TakenError for
    more scrap than is there.
    """
    with writing(engine) as session:
        lot, item = find_lot(session, name)
        move = _move(lot, item, missing)
        request = f"missing {lot.id} {move.kind} {missing.quantity.thousandths}"
        if (before := earlier(session, token, request)) is not None:
            return _view(before.answer)
        given = _give_up(session, lot, max(0, lot.promised - max(0, lot.on_hand + move.quantity)))
        balance = post(session, move, at) if move.quantity else lot.on_hand
        answer = [lot.code, item.unit, move.quantity, balance, given]
        record(session, token, request, lot.branch_id, at, answer)
        session.commit()
        return _view(answer)


def _move(lot: Lot, item: Any, missing: Missing) -> Move:
    amount = missing.quantity.thousandths
    if missing.scrapped:
        require_something(missing.quantity, item)
        return Move(lot.id, MovementKind.SCRAPPED, -amount, note=missing.why)
    require_amount(missing.quantity, item)
    if amount < 0:
        raise KittingError("{code}: the amount must not be negative. Count again", code=item.code)
    return Move(lot.id, MovementKind.COUNTED, amount - lot.on_hand, note=missing.why)


def _give_up(session: Session, lot: Lot, over: int) -> list[list[Any]]:
    """Let promises of a lot go until it is promised so much less, the latest fitting date first."""
    promises = session.execute(
        select(
            Promise.id, Promise.waiting, Booking.number, Booking.fit_on, Vehicle.registration
        )
        .join(Booking, Promise.booking_id == Booking.id)
        .join(Vehicle, Booking.vehicle_id == Vehicle.id)
        .where(Promise.lot_id == lot.id, Promise.waiting > 0)
        .order_by(Booking.fit_on.desc(), Booking.id.desc())
    ).all()  # fmt: skip
    parts, given = [], []
    for row in promises:
        some = min(over, row.waiting)
        if some:
            parts.append((row.id, some))
            given.append([row.number, row.registration, row.fit_on.isoformat(), some])
            over -= some
    let_all_go(session, parts)
    return given


def _view(answer: Any) -> MissingView:
    lot, unit, difference, balance, given = answer
    return MissingView(
        lot=lot,
        unit=unit,
        difference=difference,
        balance=balance,
        given_up=tuple(
            GivenUpView(number, vehicle, date.fromisoformat(fit_on), quantity)
            for number, vehicle, fit_on, quantity in given
        ),
    )
