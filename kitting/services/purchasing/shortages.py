"""Shortages: what some bookings of one branch lack together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.packs_to_get import Pack, to_get
from kitting.calc.purchasing.shortage import Cover, Need, awaited, lacking, with_free
from kitting.calc.stock.storage import fitted_on, judge
from kitting.errors import KittingError
from kitting.facts.names import natural_key
from kitting.facts.words import OPEN_BOOKINGS, NeedRule
from kitting.services.bookings.set_aside import FIT_ON
from kitting.services.bookings.states import booking_number
from kitting.services.purchasing.market import Buyer
from kitting.services.purchasing.short_facts import Awaited, Shortage, ShortBooking, Taken
from kitting.services.stock.announced import DUE, DUE_LATE
from kitting.services.stock.lots import STORED, stored
from kitting.services.stock.opened_life import OpenedLife, read_opened_life
from kitting.tables.bookings import (
    IN_KIT,
    SPARES_OF_NEED,
    TAKEN_SPARES,
    Booking,
    BookingNeed,
    BookingSpare,
    Promise,
)
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder

_BOOKINGS = (
    select(
        Booking.id,
        Booking.number,
        Booking.branch_id.label("branch"),
        FIT_ON,
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
        TAKEN_SPARES.label("taken"),
        Item.code,
        Item.pack,
        Item.opened_life_days,
    )
    .join(Item, BookingNeed.item_id == Item.id)
    .join(Booking, BookingNeed.booking_id == Booking.id)
    .outerjoin(BookingSpare, SPARES_OF_NEED)
    .where(BookingNeed.booking_id.in_(_KEYS))
)
_ORDER = (NeedRule.RENEW, NeedRule.USE, NeedRule.KEEP, NeedRule.INSPECT)
_PROMISED_STOCK = (
    select(
        Promise.id,
        Promise.booking_id,
        Promise.item_id,
        Promise.lot_id,
        (Promise.waiting + IN_KIT).label("quantity"),
        *STORED,
    )
    .join(Lot, Promise.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)
_PROMISED_ARRIVALS = (
    select(
        Promise.id, Promise.booking_id, Promise.item_id, Promise.order_line_id,
        Item.opened_life_days, (Promise.waiting + IN_KIT).label("quantity"),
        PurchaseOrder.id.label("order"), PurchaseOrder.number, PurchaseOrder.supplier_id,
        PurchaseOrder.placed_at, DUE, DUE_LATE,
    )
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .join(Item, OrderLine.item_id == Item.id)
    .where(Promise.booking_id.in_(_KEYS))
    .order_by(Promise.id)
)  # fmt: skip
_BRANCH = select(
    Branch.id, Branch.code, Branch.country, Branch.subdivision, Branch.currency, Branch.zone
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

    def lacking_on(self, days: Mapping[int, date], free: Free | None = None) -> Shortage:
        """What is lacking if each booking is fitted on its day, by key; what is `free` covers it.

        What is free is taken by the earliest day first, and covers spares as well as needs.
        """
        covers = covers_on(self, days)
        taken = Taken() if free is None else free(self, days, covers)
        short: dict[int, list[tuple[date, int]]] = defaultdict(list)
        wanted: dict[int, list[str]] = defaultdict(list)
        for booking in self.bookings:
            covers[booking.id] = with_free(covers[booking.id], taken.covers.get(booking.id, []))
            for item, amount in lacking(self.needs[booking.id], covers[booking.id]).items():
                short[item].append((days[booking.id], amount))
                wanted[item].append(booking.number)
        packs = {
            row.item_id: Pack(row.pack, row.opened_life_days)
            for row in self.rows
            if row.pack and row.opened_life_days
        }
        own = {one.id: days[one.id] for one in self.bookings}
        ordered = tuple(sorted(set(own.values())))
        return Shortage(
            branch=self.branch,
            bookings=self.bookings,
            days=ordered,
            day_of=own,
            lacks=to_get(short, packs, ordered),
            wanted_by={item: tuple(names) for item, names in wanted.items()},
            awaited=_awaited(self, covers, [*self.arrivals, *taken.heads], own),
            vans=taken.vans,
            unproven=taken.unproven,
            again=None if free is None else partial(self.lacking_all_on, free=free),
        )

    def lacking_all_on(self, day: date, free: Free | None = None) -> Shortage:
        """What is lacking if all are fitted on one day."""
        return self.lacking_on({booking.id: day for booking in self.bookings}, free)


Free = Callable[[Wanting, Mapping[int, date], Mapping[int, Sequence[Cover]]], Taken]


def shortage(session: Session, numbers: Sequence[str], today: date | None = None) -> Shortage:
    """What the bookings lack together, in five statements; of spares only those that were taken.

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
            raise KittingError(
                "{number} is {state}; nothing is bought for it",
                number=booking.number,
                state=booking.state,
            )
    which = {"bookings": [booking.id for booking in bookings]}
    needs: dict[int, list[Need]] = {}
    rows = session.execute(_NEEDS, which).all()
    for booking in bookings:
        needs[booking.id] = in_order(row for row in rows if row.booking_id == booking.id)
    arrivals = session.execute(_PROMISED_ARRIVALS, which).all()
    lots = session.execute(_PROMISED_STOCK, which).all()
    opened = read_opened_life(
        session,
        {row.lot_id for row in lots if row.opened_life_days},
        {row.order_line_id for row in arrivals if row.opened_life_days},
    )
    branch = session.execute(_BRANCH, {"branch": bookings[0].branch}).one()
    return Wanting(Buyer(**branch._asdict()), bookings, needs, rows, lots, arrivals, opened)


