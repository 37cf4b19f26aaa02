"""The steps that changes of a kit are made of: out of the kit, into it, what is free for it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.stock.allocation import Take, allocate
from kitting.calc.stock.storage import fitted_on, judge
from kitting.errors import KittingError
from kitting.facts.units import format_quantity
from kitting.facts.words import KitEventKind, ShelfPolicy
from kitting.services.bookings.kit_events import Happened, Moment, Told, write_events
from kitting.services.bookings.kit_pieces import (
    Piece,
    as_happened,
    change_view,
    chosen,
    in_kit,
    left_in_kit,
)
from kitting.services.bookings.reservations import free_shelves
from kitting.services.bookings.set_aside import fitting_day
from kitting.services.bookings.states import BookingFacts
from kitting.services.db.idempotency import record
from kitting.services.stock.kit_ledger import put_back, take
from kitting.services.stock.ledger import Claim, set_all_aside
from kitting.services.stock.lots import POLICY, STORED, stored
from kitting.services.stock.opened_packs import Taken, keep_opened, open_packs
from kitting.tables.bookings import Booking, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot
from kitting.tables.supply import Branch
from kitting.views.kit_life import KitChangeView

_PROMISE_OF_LOT = select(Promise.id, Promise.lot_id).where(
    Promise.booking_id == bindparam("booking"),
    Promise.lot_id.in_(bindparam("lots", expanding=True)),
)
_LOTS = (
    select(Lot.id, Lot.code, *STORED)
    .join(Item, Lot.item_id == Item.id)
    .where(Lot.id.in_(bindparam("lots", expanding=True)))
)
_BY_CODE = select(Lot.id).where(
    Lot.branch_id == bindparam("branch"),
    Lot.item_id == bindparam("item"),
    Lot.code == bindparam("code"),
)
_OF_CUSTOMERS = (
    select(Lot.code, Booking.number)
    .join(CustomerLot, CustomerLot.lot_id == Lot.id)
    .join(Booking, CustomerLot.booking_id == Booking.id)
    .where(Lot.id.in_(bindparam("lots", expanding=True)))
)
_POLICY_OF = (
    select(POLICY)
    .select_from(Booking)
    .join(Branch, Booking.branch_id == Branch.id)
    .where(Booking.id == bindparam("booking"))
)
_NEEDED = select(BookingNeed.quantity).where(
    BookingNeed.booking_id == bindparam("booking"), BookingNeed.item_id == bindparam("item")
)
_BRANCHES = select(Branch.id, Branch.code)


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the kit of a booking: of which item, why, and when."""

    session: Session
    booking: BookingFacts
    item: Item
    told: Told
    when: Moment


def finished(
    change: Change, happened: Sequence[Happened], taken_back: Sequence[str], request: str
) -> KitChangeView:
    """Record a change, unless it is only to be looked at, and tell what it came to."""
    session, booking, when = change.session, change.booking, change.when
    view = change_view(session, booking, change.item, happened, taken_back, when.today)
    if not when.keep:
        return replace(view, kept=False)
    record(session, when.token, request, booking.branch_id, when.at)
    session.commit()
    return view


def out_of_kit(
    change: Change,
    piece: Piece,
    kind: KitEventKind = KitEventKind.RETURNED,
    note: str | None = None,
) -> tuple[list[Happened], dict[int, int]]:
    """Take pieces out of a kit, back to their lots, and write that down.

    Returns what happened, and how much lies in which lot now: what was opened in one of its own.
    """
    session, booking, item, at = change.session, change.booking, change.item, change.when.at
    there = in_kit(session, booking.id, item.id)
    parts = chosen(booking, item, piece, there)
    put_back(session, {one.promise: one.amount for one in parts}, at, note or change.told.note)
    now = {one.lot: one.amount for one in parts}
    opened = keep_opened(session, booking.id, now, at)
    for lot, (into, amount) in opened.items():
        now[lot] -= amount
        now[into] = now.get(into, 0) + amount
    happened = as_happened(kind, item.id, parts, left_in_kit(there, parts))
    write_events(session, booking, happened, change.told, at)
    if kind is KitEventKind.RETURNED:
        happened = [replace(one, into=_put_into(one, opened)) for one in happened]
    return happened, {lot: amount for lot, amount in now.items() if amount}


