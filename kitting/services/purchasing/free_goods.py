"""Free goods: what lies free, comes free or is on a van, for bookings that lack it.

What `--place` would promise before it buys, worked out without a change.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.shortage import Cover
from kitting.calc.purchasing.van_record import VanRecord
from kitting.calc.stock.storage import judge
from kitting.facts.words import OPEN_BOOKINGS, ShelfPolicy
from kitting.services.bookings.free_shelves import free_for, opened_of
from kitting.services.bookings.reservations import Wanted, claims_of
from kitting.services.purchasing.short_facts import ShortBooking, Taken, TakenLot
from kitting.services.purchasing.shortages import Wanting, delivery_of
from kitting.services.stock.announced import DUE, DUE_LATE
from kitting.services.stock.lots import STORED_ON_THE_WAY, Shelves, read_shelves, stored
from kitting.services.stock.opened_life import OpenedLife
from kitting.services.stock.vans_seen import vans_seen
from kitting.tables.bookings import IN_KIT, Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot, Transfer
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder
from kitting.views.on_the_way import VanComingView

_VANS = (
    select(
        Transfer.id, Transfer.quantity, Transfer.due, Transfer.to_lot_id, Lot.item_id, Item.code,
        Item.unit, Transfer.from_branch_id, Branch.code.label("source"), *STORED_ON_THE_WAY,
    )
    .join(Lot, Transfer.to_lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .join(Branch, Transfer.from_branch_id == Branch.id)
    .where(
        Transfer.to_branch_id == bindparam("branch"),
        Transfer.arrived_at.is_(None),
        # Where nobody says when the van goes the listed day is no promise; nor is one that is past.
        Branch.van_cutoff.is_not(None),
        Transfer.due >= bindparam("today"),
        Lot.held.is_(None),
        Lot.item_id.in_(bindparam("items", expanding=True)),
    )
    .order_by(Transfer.due, Transfer.id)
)  # fmt: skip
_HEADS = (
    select(
        OrderLine.id.label("line"), PurchaseOrder.id.label("order"), PurchaseOrder.number,
        PurchaseOrder.supplier_id, PurchaseOrder.placed_at, DUE, DUE_LATE,
    )
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .where(OrderLine.id.in_(bindparam("lines", expanding=True)))
)  # fmt: skip
_OTHERS_NEED = (
    select(Booking.id, Booking.fit_on, BookingNeed.item_id, func.sum(BookingNeed.quantity))
    .join(BookingNeed, BookingNeed.booking_id == Booking.id)
    .where(
        Booking.branch_id == bindparam("branch"),
        Booking.state.in_(OPEN_BOOKINGS),
        BookingNeed.item_id.in_(bindparam("items", expanding=True)),
    )
    .group_by(Booking.id, Booking.fit_on, BookingNeed.item_id)
)
_OTHERS_HAVE = (
    select(Promise.booking_id, Promise.item_id, func.sum(Promise.waiting + IN_KIT))
    .join(Booking, Promise.booking_id == Booking.id)
    .where(
        Booking.branch_id == bindparam("branch"),
        Booking.state.in_(OPEN_BOOKINGS),
        Promise.item_id.in_(bindparam("items", expanding=True)),
    )
    .group_by(Promise.booking_id, Promise.item_id)
)


@dataclass(frozen=True, slots=True)
class _Other:
    """What another booking lacks of an item that comes by van."""

    booking: int
    fit_on: date
    item: int
    lacks: int


@dataclass(frozen=True, slots=True)
class FreeGoods:
    """What is free of the items of some bookings: by the policies that judge it, for any day."""

    shelves: Mapping[ShelfPolicy, Shelves]
    opened: OpenedLife
    heads: Mapping[int, Any]  # of orders, by line
    vans: Sequence[Any]
    seen: Mapping[int, VanRecord]  # of vans, by the branch that they came from
    others: Sequence[_Other]

    def __call__(
        self, wanting: Wanting, days: Mapping[int, date], covers: Mapping[int, Sequence[Cover]]
    ) -> Taken:
        """What each booking takes of it on its day, the earliest first."""
        left = _Left(self)
        found: dict[int, list[Cover]] = {}
        for booking in sorted(wanting.bookings, key=lambda one: (days[one.id], one.id)):
            lacks: dict[int, int] = defaultdict(int)
            spares: dict[int, int] = defaultdict(int)
            for need in wanting.needs[booking.id]:
                lacks[need.item] += need.quantity
                spares[need.item] += need.quantity if need.spare else 0
            for cover in covers.get(booking.id, ()):
                lacks[cover.item] -= cover.quantity if cover.fit else 0
            left.must = {item: max(0, amount - spares[item]) for item, amount in lacks.items()}
            found[booking.id] = [
                cover
                for item, amount in sorted(lacks.items())
                if amount > 0
                for cover in left.take(booking, days[booking.id], Wanted(item, amount))
            ]
        lines = [self.heads[line] for line in sorted(left.lines) if line in self.heads]
        vans = tuple(
            self._van(row, left.vans[row.id]) for row in self.vans if left.vans.get(row.id)
        )
        return Taken(found, lines, vans, tuple(left.unproven))

    def _van(self, row: Any, quantity: int) -> VanComingView:
        record = self.seen.get(row.from_branch_id, VanRecord())
        return VanComingView(
            transfer=row.id, item=row.code, unit=row.unit, quantity=quantity, branch=row.source,
            due=row.due, seen=record.seen, punctual=record.punctual,
        )  # fmt: skip


class _Left:
    """What is left of free goods while one booking after another takes of them."""

    def __init__(self, goods: FreeGoods) -> None:
        self.goods = goods
        self.lots: dict[int, int] = defaultdict(int)
        self.lines: dict[int, int] = defaultdict(int)
        self.vans: dict[int, int] = defaultdict(int)
        self.unproven: list[TakenLot] = []
        # What has to be there of the booking that takes, by item: the rest is spares.
        self.must: dict[int, int] = {}

    def _note(self, taken: TakenLot, *, age_known: bool) -> None:
        """Keep that a lot of unknown age covers what has to be there, which comes before spares."""
        some = min(taken.quantity, self.must.get(taken.item, 0))
        self.must[taken.item] = self.must.get(taken.item, 0) - some
        if some and not age_known:
            self.unproven.append(replace(taken, quantity=some))

    def take(self, booking: ShortBooking, on: date, wanted: Wanted) -> list[Cover]:
        goods, item = self.goods, wanted.item
        shelves = free_for(self._of(goods.shelves[booking.policy], item), goods.opened, on)
        shelves = Shelves(
            {item: [replace(lot, promised=lot.promised + self.lots[lot.key])
                    for lot in shelves.of(item)]},
            {item: [replace(line, promised=line.promised + self.lines[line.key])
                    for line in shelves.coming(item)]},
        )  # fmt: skip
        covers, missing = [], wanted.quantity
        known = {lot.key: lot.age_known for lot in shelves.of(item)}
        for claim in claims_of(shelves, wanted, on, ()):
            missing -= claim.quantity
            if claim.lot is not None:
                self.lots[claim.lot] += claim.quantity
                covers.append(Cover(item, claim.quantity))
                taken = TakenLot(booking.id, item, claim.lot, claim.quantity)
                self._note(taken, age_known=known[claim.lot])
            elif claim.order_line is not None:
                self.lines[claim.order_line] += claim.quantity
                delivery = delivery_of(goods.heads[claim.order_line])
                covers.append(Cover(item, claim.quantity, order=delivery))
        return [*covers, *self._by_van(booking, on, Wanted(item, missing))]

    def _of(self, shelves: Shelves, item: int) -> Shelves:
        return Shelves({item: shelves.of(item)}, {item: shelves.coming(item)})

    def _by_van(self, booking: ShortBooking, on: date, wanted: Wanted) -> list[Cover]:
        """What vans bring before the day, less what bookings before this one will take of it."""
        missing, covers = wanted.quantity, []
        before = sum(
            other.lacks
            for other in self.goods.others
            if other.item == wanted.item
            and (other.fit_on, other.booking) < (booking.fit_on, booking.id)
        )
        for row in self.goods.vans:
            if row.item_id != wanted.item or row.due >= on:
                continue
            free = row.quantity - self.vans[row.id]
            passed = min(before, free)
            before -= passed
            some = min(missing, free - passed)
            judged = judge(stored(row), booking.policy, on)
            if some > 0 and judged.may_be_fitted:
                self.vans[row.id] += some
                missing -= some
                covers.append(Cover(wanted.item, some))
                taken = TakenLot(booking.id, wanted.item, row.to_lot_id, some)
                self._note(taken, age_known=judged.shelf.known)
        return covers


def read_free(session: Session, wanting: Wanting, today: date) -> FreeGoods:
    """What is free of everything that the bookings need, in a fixed number of statements.

    Two for each policy of storage life among the bookings, and at most six more.
    """
    items = sorted({need.item for needs in wanting.needs.values() for need in needs})
    branch = wanting.branch.id
    shelves = {
        policy: read_shelves(session, branch, items, policy)
        for policy in sorted({booking.policy for booking in wanting.bookings})
    }
    lines = sorted(
        {line.key for one in shelves.values() for some in one.arrivals.values() for line in some}
    )
    heads = session.execute(_HEADS, {"lines": lines}).all() if lines else []
    of_branch = {"branch": branch, "items": items}
    vans = session.execute(_VANS, {**of_branch, "today": today}).all()
    own = {booking.id for booking in wanting.bookings}
    others: list[_Other] = []
    seen: dict[int, VanRecord] = {}
    if vans:
        seen = {way[0]: record for way, record in vans_seen(session, [branch]).items()}
        have = {
            (booking, item): int(amount)
            for booking, item, amount in session.execute(_OTHERS_HAVE, of_branch)
        }
        others = [
            _Other(booking, fit_on, item, int(need) - have.get((booking, item), 0))
            for booking, fit_on, item, need in session.execute(_OTHERS_NEED, of_branch)
            if booking not in own and int(need) > have.get((booking, item), 0)
        ]
    return FreeGoods(
        shelves=shelves,
        opened=opened_of(session, list(shelves.values())),
        heads={row.line: row for row in heads},
        vans=vans,
        seen=seen,
        others=others,
    )
