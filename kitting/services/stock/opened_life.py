"""What bookings share of packs with an opened life, and what of it will be past its time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import BindParameter, Select, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.opened_life import Packs, Spoilt, Use, free_for, spoilt
from kitting.facts.reasons import Reason, because
from kitting.facts.shelf_life import ShelfReason, days_on
from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_USE = (Promise.id, Promise.waiting, Booking.fit_on, Item.pack, Item.opened_life_days)


def _uses(statement: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    return (
        statement.join(Booking, Promise.booking_id == Booking.id)
        .join(Item, Promise.item_id == Item.id)
        .where(Promise.waiting > 0, Item.pack > 0, Item.opened_life_days > 0)
    )


# An opened lot is judged by the day it was opened.
_OF_LOTS = _uses(
    select(Lot.id.label("source"), Lot.on_hand.label("there"), *_USE)
    .select_from(Promise)
    .join(Lot, Promise.lot_id == Lot.id)
    .where(Lot.id.in_(_KEYS), Lot.opened_on.is_(None))
)
_OF_ARRIVALS = _uses(
    select(
        OrderLine.id.label("source"),
        (OrderLine.quantity - OrderLine.received - OrderLine.lost).label("there"),
        *_USE,
    )
    .select_from(Promise)
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .where(OrderLine.id.in_(_KEYS))
)


@dataclass(frozen=True, slots=True)
class PastTime:
    """So much of a promise comes of a pack that is past its time; `limit` was its last day."""

    quantity: int
    limit: date
    why: Reason


@dataclass(frozen=True, slots=True)
class OpenedLife:
    """How bookings share some lots and arrivals with an opened life, by their keys."""

    lots: Mapping[int, tuple[Packs, list[Use]]] = field(default_factory=dict)
    arrivals: Mapping[int, tuple[Packs, list[Use]]] = field(default_factory=dict)

    def past_time(self, days: Mapping[int, date] | None = None) -> Mapping[int, PastTime]:
        """What of each promise will be past its time, by the key of the promise.

        `days` has, by key, the day of promises that are fitted on another than booked.
        """
        moved = days or {}
        return {
            key: _past_time(packs, found)
            for packs, uses in (*self.lots.values(), *self.arrivals.values())
            for key, found in spoilt(
                [replace(use, on=moved.get(use.key, use.on)) for use in uses], packs
            ).items()
        }

    def free_of_lot(self, lot: int, on: date, free: int) -> int:
        """How much of what is free of a lot can be promised for a day."""
        return _free(self.lots.get(lot), on, free)

    def free_of_arrival(self, line: int, on: date, free: int) -> int:
        """How much of what is free of an arrival can be promised for a day."""
        return _free(self.arrivals.get(line), on, free)


def read_opened_life(
    session: Session, lots: Collection[int], arrivals: Collection[int]
) -> OpenedLife:
    """How bookings share some lots and order lines, in a statement each where there are any."""
    return OpenedLife(_read(session, _OF_LOTS, lots), _read(session, _OF_ARRIVALS, arrivals))


def _read(
    session: Session, statement: Select[*tuple[Any, ...]], keys: Collection[int]
) -> Mapping[int, tuple[Packs, list[Use]]]:
    if not keys:
        return {}
    packs: dict[int, Packs] = {}
    uses: dict[int, list[Use]] = defaultdict(list)
    for row in session.execute(statement, {"keys": sorted(keys)}):
        packs[row.source] = Packs(row.there, row.pack, row.opened_life_days)
        uses[row.source].append(Use(row.id, row.fit_on, row.waiting))
    return {source: (packs[source], some) for source, some in uses.items()}


def _past_time(packs: Packs, found: Spoilt) -> PastTime:
    return PastTime(
        found.quantity,
        days_on(found.opened, packs.days),
        because(ShelfReason.OPENED, opened=found.opened, days=packs.days),
    )


def _free(source: tuple[Packs, list[Use]] | None, on: date, free: int) -> int:
    return free if source is None else free_for(source[1], source[0], on, free)