def _put_into(one: Happened, opened: Mapping[int, tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """The lots that pieces of a lot were put into: what was opened into one of its own."""
    if one.lot is None or one.lot not in opened:
        return ()
    into, amount = opened[one.lot]
    parts = ((into, amount), (one.lot, one.quantity - amount))
    return tuple(part for part in parts if part[1])


def free_for(
    change: Change, wanted: int, only: int | None = None, barred: Collection[int] = ()
) -> tuple[tuple[Take, ...], int]:
    """From which lots so much can be taken today, first expired first out; and what is missing.

    `only` is the one lot that it may be taken of, if it is named; `barred` those it may not be.
    """
    session, booking, item = change.session, change.booking, change.item
    day = fitted_on(fitting_day(session, booking), change.when.today)
    there = [
        lot
        for lot in free_shelves(session, booking.id, day, [item.id]).of(item.id)
        if lot.key not in barred and only in (None, lot.key)
    ]
    return allocate(there, wanted, day)


def into_kit(
    change: Change, takes: Sequence[Take], note: str | None = None, *, opening: bool = True
) -> list[Happened]:
    """Take stock of lots into a kit, `opening` packs as need be; returns what came."""
    if not takes:
        return []
    session, booking, item, at = change.session, change.booking, change.item, change.when.at
    claims = [Claim(item.id, one.quantity, lot=one.lot) for one in takes]
    set_all_aside(session, booking.id, claims)
    keys = {"booking": booking.id, "lots": [one.lot for one in takes]}
    promises = {row.lot_id: row.id for row in session.execute(_PROMISE_OF_LOT, keys)}
    parts = {promises[one.lot]: one.quantity for one in takes}
    take(session, parts, at, note or change.told.note)
    if opening:
        opened = {row.id for row in session.execute(_LOTS, keys) if row.opened_on is not None}
        packs = [
            Taken(one.lot, one.quantity, item.pack, item.opened_life_days, one.lot in opened)
            for one in takes
        ]
        open_packs(session, packs, at)
    there = {one.lot: one.amount for one in in_kit(session, booking.id, item.id)}
    return [
        Happened(KitEventKind.DRAWN, item.id, one.lot, one.quantity, there[one.lot])
        for one in takes
    ]


def lot_of(change: Change, code: str) -> int:
    """The lot of a code in the branch of a booking; raises KittingError."""
    keys = {"branch": change.booking.branch_id, "item": change.item.id, "code": code.strip()}
    found = change.session.scalars(_BY_CODE, keys).first()
    if found is None:
        raise KittingError(
            "there is no lot {code} of {item_code} in this branch",
            code=code.strip(),
            item_code=change.item.code,
            then=[next_step(Action.LIST_STOCK)],
        )
    return found


def none_free(change: Change, missing: int, lot: str | None = None) -> KittingError:
    """That so much more is wanted for a kit than is free and fit to use."""
    where = f"in lot {lot}" if lot else "on the shelf"
    return KittingError(
        "{quantity} {code} more than is free {where} and fit to use for {number}. Nothing was"
        " changed",
        quantity=format_quantity(missing, change.item.unit),
        code=change.item.code,
        where=where,
        number=change.booking.number,
        then=[next_step(Action.LIST_STOCK)],
    )


def require_neighbours(
    session: Session, giver: BookingFacts, taker: BookingFacts, item: str
) -> None:
    """Raise KittingError for bookings between which no kit lends: one, or of two branches."""
    if giver.id == taker.id:
        raise KittingError("{number} cannot lend to itself. Name two bookings", number=giver.number)
    if giver.branch_id != taker.branch_id:
        codes: Mapping[int, str] = dict(session.execute(_BRANCHES).all())
        raise KittingError(
            "{number} is of {branch}, {taker_number} of {taker_branch}: what lies there is not"
            " here. Put it back, then send it",
            number=giver.number,
            branch=codes[giver.branch_id],
            taker_number=taker.number,
            taker_branch=codes[taker.branch_id],
            then=[next_step(Action.SEND_STOCK, item=item)],
        )


def require_lack(change: Change, piece: Piece) -> None:
    """Raise KittingError where the kit that borrows would have more than it needs."""
    session, taker, item = change.session, change.booking, change.item
    needed = sum(session.scalars(_NEEDED, {"booking": taker.id, "item": item.id}))
    has = sum(one.amount for one in in_kit(session, taker.id, item.id))
    lacking = max(0, needed - has)
    if piece.quantity.thousandths > lacking:
        raise KittingError(
            f"the kit of {taker.number} lacks {format_quantity(lacking, item.unit)} {item.code},"
            f" not {format_quantity(piece.quantity.thousandths, item.unit)}. Lend no more",
            then=[next_step(Action.SHOW_KIT, booking=taker.number)],
        )


def require_keeps(change: Change, lots: Mapping[int, int]) -> None:
    """Raise KittingError for what may not go into the borrower's car, or not on its day."""
    session, taker = change.session, change.booking
    policy: ShelfPolicy = session.execute(_POLICY_OF, {"booking": taker.id}).scalar_one()
    day = fitted_on(fitting_day(session, taker), change.when.today)
    row: Any
    for row in session.execute(_OF_CUSTOMERS, {"lots": sorted(lots)}):
        raise KittingError(
            "lot {code} was brought by the customer of {number} and goes into that car alone."
            " Nothing was lent; name another lot",
            code=row.code,
            number=row.number,
            then=[next_step(Action.SHOW_KIT, booking=row.number)],
        )
    for row in session.execute(_LOTS, {"lots": sorted(lots)}):
        found = judge(stored(row), policy, day)
        if not found.may_be_fitted:
            why = f"is on hold: {row.held}" if row.held else f"keeps to {found.shelf.limit} only"
            raise KittingError(
                "lot {code} {why}; {number} is fitted on {day}. Nothing was lent",
                code=row.code,
                why=why,
                number=taker.number,
                day=day,
                then=[next_step(Action.LIST_STOCK)],
            )
