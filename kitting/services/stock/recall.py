"""Recall: where everything of a lot is, in one answer."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, or_, select
from sqlalchemy.orm import Session

from kitting.services.lookup import unknown
from kitting.services.stock.holds import hold_events
from kitting.services.stock.lots import find_item
from kitting.services.stock.natures import of_batch
from kitting.services.stock.shelves import LOT_VIEW, lot_view
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Movement, Transfer
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.stock import MovementView, RecallBookingView, RecallView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_BOOKINGS = (
    select(
        Booking.number,
        Vehicle.registration,
        Booking.state,
        Booking.fit_on,
        func.sum(Promise.waiting).label("waiting"),
        # What came back or was thrown away is in no kit and in no car.
        func.sum(IN_KIT - Promise.returned - Promise.scrapped).label("picked"),
        func.sum(Promise.used).label("used"),
        func.sum(Promise.lost).label("lost"),
    )
    .join(Promise, Promise.booking_id == Booking.id)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(Promise.lot_id.in_(_KEYS))
    .group_by(Booking.number, Vehicle.registration, Booking.state, Booking.fit_on)
    .order_by(Booking.fit_on, Booking.number)
)
_MOVEMENTS = (
    select(
        Movement.at, Movement.kind, Movement.quantity, Movement.balance, Movement.note,
        Booking.number, Lot.code,
    )
    .join(Lot, Movement.lot_id == Lot.id)
    .outerjoin(Booking, Movement.booking_id == Booking.id)
    .where(Movement.lot_id.in_(_KEYS))
    .order_by(Movement.id)
)  # fmt: skip
_ON_THE_WAY = select(func.coalesce(func.sum(Transfer.quantity), 0)).where(
    or_(
        Transfer.from_lot_id.in_(_KEYS),
        Transfer.to_lot_id.in_(_KEYS),
    ),
    Transfer.arrived_at.is_(None),
)


def recall(session: Session, code: str, on: date, item: str | None = None) -> RecallView:
    """Shelves, kits, closed jobs and goods on the way of a lot, over all branches.

    What was lost from a kit is told too. So it is of what was opened of it, and of what arrived
    in a lot of another code.

    Raises UnknownNameError naming near lots.
    """
    wanted = LOT_VIEW.where(of_batch(code)).order_by(Branch.code, Item.code, Lot.id)
    if item is not None:
        wanted = wanted.where(Item.id == find_item(session, item).id)
    rows = session.execute(wanted).all()
    if not rows:
        known = session.scalars(select(Lot.code).distinct())
        raise unknown("lot", code, known, "No lot has a name like it")
    keys = {"keys": [row.id for row in rows]}
    return RecallView(
        lot=code,
        items=tuple(dict.fromkeys(row.item for row in rows)),
        unit=rows[0].unit,
        shelves=tuple(lot_view(row, on) for row in rows),
        bookings=tuple(
            RecallBookingView(
                booking=row.number,
                vehicle=row.registration,
                state=row.state,
                fit_on=row.fit_on,
                waiting=int(row.waiting),
                picked=int(row.picked),
                used=int(row.used),
                lost=int(row.lost),
            )
            for row in session.execute(_BOOKINGS, keys)
        ),
        on_the_way=int(session.scalar(_ON_THE_WAY, keys) or 0),
        movements=tuple(
            MovementView(
                at=row.at,
                lot=row.code,
                kind=row.kind,
                quantity=row.quantity,
                balance=row.balance,
                booking=row.number,
                note=row.note,
            )
            for row in session.execute(_MOVEMENTS, keys)
        ),
        holds=hold_events(session, keys["keys"]),
    )
