"""Picking and cancelling: stock into a kit, and back to its lots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, bindparam, select, update
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import fitted_on, judge
from kitting.facts.gs1 import Scan
from kitting.facts.words import BookingState, MovementKind
from kitting.services.bookings.handed_back import with_theirs
from kitting.services.bookings.kit_place import require_home
from kitting.services.bookings.scanned import scanned_only
from kitting.services.bookings.set_aside import fitting_day
from kitting.services.bookings.states import find_booking, require_open, require_step
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.kit_ledger import take_all
from kitting.services.stock.ledger import Move, let_all_go, post_all
from kitting.services.stock.lots import POLICY, STORED, stored
from kitting.services.stock.opened_packs import Taken, keep_opened, open_packs
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.views.bookings import BookingView

_WAITING = (
    select(
        Promise.id,
        Lot.id.label("lot"),
        Lot.code.label("lot_code"),
        Lot.batch,
        Item.code,
        Item.pack,
        POLICY,
        *STORED,
    )
    .join(Booking, Promise.booking_id == Booking.id)
    .join(Branch, Booking.branch_id == Branch.id)
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Promise.booking_id == bindparam("booking"), Promise.waiting > 0)
    .order_by(Promise.id)
)
_PROMISES = (
    select(Promise.id, Promise.item_id, Promise.lot_id, Promise.waiting, IN_KIT.label("picked"))
    .where(Promise.booking_id == bindparam("booking"))
    .order_by(Promise.id)
)
_table = Promise.metadata.tables["promise"]
_ACCOUNTED = (
    update(_table)
    .where(_table.c.id == bindparam("key"))
    .values(used=bindparam("n_used"), returned=bindparam("n_back"), scrapped=bindparam("n_gone"))
)


def pick(
    engine: Engine,
    number: str,
    at: datetime,
    token: str | None = None,
    scans: Sequence[Scan] = (),
) -> BookingView:
    """Put everything into the kit that is promised from the shelves; with `scans` only their lots.

    A packet that was scanned and is not promised to the booking, or has other dates than are on
    record, is refused, and nothing is picked.
    What is on hold, or expires before the fitting date or the day of picking, stays where it is.
    Raises KittingError for a booking that is closed or cancelled.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"pick {booking.number} {' '.join(scan.text for scan in scans)}".strip()
        if earlier(session, token, request) is not None:
            return booking_view(session, booking, at.date())
        require_open(booking, "nothing of it is picked")
        day = fitted_on(fitting_day(session, booking), at.date())
        fit = {
            row.id: row
            for row in session.execute(_WAITING, {"booking": booking.id})
            if judge(stored(row), row.policy, day).may_be_fitted
        }
        if scans:
            fit = scanned_only(session, booking.number, fit, scans, day)
        taken = take_all(session, list(fit), at)
        opened = [_taken(fit[key], quantity) for key, quantity in taken.items()]
        open_packs(session, opened, at)
        record(session, token, request, booking.branch_id, at)
        view = booking_view(session, booking, at.date())
        session.commit()
        return view


def _taken(row: Any, quantity: int) -> Taken:
    return Taken(
        lot=row.lot,
        quantity=quantity,
        pack=row.pack,
        opened_life_days=row.opened_life_days,
        opened=row.opened_on is not None,
    )


def cancel(engine: Engine, number: str, at: datetime, token: str | None = None) -> BookingView:
    """Cancel a booking: its promises are free again, what was picked goes back to its lots."""
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"cancel {booking.number}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking)
        require_step(booking, BookingState.CANCELLED)
        promises = promises_of(session, booking.id)
        if any(promise.picked for promise in promises):
            require_home(session, booking)
        put_back(session, booking.id, [Account(p, back=p.picked) for p in promises], at)
        let_all_go(session, [(p.id, p.waiting) for p in promises if p.waiting])
        session.execute(
            update(Booking)
            .where(Booking.id == booking.id)
            .values(state=BookingState.CANCELLED)
            .execution_options(synchronize_session=False)
        )
        record(session, token, request, booking.branch_id, at)
        view = with_theirs(session, booking, booking_view(session, booking))
        session.commit()
        return view


def promises_of(session: Session, booking_id: int) -> Sequence[Any]:
    """The promises of a booking in the order in which they were made; `picked` is in its kit."""
    return session.execute(_PROMISES, {"booking": booking_id}).all()


@dataclass(frozen=True, slots=True)
class Account:
    """What became of what was picked of a promise (thousandths)."""

    promise: Any
    used: int = 0
    back: int = 0
    gone: int = 0


def put_back(session: Session, booking_id: int, accounts: Sequence[Account], at: datetime) -> None:
    """Write down what became of promises; what came back is in its lot again, opened or sealed."""
    rows = [
        {"key": one.promise.id, "n_used": one.used, "n_back": one.back, "n_gone": one.gone}
        for one in accounts
        if one.promise.picked
    ]
    if rows:
        session.connection().execute(_ACCOUNTED, rows)
    moves = [
        Move(one.promise.lot_id, MovementKind.PUT_BACK, one.back, booking_id)
        for one in accounts
        if one.back and one.promise.lot_id is not None
    ]
    post_all(session, moves, at)
    keep_opened(session, booking_id, {move.lot: move.quantity for move in moves}, at)
