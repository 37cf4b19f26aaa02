"""What is at hand for a car at a branch, of each item, on the day it is fitted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.advice.at_hand import AtHand, Own, at_hand
from kitting.calc.stock.storage import judge
from kitting.facts.words import LotState, ShelfPolicy
from kitting.services.stock.announced import DUE_LATE
from kitting.services.stock.lots import STORED, read_shelves, stored
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder

_POLICY = select(Booking.shelf_policy).where(Booking.id == bindparam("booking"))
_PROMISED = (
    select(
        Promise.item_id, Promise.lot_id, Promise.waiting, IN_KIT.label("picked"), DUE_LATE,
        *STORED,
    )
    .join(Item, Promise.item_id == Item.id)
    .outerjoin(Lot, Promise.lot_id == Lot.id)
    .outerjoin(OrderLine, Promise.order_line_id == OrderLine.id)
    .outerjoin(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .where(Promise.booking_id == bindparam("booking"))
    .order_by(Promise.id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class When:
    """The day of fitting, and today: what is later than its late day may never come."""

    on: date
    today: date


@dataclass(slots=True)
class _Kept:
    """What a booking has of one item, in thousandths."""

    waiting: dict[int, int] = field(default_factory=dict)
    picked: list[tuple[LotState, int]] = field(default_factory=list)
    coming: int = 0


def read_at_hand(
    session: Session,
    owner: Branch,
    items: Collection[int],
    when: When,
    booking: int | None = None,
    coming: Mapping[int, int] = MappingProxyType({}),
) -> dict[int, AtHand]:
    """What of each item may be fitted on a day and is nobody else's.

    Judged by the booking's own policy of storage life, if it has one. What is still to come for
    the booking counts if even a late delivery is here by the day and it is not later than that by
    now; so does, without one, what would be promised to it (`coming`, by item).
    """
    policy = booking and session.scalar(_POLICY, {"booking": booking})
    shelves = read_shelves(session, owner.id, items, policy or None)
    kept: dict[int, _Kept] = defaultdict(_Kept)
    if booking is not None:
        _read_kept(session, booking, policy or owner.shelf_policy, when, kept)
    return {
        item: at_hand(
            shelves.of(item),
            Own(kept[item].waiting, kept[item].picked, kept[item].coming + coming.get(item, 0)),
            when.on,
        )
        for item in items
    }


def _read_kept(
    session: Session, booking: int, policy: ShelfPolicy, when: When, kept: dict[int, _Kept]
) -> None:
    for row in session.execute(_PROMISED, {"booking": booking}):
        own = kept[row.item_id]
        if row.lot_id is None:
            own.coming += row.waiting if when.today <= row.due_late <= when.on else 0
            continue
        own.waiting[row.lot_id] = row.waiting
        if row.picked:
            own.picked.append((judge(stored(row), policy, when.on).state, row.picked))
