"""When order lines are due: the newest date that the supplier announced, else the order's own."""

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


# Of a row with an order line and its order.
DUE: ColumnElement[date] = func.coalesce(_newest(OrderNotice.due), PurchaseOrder.due).label("due")
DUE_LATE: ColumnElement[date] = func.coalesce(
    _newest(OrderNotice.due_late), PurchaseOrder.due_late
).label("due_late")
