"""Nothing that happens to an order was before what it follows from."""

from __future__ import annotations

from datetime import datetime

from kitting.errors import KittingError
from kitting.tables.supply import PurchaseOrder

_TIME = "%Y-%m-%d %H:%M"


def require_after_order(order: PurchaseOrder, at: datetime, what: str) -> None:
    """Raise KittingError where something is told to have been before the order was placed."""
    require_after(f"{order.number} was placed", order.placed_at, at, what)


def require_after(cause: str, since: datetime, at: datetime, what: str) -> None:
    """Raise KittingError where `what` is told to have been before its cause (wall clock)."""
    if at < since:
        raise KittingError(
            f"{cause} {since:{_TIME}}, and {what} cannot have been {at:{_TIME}}. Give the day and"
            " the time at which it really was"
        )
