"""A customer's own part: received for one booking, for no other, shown as theirs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from itertools import count

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import MovementKind
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.bookings.view import booking_view
from kitting.services.db.idempotency import earlier, record
from kitting.services.stock.ledger import Move, let_all_go, post, set_aside
from kitting.services.stock.lots import find_item
from kitting.services.stock.natures import numbered
from kitting.services.stock.shelves import require_something
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, BookingNeed, Promise
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot
from kitting.views.bookings import BookingView


@dataclass(frozen=True, slots=True)
class CustomerPart:
    """What a customer brought: which item it is by what is `shown` on it, and its dates."""

    item: str
    quantity: Quantity
    shown: str
    made: date | None = None
    expires: date | None = None
    bin: str | None = None


def bring_part(
    engine: Engine, number: str, part: CustomerPart, at: datetime, token: str | None = None
) -> BookingView:
    """Take in a customer's own part for their booking: a lot of its own, promised to it at once.

    It is judged as the item that it is shown to be, at the dates that are stated; without dates the
    age of what ages cannot be proven. What was promised of ours in its place is free again. Raises
    KittingError where the booking does not need it, and where nothing on it shows what it is.
    """
    if not part.shown.strip():
        raise KittingError(
            "say what on it shows which part it is, such as the number on the packet. Else what it"
            " is cannot be proven, and it goes into no car"
        )
    if part.made is not None and part.made > at.date():
        raise KittingError(
            "{item}: made on {made}? That is still to come", item=part.item, made=part.made
        )
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"customer's part {booking.number} {part}"
        if earlier(session, token, request) is not None:
            return booking_view(session, booking, at.date())
        require_open(booking)
        item = find_item(session, part.item)
        require_something(part.quantity, item)
        needed = _needed(session, booking, item)
        lot = Lot(
            branch_id=booking.branch_id, item_id=item.id, code=_code(session, booking, item),
            bin=part.bin, made_on=part.made, expires_on=part.expires, received_on=at.date(),
            on_hand=0, promised=0,
        )  # fmt: skip
        session.add(lot)
        session.flush()
        session.add(CustomerLot(lot_id=lot.id, booking_id=booking.id))
        session.flush()
        note = f"brought by the customer of {booking.number}: {part.shown.strip()}"
        post(session, Move(lot.id, MovementKind.RECEIVED, part.quantity.thousandths, note=note), at)
        taken = _make_room(session, booking, item, needed, part.quantity.thousandths)
        if taken:
            set_aside(session, booking.id, item.id, lot.id, taken)
        record(session, token, request, booking.branch_id, at)
        view = booking_view(session, booking, at.date())
        session.commit()
        return view


def _needed(session: Session, booking: BookingFacts, item: Item) -> int:
    """How much a booking needs of an item, thousandths."""
    needed = session.scalar(
        select(func.sum(BookingNeed.quantity)).where(
            BookingNeed.booking_id == booking.id, BookingNeed.item_id == item.id
        )
    )
    if not needed:
        raise KittingError(
            "{number} does not ask for {code}", number=booking.number, code=item.code
        )
    return int(needed)


def _code(session: Session, booking: BookingFacts, item: Item) -> str:
    """A code of its own: what a customer brought never lies with ours."""
    known = select(Lot.code).where(Lot.branch_id == booking.branch_id, Lot.item_id == item.id)
    taken = set(session.scalars(known))
    codes = (numbered(f"{booking.number}-OWN", number) for number in count(1))
    return next(code for code in codes if code not in taken)


def _make_room(
    session: Session, booking: BookingFacts, item: Item, needed: int, brought: int
) -> int:
    """Let go of what waits of ours in its place, the newest first; how much is then lacking."""
    rows = session.execute(
        select(Promise.id, Promise.waiting, IN_KIT.label("picked"))
        .outerjoin(CustomerLot, CustomerLot.lot_id == Promise.lot_id)
        .where(Promise.booking_id == booking.id, Promise.item_id == item.id)
        .order_by(CustomerLot.lot_id.is_not(None), Promise.id.desc())
    ).all()
    covered = sum(row.waiting + row.picked for row in rows)
    over = covered + min(brought, needed) - needed
    parts = []
    for row in rows:
        some = min(row.waiting, over)
        if some > 0:
            parts.append((row.id, some))
            over -= some
            covered -= some
    let_all_go(session, parts)
    return int(max(0, min(brought, needed - covered)))
