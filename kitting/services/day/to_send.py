"""What other branches have free of what bookings lack, and the last van that brings it in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.purchasing.delivery import before
from kitting.calc.stock.allocation import allocate, proven
from kitting.facts.units import plain
from kitting.services.day.lacking import Lacking
from kitting.services.day.scope import About, Day, Yard, row
from kitting.services.purchasing.awaiting import everything
from kitting.services.stock.lots import Shelves, read_shelves
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import Lot
from kitting.views.today import TodayItem, TodayKind, TodayRow

_LOTS = (
    select(
        Lot.id,
        Lot.code,
        Lot.item_id,
        Item.code.label("item"),
        ITEM_NAME,
        Item.unit,
    )
    .join(Item, Lot.item_id == Item.id)
    .where(Lot.id.in_(bindparam("keys", expanding=True)))
)


@dataclass(frozen=True, slots=True)
class _Sending:
    """So much of a lot of another branch for a booking, and when its last van in time leaves."""

    one: Lacking
    source: Yard
    lot: int
    quantity: int
    leaves: datetime


@dataclass(slots=True)
class Vans:
    """What other branches have free, shared out in the order in which it is asked for."""

    session: Session
    day: Day
    _shelves: dict[int, Shelves] = field(default_factory=dict)
    _taken: dict[int, int] = field(default_factory=lambda: defaultdict(int))

    def read(self, lacking: Sequence[Lacking]) -> None:
        """Read what every branch has of the items that some booking lacks; two statements each."""
        items = sorted({item for one in lacking for item in everything(one.short)})
        if items and len(self.day.yards) > 1:
            for key in self.day.yards:
                self._shelves[key] = read_shelves(self.session, key, items)

    def rows(
        self,
        yard: Yard,
        lacking: Sequence[Lacking],
        wanted: Callable[[Lacking], Mapping[int, int]],
    ) -> tuple[tuple[TodayRow, ...], Mapping[tuple[str, int], Sequence[str]]]:
        """What to send to a branch, and which branches have what a booking (number, item) wants.

        `wanted` is what of each item a booking wants: lacks, or waits for and cannot rely on.
        Only what nobody is promised there and is certain to be fit counts.
        """
        found = [
            sending
            for one in lacking
            for item, amount in sorted(wanted(one).items())
            for sending in self._sendings(yard, one, item, amount)
        ]
        keys = {"keys": sorted({sending.lot for sending in found})}
        lots = {lot.id: lot for lot in self.session.execute(_LOTS, keys)} if found else {}
        having: dict[tuple[str, int], list[str]] = defaultdict(list)
        for sending in found:
            place = having[sending.one.booking.number, lots[sending.lot].item_id]
            if sending.source.code not in place:
                place.append(sending.source.code)
        return tuple(self._row(yard, sending, lots[sending.lot]) for sending in found), having

    def _sendings(self, yard: Yard, one: Lacking, item: int, amount: int) -> list[_Sending]:
        found = []
        for key, shelves in self._shelves.items():
            other = self.day.yards[key]
            leaves = self._leaves(other, yard, one.on)
            if other.id == yard.id or leaves is None or not amount:
                continue
            lots = [
                replace(lot, promised=lot.promised + self._taken[lot.key])
                for lot in shelves.of(item)
                if proven(lot, one.on)
            ]
            takes, amount = allocate(lots, amount, one.on)
            for some in takes:
                self._taken[some.lot] += some.quantity
                found.append(_Sending(one, other, some.lot, some.quantity, leaves))
        return found

    def _leaves(self, source: Yard, yard: Yard, on: date) -> datetime | None:
        """When the last van leaves that is here a working day before, to be checked.

        None where it has left, or where nobody says when it goes.
        """
        if source.van_cutoff is None:
            return None
        day = source.calendar.last_open(yard.calendar.add(yard.calendar.last_open(on), -1))
        now = self.day.now
        if day < now.date() or (day == now.date() and not before(now, source.van_cutoff)):
            return None
        return datetime.combine(day, source.van_cutoff, tzinfo=now.tzinfo)

    def _row(self, yard: Yard, sending: _Sending, lot: Any) -> TodayRow:
        car = next(b.car for b in self.day.bookings if b.number == sending.one.booking.number)
        figure = plain(Decimal(sending.quantity) / 1000)
        then = next_step(
            Action.SEND_STOCK,
            branch=sending.source.code,
            item=lot.item,
            lot=lot.code,
            quantity=f"{figure} {lot.unit}",
            to=yard.code,
        )
        about = About(
            then=then,
            cars=(car,),
            items=(TodayItem(lot.item, lot.name, lot.unit, sending.quantity),),
            source=sending.source.code,
            lot=lot.code,
        )
        return row(self.day, yard, TodayKind.SEND, sending.leaves, about)
