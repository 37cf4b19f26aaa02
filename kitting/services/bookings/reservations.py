"""Reservations: promising a booking what is free, and giving up what may not be fitted."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import allocate, proven
from kitting.calc.stock.storage import fitted_on, judge
from kitting.facts.words import ShelfPolicy
from kitting.services.bookings.coverage import coverage
from kitting.services.bookings.free_shelves import free_for, opened_of
from kitting.services.bookings.set_aside import FIT_ON
from kitting.services.bookings.states import BookingFacts
from kitting.services.stock.announced import DUE
from kitting.services.stock.ledger import Claim, TakenError, let_all_go, set_all_aside
from kitting.services.stock.lots import POLICY, STORED, Shelves, read_shelves, stored
from kitting.services.stock.opened_life import read_opened_life
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder

_TRIES = 5
_NEEDED = (
    select(BookingNeed.item_id, func.sum(BookingNeed.quantity))
    .where(BookingNeed.booking_id == bindparam("booking"))
    .group_by(BookingNeed.item_id)
)
_BOOKING = select(
    Booking.id, Booking.number, Booking.branch_id, FIT_ON, Booking.shelf_policy
).where(Booking.id == bindparam("booking"))
_POLICY = (
    select(POLICY)
    .select_from(Booking)
    .join(Branch, Booking.branch_id == Branch.id)
    .where(Booking.id == bindparam("booking"))
)
_WAITING = (
    select(
        Promise.id, Promise.booking_id, Promise.item_id, Promise.lot_id, Promise.order_line_id,
        Promise.waiting, POLICY, *STORED,
    )
    .join(Booking, Promise.booking_id == Booking.id)
    .join(Branch, Booking.branch_id == Branch.id)
    .join(Item, Promise.item_id == Item.id)
    .outerjoin(Lot, Promise.lot_id == Lot.id)
    .where(Promise.booking_id == bindparam("booking"), Promise.waiting > 0)
    .order_by(Promise.id)
)  # fmt: skip


_DUE_AFTER = (
    select(Promise.id, Promise.waiting)
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .where(
        Promise.booking_id == bindparam("booking"),
        Promise.waiting > 0,
        bindparam("day") < DUE,
    )
    .order_by(Promise.id)
)
_OF_ORDERS = (
    select(Promise.id, Promise.waiting)
    .join(OrderLine, Promise.order_line_id == OrderLine.id)
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .where(
        Promise.booking_id == bindparam("booking"),
        Promise.waiting > 0,
        PurchaseOrder.number.in_(bindparam("orders", expanding=True)),
        Promise.item_id.in_(bindparam("items", expanding=True)),
    )
    .order_by(Promise.id)
)


def promise_free(
    session: Session,
    booking_id: int,
    bought: Collection[int] = (),
    today: date | None = None,
    only: Collection[int] | None = None,
) -> None:
    """Promise a booking what it lacks and nobody else has: shelves first, then arrivals.

    Of all its items, or of those in `only`.

    First expired, first out, of what still keeps on the fitting date (`today` if that is past).
    Spares for inspections are promised too, after everything that never goes back. Arrivals count
    that come by that day even if they are late; those of the order lines in `bought` count whenever
    they come, else what was bought for a booking would be bought again. Somebody may be quicker:
    then the shelves are read again, and what is left is what can be had.
    """
    booking = session.execute(_BOOKING, {"booking": booking_id}).one()
    on = fitted_on(booking.fit_on, today)
    for _ in range(_TRIES):
        lacking = {
            item: need
            for item, need in lacks(session, booking_id).items()
            if need > 0 and (only is None or item in only)
        }
        if not lacking:
            return
        shelves = shelves_for(session, booking, on, list(lacking))
        claims = claims_for(shelves, lacking, on, bought)
        try:
            with session.begin_nested():
                set_all_aside(session, booking_id, claims)
        except TakenError:
            continue
        return
    raise TakenError(
        "{number}: others are promising the same stock just now. Try again", number=booking.number
    )


def promise_here(session: Session, booking_id: int, item: int, today: date) -> None:
    """Promise a booking what lies free of an item in place of what it waits for with an order.

    Only what is certain to keep until its day. The order is free for others as far.
    """
    booking = session.execute(_BOOKING, {"booking": booking_id}).one()
    on = fitted_on(booking.fit_on, today)
    rows = session.execute(_WAITING, {"booking": booking_id}).all()
    waiting = [row for row in rows if row.item_id == item and row.order_line_id is not None]
    if not waiting:
        return
    lots = [lot for lot in shelves_for(session, booking, on, [item]).of(item) if proven(lot, on)]
    takes, missing = allocate(lots, sum(row.waiting for row in waiting), on)
    given = sum(row.waiting for row in waiting) - missing
    parts = []
    for row in reversed(waiting):
        some = min(row.waiting, given)
        given -= some
        if some:
            parts.append((row.id, some))
    let_all_go(session, parts)
    set_all_aside(session, booking_id, [Claim(item, one.quantity, lot=one.lot) for one in takes])


def free_shelves(session: Session, booking_id: int, on: date, items: Sequence[int]) -> Shelves:
    """What of some items is on the shelves and on its way for a booking, fitted on a day.

    Less what other bookings will have opened too long before.
    """
    booking = session.execute(_BOOKING, {"booking": booking_id}).one()
    return shelves_for(session, booking, on, items)


def shelves_for(session: Session, booking: Any, on: date, items: Sequence[int]) -> Shelves:
    """What is on the shelves and on its way, as far as it is free for a day.

    `booking` is a row or the facts of one: its key, branch and own policy.
    """
    found = read_shelves(session, booking.branch_id, items, booking.shelf_policy, booking.id)
    return free_for(found, opened_of(session, [found]), on)


@dataclass(frozen=True, slots=True)
class Wanted:
    """So much of an item (thousandths)."""

    item: int
    quantity: int


def claims_of(
    shelves: Shelves, wanted: Wanted, fit_on: date, bought: Collection[int]
) -> Iterator[Claim]:
    """From which lots and arrivals an item is taken."""
    takes, missing = allocate(shelves.of(wanted.item), wanted.quantity, fit_on)
    for one in takes:
        yield Claim(wanted.item, one.quantity, lot=one.lot)
    for arrival in shelves.coming(wanted.item):
        free = min(missing, arrival.quantity - arrival.promised)
        if free > 0 and (arrival.due <= fit_on or arrival.key in bought):
            yield Claim(wanted.item, free, order_line=arrival.key)
            missing -= free


def claims_for(
    shelves: Shelves, lacking: Mapping[int, int], fit_on: date, bought: Collection[int] = ()
) -> list[Claim]:
    """From which lots and arrivals all that is lacking is taken (thousandths by item)."""
    return [
        claim
        for item, amount in sorted(lacking.items())
        for claim in claims_of(shelves, Wanted(item, amount), fit_on, bought)
    ]


def lacks(session: Session, booking_id: int) -> dict[int, int]:
    """What nothing covers yet, by item; below 0 where more is promised than needed."""
    covered = coverage(session, booking_id)
    return {
        item: int(amount) - covered.get(item, 0)
        for item, amount in session.execute(_NEEDED, {"booking": booking_id})
    }


def give_up_orders(
    session: Session, booking_id: int, orders: Collection[str], items: Collection[int]
) -> None:
    """Let go of what of some items waits for a booking and comes with some orders, by number."""
    if orders and items:
        numbers = {"booking": booking_id, "orders": list(orders), "items": list(items)}
        rows = session.execute(_OF_ORDERS, numbers)
        let_all_go(session, [(key, waiting) for key, waiting in rows])


def give_up_late(session: Session, booking_id: int, day: date) -> None:
    """Let go of what waits for a booking and usually comes only after a day."""
    rows = session.execute(_DUE_AFTER, {"booking": booking_id, "day": day})
    let_all_go(session, [(key, waiting) for key, waiting in rows])


def beyond_need(session: Session, booking_id: int) -> dict[int, int]:
    """How much more is promised to a booking, or in its kit, than it needs, by item; below 0: less.

    In thousandths.
    """
    needed = dict(session.execute(_NEEDED, {"booking": booking_id}).all())
    covered = coverage(session, booking_id)
    return {item: amount - int(needed.get(item, 0)) for item, amount in covered.items()}


def give_up_unneeded(session: Session, booking_id: int) -> None:
    """Let go of what waits for a booking and is more than it needs, the last promised first."""
    over = beyond_need(session, booking_id)
    if all(amount <= 0 for amount in over.values()):
        return
    parts: list[tuple[int, int]] = []
    for row in reversed(session.execute(_WAITING, {"booking": booking_id}).all()):
        some = min(row.waiting, over.get(row.item_id, 0))
        if some > 0:
            parts.append((row.id, some))
            over[row.item_id] -= some
    let_all_go(session, parts)


def give_up_unfit(session: Session, booking_id: int, today: date | None = None) -> None:
    """Let go of what waits for a booking and is on hold or does not keep until its date (or today).

    What another booking will have opened too long before goes too.
    """
    booking = session.execute(_BOOKING, {"booking": booking_id}).one()
    on = fitted_on(booking.fit_on, today)
    waiting = session.execute(_WAITING, {"booking": booking_id}).all()
    unfit = {row.id: row.waiting for row in waiting if not _keeps(row, row.policy, on)}
    opened = [row for row in waiting if row.opened_life_days]
    past_time = read_opened_life(
        session,
        {row.lot_id for row in opened if row.lot_id is not None},
        {row.order_line_id for row in opened if row.order_line_id is not None},
    ).past_time({row.id: on for row in opened})
    late = {row.id: past_time[row.id].quantity for row in opened if row.id in past_time}
    let_all_go(session, list((late | unfit).items()))


def _keeps(row: Any, policy: ShelfPolicy, fit_on: date) -> bool:
    """Whether a promise may be fitted on a day; what is still to come is judged when it comes."""
    return row.lot_id is None or judge(stored(row), policy, fit_on).may_be_fitted


def move_promises(session: Session, taker: BookingFacts, giver: BookingFacts, item: int) -> int:
    """Move what waits of an item from one booking to another; returns how much (thousandths).

    Only as much as the taker lacks, and only what keeps until its date by its own policy.
    """
    lacking = lacks(session, taker.id).get(item, 0)
    policy = session.execute(_POLICY, {"booking": taker.id}).scalar_one()
    parts: list[tuple[Any, int]] = []
    theirs = set(
        session.scalars(select(CustomerLot.lot_id).where(CustomerLot.booking_id == giver.id))
    )
    for row in session.execute(_WAITING, {"booking": giver.id}).all():
        some = 0 if row.lot_id in theirs else min(row.waiting, lacking)
        if row.item_id == item and some > 0 and _keeps(row, policy, taker.fit_on):
            parts.append((row, some))
            lacking -= some
    let_all_go(session, [(row.id, some) for row, some in parts])
    set_all_aside(
        session,
        taker.id,
        [Claim(item, some, row.lot_id, row.order_line_id) for row, some in parts],
    )
    return sum(some for _, some in parts)
