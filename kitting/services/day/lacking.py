"""What each open booking lacks at its own date, after what is free or on a van is shared out.

The earliest fitting date is served first, as promises are. Nothing is promised here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import allocate
from kitting.calc.stock.storage import fitted_on, judge
from kitting.facts.words import ShelfPolicy
from kitting.services.bookings.free_shelves import free_for, opened_of
from kitting.services.day.scope import Day, Yard
from kitting.services.purchasing.awaiting import everything
from kitting.services.purchasing.short_facts import Shortage, ShortBooking
from kitting.services.purchasing.shortages import Wanting, read_wanting
from kitting.services.stock.lots import STORED_ON_THE_WAY, Shelves, read_shelves, stored
from kitting.services.stock.opened_life import OpenedLife
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch

# Of a van that leaves when nobody knows, nothing is relied on.
_ON_VANS = (
    select(Transfer.id, Lot.item_id, Transfer.quantity, Transfer.due, *STORED_ON_THE_WAY)
    .join(Lot, Transfer.to_lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .join(Branch, Transfer.from_branch_id == Branch.id)
    .where(
        Transfer.to_branch_id == bindparam("branch"),
        Transfer.arrived_at.is_(None),
        Transfer.due >= bindparam("today"),
        Branch.van_cutoff.is_not(None),
    )
    .order_by(Transfer.due, Transfer.id)
)


@dataclass(frozen=True, slots=True)
class Lacking:
    """What one booking lacks for its day: `short` is what is left to be had.

    `free` is what lies on the shelves of its branch, or comes, and nobody is promised: thousandths
    by the code of the item. `instead` is what of that lies here, or is on a van, beside what it
    waits for with an order, by item.
    """

    booking: ShortBooking
    on: date
    short: Shortage
    free: Mapping[str, int]
    instead: Mapping[int, int] = field(default_factory=dict)


def lacking_at(session: Session, day: Day, yard: Yard) -> list[Lacking]:
    """What the open bookings of a branch lack, each for its own day, the earliest first.

    A fixed number of statements for each policy of storage life that its bookings are judged by.
    """
    numbers = [one.number for one in day.bookings if one.branch_id == yard.id]
    if not numbers:
        return []
    wanting = read_wanting(session, numbers)
    found = []
    codes = {row.item_id: row.code for row in wanting.rows}
    sharing = _Sharing(session, day, yard)
    alone = [
        (booking, on, _alone(mine, on))
        for booking, mine in _apart(wanting)
        for on in (fitted_on(booking.fit_on, day.today),)
    ]
    items = sorted({item for *_, short in alone for item in everything(short)})
    alone.sort(key=lambda one: (one[1], one[0].id))
    for booking, on, short in alone:
        needs, free = sharing.shared(booking, on, short.needs, items)
        named = {codes[item]: amount for item, amount in free.items()}
        found.append(Lacking(booking, on, replace(short, lacks=(needs,)), named))
    # Only what nobody lacks may stand for what others wait for.
    return [replace(one, instead=sharing.instead(one.booking, one.on, one.short, items))
            for one in found]  # fmt: skip


def _apart(wanting: Wanting) -> Iterator[tuple[ShortBooking, Wanting]]:
    """Each booking with what is wanted for it alone."""
    lots: dict[int, list[Any]] = defaultdict(list)
    arrivals: dict[int, list[Any]] = defaultdict(list)
    rows: dict[int, list[Any]] = defaultdict(list)
    for found, some in ((lots, wanting.lots), (arrivals, wanting.arrivals), (rows, wanting.rows)):
        for row in some:
            found[row.booking_id].append(row)
    for booking in wanting.bookings:
        key = booking.id
        yield (
            booking,
            replace(
                wanting,
                bookings=(booking,),
                needs={key: wanting.needs.get(key, ())},
                rows=rows[key],
                lots=lots[key],
                arrivals=arrivals[key],
            ),
        )


def _alone(wanting: Wanting, on: date) -> Shortage:
    return wanting.lacking_all_on(on)


@dataclass(slots=True)
class _Sharing:
    """What of the shelves, arrivals and vans of a branch has been shared out so far."""

    session: Session
    day: Day
    yard: Yard
    _shelves: dict[ShelfPolicy, tuple[Shelves, OpenedLife]] = field(default_factory=dict)
    _vans: list[Any] | None = None
    _taken: dict[tuple[str, int], int] = field(default_factory=lambda: defaultdict(int))

    def shared(
        self, booking: ShortBooking, on: date, needs: Mapping[int, int], items: Sequence[int]
    ) -> tuple[dict[int, int], dict[int, int]]:
        """What a booking lacks still, and what is free for it here, by item."""
        left: dict[int, int] = {}
        free: dict[int, int] = {}
        if not needs:
            return left, free
        there = self._free(booking.policy, on, items)
        for item, amount in sorted(needs.items()):
            rest = self._from_arrivals(there, item, self._from_lots(there, item, amount, on), on)
            if rest < amount:
                free[item] = amount - rest
            rest = self._from_vans(item, rest, on, booking.policy)
            if rest:
                left[item] = rest
        return left, free

    def instead(
        self, booking: ShortBooking, on: date, short: Shortage, items: Sequence[int]
    ) -> dict[int, int]:
        """What lies here or is on a van for what a booking waits for with an order, by item."""
        waits: dict[int, int] = defaultdict(int)
        for order in short.awaited:
            for of_day in order.items:
                for item, amount in of_day.items():
                    waits[item] += amount
        found = {}
        for item, amount in sorted(waits.items()):
            there = self._free(booking.policy, on, items)
            rest = self._from_lots(there, item, amount, on)
            rest = self._from_vans(item, rest, on, booking.policy)
            found[item] = amount - rest
        return {item: amount for item, amount in found.items() if amount}

    def _free(self, policy: ShelfPolicy, on: date, items: Sequence[int]) -> Shelves:
        if policy not in self._shelves:
            shelves = read_shelves(self.session, self.yard.id, items, policy)
            self._shelves[policy] = (shelves, opened_of(self.session, [shelves]))
        return free_for(*self._shelves[policy], on)

    def _from_lots(self, there: Shelves, item: int, amount: int, on: date) -> int:
        lots = [
            replace(lot, promised=lot.promised + self._taken["lot", lot.key])
            for lot in there.of(item)
        ]
        takes, missing = allocate(lots, amount, on)
        for one in takes:
            self._taken["lot", one.lot] += one.quantity
        return missing

    def _from_arrivals(self, there: Shelves, item: int, amount: int, on: date) -> int:
        for line in there.coming(item):
            free = line.quantity - line.promised - self._taken["line", line.key]
            some = max(0, min(amount, free)) if line.due <= on else 0
            self._taken["line", line.key] += some
            amount -= some
        return amount

    def _from_vans(self, item: int, amount: int, on: date, policy: ShelfPolicy) -> int:
        if self._vans is None:
            asked = {"branch": self.yard.id, "today": self.day.today}
            self._vans = list(self.session.execute(_ON_VANS, asked))
        for one in self._vans:
            fit = one.item_id == item and one.due <= on
            if fit and judge(stored(one), policy, on).may_be_fitted:
                some = min(amount, one.quantity - self._taken["van", one.id])
                self._taken["van", one.id] += some
                amount -= some
        return amount
