"""Which of the orders are asked for: open, overdue, of a supplier, with an item, for a booking."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.words import OrderState
from kitting.services.bookings.states import find_booking
from kitting.services.lookup import lookup
from kitting.services.stock.lots import find_item
from kitting.tables.supply import Supplier
from kitting.views.orders import OrderLineView, OrderView

_OPEN = (OrderState.PLACED, OrderState.PART_RECEIVED)
_SUPPLIERS = select(Supplier.code, Supplier.name)


@dataclass(frozen=True, slots=True)
class OrderFilter:
    """What orders have to be; all that is given has to hold.

    `overdue` (by the day given) are open ones whose usual day is past; `supplier` is its code,
    `item` one of a line that is to come or came, `booking` one that waits for a line.
    """

    is_open: bool = False
    overdue: date | None = None
    supplier: str | None = None
    item: str | None = None
    booking: str | None = None


def chosen(
    session: Session, orders: Sequence[OrderView], asked: OrderFilter
) -> tuple[OrderView, ...]:
    """The orders that are asked for, in the order given.

    Raises UnknownNameError for a supplier, item or booking that is not known.
    """
    supplier = item = booking = None
    if asked.supplier is not None:
        known = {code: code for code, _ in session.execute(_SUPPLIERS)}
        supplier = lookup("supplier", asked.supplier, known)
    if asked.item is not None:
        item = find_item(session, asked.item).code
    if asked.booking is not None:
        booking = find_booking(session, asked.booking).number
    return tuple(
        order
        for order in orders
        if (order.state in _OPEN or not (asked.is_open or asked.overdue))
        and (asked.overdue is None or order.due < asked.overdue)
        and supplier in (None, order.supplier)
        and any(_wanted(line, item, booking) for line in order.lines)
    )


def only_open(orders: Sequence[OrderView]) -> tuple[OrderView, ...]:
    """Those of which something is to come."""
    return tuple(order for order in orders if order.state in _OPEN)


def _wanted(line: OrderLineView, item: str | None, booking: str | None) -> bool:
    return item in (None, line.item) and (booking is None or booking in line.promised)