def in_order(rows: Iterable[Any]) -> list[Need]:
    """What is needed, of rows with item, rule, amount and the spares of it that were taken.

    What never goes back comes before spares; a spare that was taken is bought like a part.
    """
    found = []
    for row in sorted(rows, key=lambda row: (_ORDER.index(row.rule), natural_key(row.code))):
        if row.taken:
            found.append(Need(row.item_id, row.taken))
        if row.quantity > row.taken:
            spare = row.rule is NeedRule.INSPECT
            found.append(Need(row.item_id, row.quantity - row.taken, spare))
    return found


def _awaited(
    wanting: Wanting,
    covers: Mapping[int, Sequence[Cover]],
    arrivals: Sequence[Any],
    days: Mapping[int, date],
) -> tuple[Awaited, ...]:
    """What orders bring of what has to be there, by number and day."""
    ordered = sorted(set(days.values()))
    items: dict[Hashable, tuple[dict[int, int], ...]] = {}
    for booking, some in wanting.needs.items():
        place = ordered.index(days[booking])
        for order, amounts in awaited(some, covers.get(booking, ())).items():
            of_day = items.setdefault(order, tuple({} for _ in ordered))[place]
            for item, amount in amounts.items():
                of_day[item] = of_day.get(item, 0) + amount
    rows = {delivery_of(row): row for row in arrivals if delivery_of(row) in items}
    return tuple(
        Awaited(row.number, row.supplier_id, row.placed_at, row.due, row.due_late, items[key])
        for key, row in sorted(
            rows.items(), key=lambda pair: (natural_key(pair[1].number), pair[0])
        )
    )


def delivery_of(row: Any) -> tuple[int, date, date]:
    """What comes together: of one order, what is due on the same days."""
    return row.order, row.due, row.due_late


def _bookings(session: Session, numbers: Sequence[str]) -> tuple[ShortBooking, ...]:
    """The bookings of some numbers (or their last digits), each once, in the order given."""
    asked = list(dict.fromkeys(number.strip().upper() for number in numbers))
    found = _numbered(session, asked)
    if any(number not in found for number in asked):
        whole = [number if number in found else booking_number(session, number) for number in asked]
        asked = list(dict.fromkeys(whole))
        found = _numbered(session, asked)
    return tuple(found[number] for number in asked)


def _numbered(session: Session, numbers: Sequence[str]) -> dict[str, ShortBooking]:
    rows = session.execute(_BOOKINGS, {"numbers": list(numbers)})
    return {row.number: ShortBooking(**row._asdict()) for row in rows}


def covers_on(wanting: Wanting, days: Mapping[int, date]) -> dict[int, list[Cover]]:
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
        cover = Cover(row.item_id, row.quantity, order=delivery_of(row))
        covers[row.booking_id] += _less(cover, late.get(row.id, 0))
    return covers


def _less(cover: Cover, late: int) -> tuple[Cover, ...]:
    """A cover, and apart what of it will be past its time."""
    if not late:
        return (cover,)
    rest = replace(cover, quantity=cover.quantity - late)
    return (rest, Cover(cover.item, late, fit=False))
