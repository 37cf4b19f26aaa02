"""What covers the needs of bookings: lots and arrivals that are promised to them, as judged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.stock.opened_life import opened_part
from kitting.calc.stock.storage import Stored, judge
from kitting.facts.words import LotState, MovementKind, ShelfPolicy
from kitting.services.stock.announced import DUE, DUE_LATE
from kitting.services.stock.lots import STORED, stored
from kitting.services.stock.opened_life import PastTime, read_opened_life
from kitting.services.stock.opened_packs import SINCE_EMPTY
from kitting.tables.bookings import IN_KIT, Promise
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot, Movement
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier
from kitting.views.bookings import PromisedView, SourceKind

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_PICKED_AT = (
    select(func.min(Movement.at))
    .where(
        Movement.booking_id == Promise.booking_id,
        Movement.lot_id == Promise.lot_id,
        Movement.kind == MovementKind.PICKED,
        SINCE_EMPTY,
    )
    .correlate(Promise)
    .scalar_subquery()
)
_LOTS = (
    select(
        Promise.id, Promise.booking_id, Promise.item_id, Promise.waiting,
        IN_KIT.label("picked"), Promise.lot_id, Lot.code, Lot.bin, *STORED, Item.pack, Item.unit,
        (Lot.on_hand - Lot.promised + Promise.waiting).label("unshared"),
        _PICKED_AT.label("picked_at"), CustomerLot.lot_id.is_not(None).label("customers"),
    )
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .outerjoin(CustomerLot, CustomerLot.lot_id == Lot.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip
_ORDERS = (
    select(
        Promise.id, Promise.booking_id, Promise.item_id, Promise.waiting,
        IN_KIT.label("picked"), Promise.order_line_id, Item.opened_life_days,
        PurchaseOrder.number, DUE, DUE_LATE, Supplier.name,
    )
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
    .join(Item, OrderLine.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip


@dataclass(slots=True)
class Source:
    """One promise with what it is of: of what waits and of what lies in the kit (`picked`).

    Both are what no need has taken yet. `extra` was drawn beyond the plan: it is for none.
    """

    waiting: int
    picked: int
    of: PromisedView
    extra: int = 0


Sources = Mapping[tuple[int, int], Sequence[Source]]  # by booking and item


def read_sources(
    session: Session,
    keys: Mapping[str, Any],
    heads: Mapping[int, Any],
    days: Mapping[int, date],
    today: date | None = None,
) -> Sources:
    """What covers the needs of bookings, judged at the `days`; `heads` are the bookings by key.

    Goods to come are overdue where nine of ten would have come before `today`.

    What another booking will have opened too long before is a source of its own, expired. Two
    statements, and one more each where something of it has an opened life.
    """
    found: dict[tuple[int, int], list[Source]] = defaultdict(list)
    lots, orders = session.execute(_LOTS, keys).all(), session.execute(_ORDERS, keys).all()
    past_time = read_opened_life(
        session,
        {row.lot_id for row in lots if row.opened_life_days and row.waiting},
        {row.order_line_id for row in orders if row.opened_life_days and row.waiting},
    ).past_time({row.id: days[row.booking_id] for row in (*lots, *orders)})
    for row in lots:
        policy, day = heads[row.booking_id].policy, days[row.booking_id]
        view = replace(
            lot_view(row, stored(row), policy, day),
            customers=row.customers,
            unshared=row.unshared,
        )
        sources = list(_sources(row, view, past_time.get(row.id)))
        if (opened := _opened_for_it(row)) is not None:
            in_kit = replace(lot_view(row, opened, policy, day), customers=row.customers)
            sources = [*(replace(one, picked=0) for one in sources if one.waiting),
                       Source(0, row.picked, in_kit)]  # fmt: skip
        found[row.booking_id, row.item_id] += sources
    for line in orders:
        view = PromisedView(
            kind=SourceKind.ORDER,
            quantity=0,
            picked=0,
            order=line.number,
            supplier=line.name,
            due=line.due,
            due_late=line.due_late,
            late=line.due_late > days[line.booking_id],
            overdue=today is not None and line.due_late < today,
        )
        found[line.booking_id, line.item_id] += _sources(line, view, past_time.get(line.id))
    return found


def _sources(row: Any, view: PromisedView, past_time: PastTime | None) -> Iterator[Source]:
    """A promise, and apart what of it will be past its time."""
    if past_time is None or not view.may_be_fitted:
        yield Source(row.waiting, row.picked, view)
        return
    yield Source(row.waiting - past_time.quantity, row.picked, view)
    late = replace(view, state=LotState.EXPIRED, keeps_to=past_time.limit, keeps_why=past_time.why)
    yield Source(past_time.quantity, 0, late)


def _opened_for_it(row: Any) -> Stored | None:
    """As what the part in the kit keeps, if a sealed pack was opened for it: its opened life."""
    if not row.opened_life_days or row.picked_at is None:
        return None
    if not opened_part(row.picked, row.pack, pieces=row.unit == "each"):
        return None
    day = row.picked_at.date()
    if row.opened_on is not None and row.opened_on <= day:
        return None
    return replace(stored(row), opened_on=day)


def lot_view(row: Any, lot: Stored, policy: ShelfPolicy, on: date) -> PromisedView:
    """A lot as it is judged at a day; `row` has its `code` and `bin`, and what it is held for."""
    judged = judge(lot, policy, on)
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
