"""Orders that are due or overdue, goods to load on a van, and goods that should be here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime, time
from typing import Any

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.purchasing.delivery import before
from kitting.calc.purchasing.van_record import VanRecord
from kitting.facts.reasons import Reason, because
from kitting.services.day.scope import About, Day, row
from kitting.services.stock.announced import DUE, DUE_LATE
from kitting.services.stock.transfers import on_the_way
from kitting.services.stock.vans_seen import vans_seen
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier
from kitting.tables.vehicles import Vehicle
from kitting.views.stock import OnTheWayView
from kitting.views.today import TodayCar, TodayItem, TodayKind, TodayReason, TodayRow

_BRANCHES: BindParameter[Any] = bindparam("branches", expanding=True)
_coming = OrderLine.quantity - OrderLine.received - OrderLine.lost
_DUE = (
    PurchaseOrder.branch_id.in_(_BRANCHES),
    PurchaseOrder.cancelled_at.is_(None),
    bindparam("today") >= DUE,
    _coming > 0,
)
_LINES = (
    select(
        PurchaseOrder.number, PurchaseOrder.branch_id, DUE, DUE_LATE,
        Supplier.name.label("supplier"), OrderLine.id, Item.code, ITEM_NAME, Item.unit,
        _coming.label("coming"),
    )
    .select_from(OrderLine)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
    .join(Item, OrderLine.item_id == Item.id)
    .where(*_DUE)
    .order_by(PurchaseOrder.id, OrderLine.seq)
)  # fmt: skip
_WAITING = (
    select(PurchaseOrder.number, Booking.number.label("booking"), Vehicle.registration,
           Booking.fit_on)
    .select_from(Promise)
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Booking, Promise.booking_id == Booking.id)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(*_DUE, Promise.waiting > 0)
    .order_by(Booking.fit_on, Booking.id)
)  # fmt: skip


def order_rows(
    session: Session, day: Day, sure: Mapping[tuple[str, str], float | None]
) -> Iterator[TodayRow]:
    """Orders of which something should have come by now, with who waits; two statements.

    `sure` is how surely an order (by number) is here in time for a booking, given that it has not
    come until now; None where nobody knows.
    """
    asked = {"branches": [yard.id for yard in day.asked], "today": day.today}
    lines: dict[str, list[Any]] = defaultdict(list)
    for line in session.execute(_LINES, asked):
        lines[line.number].append(line)
    waiting = _waiting(session, asked)
    for number, some in lines.items():
        head = some[0]
        cars = waiting.get(number, ())
        still = (
            _still(car.booking, sure[number, car.booking])
            for car in cars
            if (number, car.booking) in sure
        )
        about = About(
            then=next_step(Action.RECEIVE, order=number),
            why=(because(TodayReason.DUE, due=head.due, late=head.due_late), *still),
            cars=cars,
            items=tuple(TodayItem(one.code, one.name, one.unit, one.coming) for one in some),
            supplier=head.supplier,
            order=number,
        )
        late = head.due < day.today
        kind = TodayKind.ORDER_OVERDUE if late else TodayKind.ORDER_DUE
        yield row(day, day.yards[head.branch_id], kind, head.due, about)


def _still(booking: str, chance: float | None) -> Reason:
    if chance is None:
        return because(TodayReason.STILL_NOT_KNOWN, booking=booking)
    return because(TodayReason.STILL_IN_TIME, booking=booking, chance=chance)


def _waiting(session: Session, asked: Mapping[str, Any]) -> Mapping[str, tuple[TodayCar, ...]]:
    found: dict[str, dict[TodayCar, None]] = defaultdict(dict)
    for one in session.execute(_WAITING, asked):
        found[one.number][TodayCar(one.booking, one.registration, one.fit_on)] = None
    return {number: tuple(cars) for number, cars in found.items()}


def transfer_rows(session: Session, day: Day) -> Iterator[TodayRow]:
    """What has to be on a van before it leaves, and what should be here; two statements."""
    by_code = {yard.code: yard for yard in day.yards.values()}
    asked = {yard.code for yard in day.asked}
    coming = on_the_way(session)
    seen = vans_seen(session, [yard.id for yard in day.asked]) if coming else {}
    for one in coming:
        source, to = by_code[one.source], by_code[one.to]
        leaves = _leaves(day, one)
        if leaves is not None:
            if source.code in asked:
                about = _about(one, Action.LIST_TRANSFERS)
                yield row(day, source, TodayKind.LOAD, leaves, about)
        elif to.code in asked and (one.due is None or one.due <= day.today):
            unknown = one.due is None
            late = one.due is not None and one.due < day.today
            kind = TodayKind.TRANSFER_OVERDUE if late else TodayKind.TRANSFER_DUE
            record = seen.get((source.id, to.id), VanRecord())
            about = _about(one, Action.ARRIVE_STOCK, None if unknown else record)
            yield row(day, to, TodayKind.TRANSFER_UNKNOWN if unknown else kind, one.due, about)


def _leaves(day: Day, one: OnTheWayView) -> datetime | None:
    """When its van leaves, if it has not left yet."""
    if one.leaves is None or one.due is None or one.due < day.today:
        return None
    cutoff = time.fromisoformat(one.leaves)
    if one.due == day.today and not before(day.now, cutoff):
        return None
    return datetime.combine(one.due, cutoff, tzinfo=day.now.tzinfo)


def _about(one: OnTheWayView, action: Action, record: VanRecord | None = None) -> About:
    """What is on a van; `record` is what was seen of vans like it, where it should be here."""
    why: tuple[Reason, ...] = ()
    if one.due is None:
        why = (because(TodayReason.VAN_UNKNOWN, branch=one.source),)
    elif record is not None and record.seen:
        kept = {"punctual": record.punctual, "seen": record.seen}
        why = (because(TodayReason.VANS_SEEN, branch=one.source, **kept),)
    elif record is not None:
        why = (because(TodayReason.NO_VAN_SEEN, branch=one.source),)
    values = {"transfer": one.number} if action is Action.ARRIVE_STOCK else {}
    return About(
        then=next_step(action, **values),
        why=why,
        items=(TodayItem(one.item, one.item, one.unit, one.quantity),),
        transfer=one.number,
        source=one.source,
        lot=one.lot,
    )
