"""Recall: where everything of a lot is, in one answer."""

from __future__ import annotations

from datetime import date

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from kitting.errors import UnknownNameError
from kitting.facts.names import nearest
from kitting.services.stock.lots import POLICY
from kitting.services.stock.shelves import lot_view
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.stock import MovementView, RecallBookingView, RecallView


def recall(
    session: Session, code: str, on: date, item: str | None = None, policy: str = POLICY
) -> RecallView:
    """Shelves, kits, closed jobs and goods on the way of a lot, over all branches.

    Raises UnknownNameError naming near lots.
    """
    wanted = (
        select(Lot, Item, Branch.code)
        .join(Item, Lot.item_id == Item.id)
        .join(Branch, Lot.branch_id == Branch.id)
        .where(Lot.code == code)
        .order_by(Branch.code, Item.code)
    )
    if item is not None:
        wanted = wanted.where(Item.code == item)
    rows = session.execute(wanted).all()
    if not rows:
        near = nearest(code, session.scalars(select(Lot.code).distinct()))
        told = f"Did you mean {' or '.join(near)}?" if near else "No lot is like it"
        raise UnknownNameError(f"no lot {code!r} anywhere. {told}")
    keys = [lot.id for lot, _, _ in rows]
    bookings = session.execute(
        select(
            Booking.number,
            Vehicle.registration,
            Booking.state,
            Booking.fit_on,
            func.sum(Promise.waiting),
            # What came back or was thrown away is in no kit and in no car.
            func.sum(Promise.picked - Promise.returned - Promise.scrapped),
            func.sum(Promise.used),
        )
        .join(Promise, Promise.booking_id == Booking.id)
        .join(Vehicle, Booking.vehicle_id == Vehicle.id)
        .where(Promise.lot_id.in_(keys))
        .group_by(Booking.number, Vehicle.registration, Booking.state, Booking.fit_on)
        .order_by(Booking.fit_on, Booking.number)
    )
    moved = session.execute(
        select(Movement, Booking.number)
        .outerjoin(Booking, Movement.booking_id == Booking.id)
        .where(Movement.lot_id.in_(keys))
        .order_by(Movement.id)
    )
    on_the_way = session.scalar(
        select(func.coalesce(func.sum(Transfer.quantity), 0)).where(
            or_(Transfer.from_lot_id.in_(keys), Transfer.to_lot_id.in_(keys)),
            Transfer.arrived_at.is_(None),
        )
    )
    return RecallView(
        lot=code,
        items=tuple(dict.fromkeys(item.code for _, item, _ in rows)),
        unit=rows[0][1].unit,
        shelves=tuple(lot_view(lot, item, branch, on, policy) for lot, item, branch in rows),
        bookings=tuple(
            RecallBookingView(number, car, state, fit_on, int(waiting), int(picked), int(used))
            for number, car, state, fit_on, waiting, picked, used in bookings
        ),
        on_the_way=int(on_the_way or 0),
        movements=tuple(
            MovementView(m.at, m.kind, m.quantity, m.balance, booking, m.note)
            for m, booking in moved
        ),
    )
