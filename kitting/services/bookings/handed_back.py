"""What a customer brought and was not fitted is theirs: it lies apart until it is handed back."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, Engine, bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import OPEN_BOOKINGS, MovementKind, StockUnit
from kitting.services.bookings.kit_pieces import take_confirmation_back
from kitting.services.bookings.reservations import promise_free
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import Move, let_all_go, post_all
from kitting.services.stock.lots import find_item
from kitting.services.stock.shelves import require_something
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, Promise
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import CustomerLot, Lot
from kitting.views.bookings import BookingView, TheirsView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_HERE = (
    select(
        CustomerLot.booking_id, Lot.id, Lot.item_id, Lot.code.label("lot"), Lot.bin, Lot.on_hand,
        Lot.promised, Lot.received_on, Item.code.label("item"), ITEM_NAME, Item.unit,
    )
    .join(Lot, CustomerLot.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(CustomerLot.booking_id.in_(_KEYS), Lot.on_hand > 0)
    .order_by(Item.code, Lot.code)
)  # fmt: skip
_WAITING = (
    select(Promise.id, Promise.lot_id, Promise.waiting)
    .where(Promise.lot_id.in_(_KEYS), Promise.waiting > 0)
    .order_by(Promise.id.desc())
)
_IN_KIT = (
    select(Item.code, Item.unit, IN_KIT.label("amount"))
    .join(Promise, Promise.item_id == Item.id)
    .join(CustomerLot, CustomerLot.lot_id == Promise.lot_id)
    .where(CustomerLot.booking_id == Promise.booking_id, Promise.booking_id.in_(_KEYS), IN_KIT > 0)
    .order_by(Item.code)
)


@dataclass(frozen=True, slots=True)
class HandBack:
    """What the customer gets: an item or everything (None), so much of it or all that lies here."""

    item: str | None = None
    quantity: Quantity | None = None
    why: str | None = None
    told_by: str | None = None


def theirs_of(session: Session, bookings: Collection[int]) -> dict[int, tuple[TheirsView, ...]]:
    """What lies on the shelves of what the customers of bookings brought, by booking."""
    found: dict[int, tuple[TheirsView, ...]] = {}
    for row in session.execute(_HERE, {"keys": list(bookings)}):
        view = TheirsView(
            item=row.item, name=row.name, unit=row.unit, lot=row.lot, bin=row.bin,
            quantity=row.on_hand, brought_on=row.received_on,
        )  # fmt: skip
        found[row.booking_id] = (*found.get(row.booking_id, ()), view)
    return found


def with_theirs(session: Session, booking: BookingFacts, view: BookingView) -> BookingView:
    """A booking with what lies on the shelf of what its customer brought."""
    return replace(view, theirs=theirs_of(session, [booking.id]).get(booking.id, ()))


def hand_back(
    engine: Engine, number: str, asked: HandBack, at: datetime, token: str | None = None
) -> BookingView:
    """Hand a customer's own parts back that lie on the shelf, whatever state their booking is in.

    A booking that is still open gives up what it was promised of them, and is promised what is free
    of ours; confirmed and not ready any more, it is provisional again. Raises KittingError where
    none of it lies on the shelf, and for more than that: what is in the kit is put back first.
    """
    if asked.quantity is not None and asked.item is None:
        raise KittingError("say which item so much of is handed back")
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"hand back {booking.number} {asked.item} {asked.quantity}"
        if earlier(session, token, request) is not None:
            return with_theirs(session, booking, booking_view(session, booking, at.date()))
        before = booking_view(session, booking, at.date())
        takes = _takes(session, booking, asked)
        _let_go(session, takes)
        why = f": {asked.why.strip()}" if asked.why and asked.why.strip() else ""
        by = f" (by {asked.told_by})" if asked.told_by else ""
        note = f"handed back to the customer of {booking.number}{why}{by}"
        kind = MovementKind.RECEIVED
        post_all(session, [Move(one.row.id, kind, -one.amount, note=note) for one in takes], at)
        if booking.state in OPEN_BOOKINGS:
            items = {one.row.item_id for one in takes}
            promise_free(session, booking.id, today=at.date(), only=items)
            take_confirmation_back(session, before, booking, at.date())
        record(session, token, request, booking.branch_id, at)
        view = with_theirs(session, booking, booking_view(session, booking, at.date()))
        session.commit()
        return view


@dataclass(frozen=True, slots=True)
class _Take:
    row: Any
    amount: int


def _takes(session: Session, booking: BookingFacts, asked: HandBack) -> list[_Take]:
    """How much of which lot goes; raises KittingError where that is not on the shelf."""
    item = None if asked.item is None else find_item(session, asked.item)
    if item is not None and asked.quantity is not None:
        require_something(asked.quantity, item)
    rows = [
        row
        for row in session.execute(_HERE, {"keys": [booking.id]})
        if item is None or row.item_id == item.id
    ]
    wanted = None if asked.quantity is None else asked.quantity.thousandths
    here = sum(row.on_hand for row in rows)
    if not rows or (wanted is not None and wanted > here):
        raise _not_here(session, booking, item, here)
    takes = []
    for row in rows:
        amount = row.on_hand if wanted is None else min(wanted, row.on_hand)
        if amount:
            takes.append(_Take(row, amount))
            wanted = None if wanted is None else wanted - amount
    return takes


def _not_here(
    session: Session, booking: BookingFacts, item: Item | None, here: int
) -> KittingError:
    """That no such part, or not so much of it, lies on the shelf; and where the rest may be."""
    what = "a part" if item is None else item.code
    much = "none" if item is None or not here else format_quantity(here, item.unit)
    text = f"of what the customer of {booking.number} brought, {much} of {what} is on the shelf"
    if item is None:
        text = f"nothing that the customer of {booking.number} brought is on the shelf"
    in_kit = session.execute(_IN_KIT, {"keys": [booking.id]}).all()
    still = [row for row in in_kit if item is None or row.code == item.code]
    if booking.state not in OPEN_BOOKINGS or not still:
        return KittingError(text)
    amounts = [(row.code, format_quantity(row.amount, row.unit)) for row in still]
    there = ", ".join(f"{amount} of {code}" for code, amount in amounts)
    pieces = [
        f'"{code}={amount} {row.unit}"' if row.unit == StockUnit.EACH else f'"{code}={amount}"'
        for row, (code, amount) in zip(still, amounts, strict=True)
    ]
    steps = [next_step(Action.PUT_BACK, booking=booking.number, pieces=one) for one in pieces]
    return KittingError("{text}; in its kit: {there}", text=text, there=there, then=steps)


def _let_go(session: Session, takes: Sequence[_Take]) -> None:
    """Give up the promises that their lots cannot keep any more."""
    over = {one.row.id: one.row.promised - (one.row.on_hand - one.amount) for one in takes}
    parts = []
    for promise in session.execute(_WAITING, {"keys": list(over)}):
        some = min(promise.waiting, over[promise.lot_id])
        if some > 0:
            parts.append((promise.id, some))
            over[promise.lot_id] -= some
    let_all_go(session, parts)
