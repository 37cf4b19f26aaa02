"""An order that will not come: who waited for it is promised what else is free."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine, bindparam, select, update

from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS, OrderState
from kitting.services.bookings.reservations import promise_free
from kitting.services.purchasing.order_times import require_after_order
from kitting.services.purchasing.order_view import find_order, order_state, order_view
from kitting.services.stock.ledger import let_go
from kitting.store import writing
from kitting.tables.bookings import Booking, Promise
from kitting.tables.supply import OrderLine, PurchaseOrder
from kitting.views.orders import OrderView

_WAITING_FOR_ORDER = (
    select(Promise.id, Promise.waiting, Booking)
    .join(Booking, Promise.booking_id == Booking.id)
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .where(OrderLine.order_id == bindparam("order"), Promise.waiting > 0)
    .order_by(Booking.fit_on, Booking.id)
)


def cancel_order(engine: Engine, number: str, at: datetime) -> OrderView:
    """Cancel what has not come of an order; who waited for it is promised what else is free."""
    with writing(engine) as session:
        order = find_order(session, number)
        if order.cancelled_at is not None:
            raise KittingError("{number} is cancelled already", number=order.number)
        require_after_order(order, at, "its cancelling")
        lines = session.scalars(select(OrderLine).where(OrderLine.order_id == order.id)).all()
        if order_state(order, lines) is OrderState.COMPLETE:
            raise KittingError(
                "{number} has come in full; nothing of it can be cancelled", number=order.number
            )
        waiting = session.execute(_WAITING_FOR_ORDER, {"order": order.id}).all()
        for promise, amount, _ in waiting:
            let_go(session, promise, amount)
        session.execute(
            update(PurchaseOrder).where(PurchaseOrder.id == order.id).values(cancelled_at=at)
        )
        for booking in dict.fromkeys(booking for *_, booking in waiting):
            if booking.state in OPEN_BOOKINGS:
                promise_free(session, booking.id)
        view = order_view(session, order)
        session.commit()
        return view
