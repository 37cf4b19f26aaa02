"""Who else has what bookings need: promises of open bookings, and stock that nobody is promised."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import judge
from kitting.facts.words import ShelfPolicy
from kitting.services.stock.lots import STORED, stored
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import OURS, Lot
from kitting.tables.supply import Branch
from kitting.views.bookings import ElsewhereKind, ElsewhereView

_ITEMS: BindParameter[Any] = bindparam("items", expanding=True)
_PROMISED = (
    select(
        Promise.item_id, Booking.id, Booking.number, Booking.branch_id,
        func.sum(Promise.waiting).label("amount"),
    )
    .join(Booking, Promise.booking_id == Booking.id)
    .where(Promise.item_id.in_(_ITEMS), Promise.waiting > 0)
    .group_by(Promise.item_id, Booking.id, Booking.number, Booking.branch_id)
    .order_by(Booking.number)
)  # fmt: skip
_FREE = (
    select(
        Lot.item_id, Lot.branch_id, Branch.code, (Lot.on_hand - Lot.promised).label("amount"),
        *STORED,
    )
    .join(Branch, Lot.branch_id == Branch.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Lot.item_id.in_(_ITEMS), Lot.on_hand > Lot.promised, OURS)
    .order_by(Branch.code, Lot.id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Asked:
    """A booking that needs some items: of which branch, for which day, by which policy."""

    booking: int
    branch_id: int
    fit_on: date
    policy: ShelfPolicy
    items: Set[int]


def elsewhere(
    session: Session, asked: Sequence[Asked]
) -> dict[tuple[int, int], tuple[ElsewhereView, ...]]:
    """By booking and item, who else has it, and what is free of it in the own branch by now."""
    items = {"items": sorted({item for one in asked for item in one.items})}
    promises, lots = session.execute(_PROMISED, items).all(), session.execute(_FREE, items).all()
    found: dict[tuple[int, int], list[ElsewhereView]] = defaultdict(list)
    for one in asked:
        for item, view in (*_promised(one, promises), *_on_shelves(one, lots)):
            found[one.booking, item].append(view)
    return {key: tuple(views) for key, views in found.items()}


def _promised(asked: Asked, promises: Sequence[Any]) -> Iterator[tuple[int, ElsewhereView]]:
    """What other bookings of the branch are promised."""
    for row in promises:
        other = row.id != asked.booking and row.branch_id == asked.branch_id
        if other and row.item_id in asked.items:
            amount = int(row.amount)
            yield (
                row.item_id,
                ElsewhereView(ElsewhereKind.PROMISED, amount, booking=row.number),
            )


def _on_shelves(asked: Asked, lots: Sequence[Any]) -> Iterator[tuple[int, ElsewhereView]]:
    """What nobody is promised: here, then by branch, what is free before what is not usable."""
    free: dict[tuple[bool, str, ElsewhereKind, int], int] = defaultdict(int)
    for row in lots:
        if row.item_id not in asked.items:
            continue
        there = row.branch_id != asked.branch_id
        kind = ElsewhereKind.FREE if there else ElsewhereKind.HERE
        if not judge(stored(row), asked.policy, asked.fit_on).may_be_fitted:
            kind = ElsewhereKind.NOT_USABLE
        free[there, row.code, kind, row.item_id] += row.amount
    for (_, branch, kind, item), amount in sorted(free.items()):
        yield item, ElsewhereView(kind, amount, branch=branch)
