"""What covers the needs of bookings: lots and arrivals that are promised to them, as judged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import judge
from kitting.facts.words import ShelfPolicy
from kitting.services.stock.lots import STORED, stored
from kitting.tables.bookings import Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier
from kitting.views.bookings import PromisedView, SourceKind

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_LOTS = (
    select(
        Promise.booking_id, Promise.item_id, Promise.waiting, Promise.picked, Lot.code, Lot.bin,
        *STORED,
    )
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip
_ORDERS = (
    select(
        Promise.booking_id, Promise.item_id, Promise.waiting, Promise.picked,
        PurchaseOrder.number, PurchaseOrder.due, PurchaseOrder.due_late, Supplier.name,
    )
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip


@dataclass(slots=True)
class Source:
    """One promise with what it is of; `waiting` and `picked` are what no need has taken yet."""

    waiting: int
    picked: int
    of: PromisedView


Sources = Mapping[tuple[int, int], Sequence[Source]]  # by booking and item


def read_sources(session: Session, keys: Mapping[str, Any], heads: Mapping[int, Any]) -> Sources:
    """What covers the needs of bookings, in two statements; `heads` are the bookings by key."""
    found: dict[tuple[int, int], list[Source]] = defaultdict(list)
    for row in session.execute(_LOTS, keys):
        head = heads[row.booking_id]
        view = _of_lot(row, head.policy, head.fit_on)
        found[row.booking_id, row.item_id].append(Source(row.waiting, row.picked, view))
    for line in session.execute(_ORDERS, keys):
        view = PromisedView(
            kind=SourceKind.ORDER,
            quantity=0,
            picked=0,
            order=line.number,
            supplier=line.name,
            due=line.due,
            due_late=line.due_late,
            late=line.due_late > heads[line.booking_id].fit_on,
        )
        found[line.booking_id, line.item_id].append(Source(line.waiting, line.picked, view))
    return found


def _of_lot(row: Any, policy: ShelfPolicy, fit_on: date) -> PromisedView:
    judged = judge(stored(row), policy, fit_on)
    return PromisedView(
        kind=SourceKind.LOT,
        quantity=0,
        picked=0,
        lot=row.code,
        bin=row.bin,
        state=judged.state,
        keeps_to=judged.shelf.limit,
        keeps_why=judged.shelf.reason,
        on_hold=row.held,
    )
