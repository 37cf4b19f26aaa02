"""Writing down an order that somebody chose, not one that a purchase proposes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.reservations import give_up_unfit, promise_free
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.db.numbering import next_number
from kitting.tables.supply import OrderLine, PurchaseOrder


@dataclass(frozen=True, slots=True)
class NewLine:
    """A line to be ordered: `price` and `core` of a pack in minor units, `quantity` thousandths.

    `days` are its usual and its late day where they are not those of the order.
    """

    item: int
    part: str
    packs: int
    price: int
    quantity: int
    returnable: bool = True
    core: int | None = None
    days: tuple[date, date] | None = None


@dataclass(frozen=True, slots=True)
class NewOrder:
    """An order to be written; `bill` is the number of a receipt over the counter."""

    supplier: int
    branch: int
    placed_at: datetime
    due: date
    due_late: date
    carriage: int
    lines: Sequence[NewLine]
    bill: str | None = None


def write_order(session: Session, new: NewOrder) -> tuple[PurchaseOrder, list[OrderLine]]:
    """Write an order with its lines under the next free number."""
    order = PurchaseOrder(
        number=next_number(session, PurchaseOrder, "P"),
        supplier_id=new.supplier,
        branch_id=new.branch,
        placed_at=new.placed_at,
        carriage=new.carriage,
        due=new.due,
        due_late=new.due_late,
        bill=new.bill,
    )
    session.add(order)
    session.flush()
    lines = [
        OrderLine(
            order_id=order.id, seq=seq, item_id=line.item, part=line.part, packs=line.packs,
            price=line.price, quantity=line.quantity, received=0, lost=0, promised=0,
            returnable=line.returnable, core=line.core,
            due=line.days[0] if line.days else None, due_late=line.days[1] if line.days else None,
        )
        for seq, line in enumerate(new.lines, 1)
    ]  # fmt: skip
    session.add_all(lines)
    session.flush()
    return order, lines


def served(session: Session, numbers: Sequence[str], branch_id: int) -> list[BookingFacts]:
    """The bookings that goods of a branch are for, the earliest date first.

    Raises UnknownNameError, and KittingError for one of another branch or one that is over.
    """
    found = {one.id: one for one in (find_booking(session, number) for number in numbers)}
    for booking in found.values():
        if booking.branch_id != branch_id:
            raise KittingError(
                "{number} is of another branch; goods for one branch do not serve it. Order it"
                " for that branch",
                number=booking.number,
            )
        if booking.state not in OPEN_BOOKINGS:
            raise KittingError(
                "{number} is {state}; nothing is bought for it",
                number=booking.number,
                state=booking.state,
            )
    return sorted(found.values(), key=lambda one: (one.fit_on, one.id))


def promise_bought(
    session: Session, bookings: Sequence[BookingFacts], lines: Sequence[OrderLine], today: date
) -> None:
    """Promise what was bought to the bookings that it is for, whenever it comes."""
    bought = [line.id for line in lines]
    for booking in bookings:
        give_up_unfit(session, booking.id, today)
        promise_free(session, booking.id, bought=bought, today=today)
