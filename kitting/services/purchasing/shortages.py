"""Shortages: what some bookings of one branch lack together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.purchasing.shortage import Cover, Need, awaited, lacking
from kitting.calc.stock.allocation import packs_needed
from kitting.calc.stock.storage import fitted_on, judge
from kitting.errors import KittingError
from kitting.facts.names import natural_key
from kitting.facts.words import OPEN_BOOKINGS, BookingState, NeedRule, ShelfPolicy
from kitting.services.lookup import unknown
from kitting.services.purchasing.market import Buyer
from kitting.services.stock.announced import DUE, DUE_LATE
from kitting.services.stock.lots import STORED, stored
from kitting.services.stock.opened_life import OpenedLife, read_opened_life
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder

_NEAREST = 5  # known numbers that are named where none is near


@dataclass(frozen=True, slots=True)
class ShortBooking:
    """A booking that is bought for; `policy` is the table that judges its rubber."""

    id: int
    number: str
    branch: int
    fit_on: date
    state: BookingState
    made_at: datetime
    policy: ShelfPolicy


@dataclass(frozen=True, slots=True)
class Awaited:
    """An order that bookings wait for: what of it has to be there, thousandths by item."""

    order: str
    supplier: int
    placed_at: datetime
    due: date
    due_late: date
    items: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Shortage:
    """What some bookings of one branch lack: thousandths by item, and which bookings want it.

    `awaited` are the orders that bring the rest.
    """

    branch: Buyer
    bookings: tuple[ShortBooking, ...]
    needs: Mapping[int, int]
    wanted_by: Mapping[int, tuple[str, ...]]
    awaited: tuple[Awaited, ...] = ()

    @property
    def fit_on(self) -> date:
        """The first fitting date among the bookings."""
        return min(booking.fit_on for booking in self.bookings)


_BOOKINGS = (
    select(
        Booking.id,
        Booking.number,
        Booking.branch_id.label("branch"),
        Booking.fit_on,
        Booking.state,
        Booking.made_at,
        func.coalesce(Booking.shelf_policy, Branch.shelf_policy).label("policy"),
    )
    .join(Branch, Booking.branch_id == Branch.id)
    .where(Booking.number.in_(bindparam("numbers", expanding=True)))
)
_KEYS: BindParameter[Any] = bindparam("bookings", expanding=True)
_NEEDS = (
    select(
        BookingNeed.booking_id,
        BookingNeed.item_id,
        BookingNeed.quantity,
        BookingNeed.rule,
        Item.code,
        Item.pack,
        Item.opened_life_days,
    )
    .join(Item, BookingNeed.item_id == Item.id)
    .where(BookingNeed.booking_id.in_(_KEYS))
)
_ORDER = (NeedRule.RENEW, NeedRule.USE, NeedRule.KEEP, NeedRule.INSPECT)
_PROMISED_STOCK = (
    select(
        Promise.id,
        Promise.booking_id,
        Promise.item_id,
        Promise.lot_id,
        (Promise.waiting + Promise.picked).label("quantity"),
        *STORED,
    )
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)
_PROMISED_ARRIVALS = (
    select(
        Promise.id,
        Promise.booking_id,
        Promise.item_id,
        Promise.order_line_id,
        Item.opened_life_days,
        (Promise.waiting + Promise.picked).label("quantity"),
        PurchaseOrder.id.label("order"),
        PurchaseOrder.number,
        PurchaseOrder.supplier_id,
        PurchaseOrder.placed_at,
        DUE,
        DUE_LATE,
    )
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Item, OrderLine.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)
_BRANCH = select(
    Branch.id, Branch.code, Branch.country, Branch.subdivision, Branch.currency
).where(Branch.id == bindparam("branch"))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanting:
    """What some bookings of one branch need and what is promised to them, for any day."""

    branch: Buyer
    bookings: tuple[ShortBooking, ...]
    needs: Mapping[int, Sequence[Need]]  # by booking
    rows: Sequence[Any]
    lots: Sequence[Any]
    arrivals: Sequence[Any]
    opened: OpenedLife

    def lacking_on(self, days: Mapping[int, date]) -> Shortage:
        """What is lacking if each booking is fitted on its day, by key."""
        covers = _covers(self, days)
        short: dict[int, list[tuple[date, int]]] = defaultdict(list)
        wanted: dict[int, list[str]] = defaultdict(list)
        for booking in self.bookings:
            for item, amount in lacking(self.needs[booking.id], covers[booking.id]).items():
                short[item].append((days[booking.id], amount))
                wanted[item].append(booking.number)
        return Shortage(
            branch=self.branch,
            bookings=self.bookings,
            needs=_to_get(short, self.rows),
            wanted_by={item: tuple(names) for item, names in wanted.items()},
            awaited=_awaited(self.needs, covers, self.arrivals),
        )

    def lacking_all_on(self, day: date) -> Shortage:
        """What is lacking if all are fitted on one day."""
        return self.lacking_on({booking.id: day for booking in self.bookings})


def shortage(session: Session, numbers: Sequence[str], today: date | None = None) -> Shortage:
    """What the bookings lack together, in five statements; spares are left out.

    What is promised and on hold, or does not keep until the fitting date (`today` if that is past),
    is lacking.

    Raises UnknownNameError, and KittingError for bookings of two branches or one that is closed.
    """
    wanting = read_wanting(session, numbers)
    return wanting.lacking_on({one.id: fitted_on(one.fit_on, today) for one in wanting.bookings})


def read_wanting(session: Session, numbers: Sequence[str]) -> Wanting:
    """What the bookings need and have promised. Raises as `shortage`."""
    bookings = _bookings(session, numbers)
    if len({booking.branch for booking in bookings}) > 1:
        raise KittingError(
            "these bookings are of two branches; an order goes to one. Buy for each branch"
        )
    for booking in bookings:
        if booking.state not in OPEN_BOOKINGS:
            raise KittingError(f"{booking.number} is {booking.state}; nothing is bought for it")
    which = {"bookings": [booking.id for booking in bookings]}
    needs: dict[int, list[Need]] = defaultdict(list)
    rows = session.execute(_NEEDS, which).all()
    for row in sorted(rows, key=lambda row: (_ORDER.index(row.rule), natural_key(row.code))):
        spare = row.rule is NeedRule.INSPECT
        needs[row.booking_id].append(Need(row.item_id, row.quantity, spare))
    arrivals = session.execute(_PROMISED_ARRIVALS, which).all()
    lots = session.execute(_PROMISED_STOCK, which).all()
    opened = read_opened_life(
        session,
        {row.lot_id for row in lots if row.opened_life_days},
        {row.order_line_id for row in arrivals if row.opened_life_days},
    )
    branch = session.execute(_BRANCH, {"branch": bookings[0].branch}).one()
    return Wanting(Buyer(**branch._asdict()), bookings, needs, rows, lots, arrivals, opened)


def _to_get(
    short: Mapping[int, Sequence[tuple[date, int]]], needs: Iterable[Any]
) -> dict[int, int]:
    """How much has to be got of each item; more where a pack opened for one is late for another."""
    found = {item: sum(amount for _, amount in uses) for item, uses in short.items()}
    for row in needs:
        if row.item_id in short and row.pack and row.opened_life_days:
            packs = packs_needed(short[row.item_id], row.pack, row.opened_life_days)
            if packs > -(-found[row.item_id] // row.pack):
                found[row.item_id] = packs * row.pack
    return found


def _awaited(
    needs: Mapping[int, Sequence[Need]],
    covers: Mapping[int, Sequence[Cover]],
    arrivals: Sequence[Any],
) -> tuple[Awaited, ...]:
    """The orders that bring what has to be there, by number; due when the last of it is."""
    items: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for booking, some in needs.items():
        for order, amounts in awaited(some, covers.get(booking, ())).items():
            for item, amount in amounts.items():
                items[order][item] += amount
    rows: dict[int, list[Any]] = defaultdict(list)
    for row in arrivals:
        if row.item_id in items.get(row.order, ()):
            rows[row.order].append(row)
    return tuple(
        Awaited(
            order=some[0].number,
            supplier=some[0].supplier_id,
            placed_at=some[0].placed_at,
            due=max(row.due for row in some),
            due_late=max(row.due_late for row in some),
            items=dict(items[key]),
        )
        for key, some in sorted(rows.items(), key=lambda pair: natural_key(pair[1][0].number))
    )


def _bookings(session: Session, numbers: Sequence[str]) -> tuple[ShortBooking, ...]:
    """The bookings of some numbers, each once, in the order given."""
    asked = list(dict.fromkeys(number.strip().upper() for number in numbers))
    found = {
        row.number: ShortBooking(**row._asdict())
        for row in session.execute(_BOOKINGS, {"numbers": asked})
    }
    for number in asked:
        if number not in found:
            known = session.scalars(select(Booking.number).order_by(Booking.id)).all()
            if not known:
                raise unknown("booking", number, known, "Make one", [next_step(Action.BOOK)])
            raise unknown("booking", number, known, f"Known: {', '.join(known[-_NEAREST:])}")
    return tuple(found[number] for number in asked)


def _covers(wanting: Wanting, days: Mapping[int, date]) -> dict[int, list[Cover]]:
    """What is promised to each booking, stock before arrivals, and whether it may be fitted."""
    by_id = {booking.id: booking for booking in wanting.bookings}
    covers: dict[int, list[Cover]] = defaultdict(list)
    promised = (*wanting.lots, *wanting.arrivals)
    past_time = wanting.opened.past_time({row.id: days[row.booking_id] for row in promised})
    late = {key: one.quantity for key, one in past_time.items()}
    for row in wanting.lots:
        judged = judge(stored(row), by_id[row.booking_id].policy, days[row.booking_id])
        cover = Cover(row.item_id, row.quantity, fit=judged.may_be_fitted)
        covers[row.booking_id] += _less(cover, late.get(row.id, 0))
    for row in wanting.arrivals:
        cover = Cover(row.item_id, row.quantity, order=row.order)
        covers[row.booking_id] += _less(cover, late.get(row.id, 0))
    return covers


def _less(cover: Cover, late: int) -> tuple[Cover, ...]:
    """A cover, and apart what of it will be past its time."""
    if not late:
        return (cover,)
    rest = replace(cover, quantity=cover.quantity - late)
    return (rest, Cover(cover.item, late, fit=False))
