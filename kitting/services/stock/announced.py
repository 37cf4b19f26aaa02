"""When order lines are due: the newest day that the supplier announced, else their own."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import aliased

from kitting.tables.order_history import OrderNotice
from kitting.tables.supply import OrderLine, PurchaseOrder


def _newest(column: Any) -> Any:
    later = aliased(OrderNotice)
    newest = (
        select(func.max(later.id))
        .where(later.order_line_id == OrderLine.id)
        .correlate(OrderLine)
        .scalar_subquery()
    )
    return (
        select(column)
        .where(OrderNotice.id == newest)
        .correlate(OrderLine)
        .scalar_subquery()
    )  # fmt: skip


# Of a row with an order line and its order: a part may have a lead time of its own, else the days
# of the order hold.
DUE: ColumnElement[date] = func.coalesce(
    _newest(OrderNotice.due), OrderLine.due, PurchaseOrder.due
).label("due")
DUE_LATE: ColumnElement[date] = func.coalesce(
    _newest(OrderNotice.due_late), OrderLine.due_late, PurchaseOrder.due_late
).label("due_late")
