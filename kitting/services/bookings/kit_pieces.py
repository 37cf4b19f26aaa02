"""What lies in a kit, lot by lot, and the pieces of it that a change is about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import bindparam, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import BookingState, KitEventKind
from kitting.services.bookings.kit_events import Happened
from kitting.services.bookings.states import BookingFacts
from kitting.services.bookings.view import booking_view
from kitting.services.stock.lots import find_item, require_amount
from kitting.tables.bookings import UNACCOUNTED, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.views.bookings import BookingView
from kitting.views.kit_life import KitChangeView, KitPartView

_IN_KIT = (
    select(Promise.id, Promise.lot_id, Lot.code, UNACCOUNTED.label("amount"))
    .join(Lot, Promise.lot_id == Lot.id)
    .where(
        Promise.booking_id == bindparam("booking"),
        Promise.item_id == bindparam("item"),
        UNACCOUNTED > 0,
    )
    .order_by(Promise.id)
)
_LOTS = select(Lot.id, Lot.code, Lot.bin).where(Lot.id.in_(bindparam("keys", expanding=True)))


@dataclass(frozen=True, slots=True)
class Piece:
    """So much of an item, of a lot (by code) where it lies in the kit from several."""

    item: str
    quantity: Quantity
    lot: str | None = None


@dataclass(frozen=True, slots=True)
class InKit:
    """So much (thousandths) of a promise that lies in a kit, of the lot of which it is."""

    promise: int
    lot: int
    code: str
    amount: int


def find_piece(session: Session, piece: Piece) -> Item:
    """The item of a piece; raises UnknownNameError, and KittingError for an amount that is none."""
    item = find_item(session, piece.item)
    require_amount(piece.quantity, item)
    if piece.quantity.thousandths <= 0:
        raise KittingError("{code}: say how much, more than nothing", code=item.code)
    return item


def in_kit(session: Session, booking_id: int, item_id: int) -> list[InKit]:
    """What lies in a kit of an item, lot by lot."""
    rows = session.execute(_IN_KIT, {"booking": booking_id, "item": item_id})
    return [InKit(row.id, row.lot_id, row.code, int(row.amount)) for row in rows]


def chosen(booking: BookingFacts, item: Item, piece: Piece, there: Sequence[InKit]) -> list[InKit]:
    """So much of what lies in a kit as a piece says, of its lot, or of the only one that can be.

    Raises KittingError where not as much is in the kit, and where it could be of several lots.
    """
    wanted = piece.quantity.thousandths
    found = [one for one in there if piece.lot is None or one.code == piece.lot.strip()]
    total = sum(one.amount for one in found)
    if total < wanted:
        raise _not_there(booking, item, piece, there)
    if len(found) > 1 and total > wanted:
        lots = ", ".join(
            f"{format_quantity(one.amount, item.unit)} of lot {one.code}" for one in found
        )
        raise KittingError(
            "{number} has {lots}. Say which it is: --lot {code}, for example",
            number=booking.number,
            lots=lots,
            code=found[0].code,
        )
    return [InKit(one.promise, one.lot, one.code, min(one.amount, wanted)) for one in found]


def _not_there(
    booking: BookingFacts, item: Item, piece: Piece, there: Sequence[InKit]
) -> KittingError:
    lots = ", ".join(f"{format_quantity(one.amount, item.unit)} of lot {one.code}" for one in there)
    wanted = format_quantity(piece.quantity.thousandths, item.unit)
    of = f" of lot {piece.lot}" if piece.lot else ""
    has = f"It has {lots}" if lots else "It has none"
    return KittingError(
        "the kit of {number} does not hold {wanted} {code}{of}. {has}",
        number=booking.number,
        wanted=wanted,
        code=item.code,
        of=of,
        has=has,
        then=[next_step(Action.SHOW_KIT, booking=booking.number)],
    )


def left_in_kit(there: Sequence[InKit], taken: Sequence[InKit]) -> dict[int, int]:
    """What of each lot is still in a kit after some of it was taken out (thousandths)."""
    left = {one.lot: one.amount for one in there}
    for one in taken:
        left[one.lot] -= one.amount
    return left


def moved(session: Session, item: Item, happened: Sequence[Happened]) -> tuple[KitPartView, ...]:
    """What moved, with the names of its lots; what was put into another lot, with that one's."""
    parts: list[tuple[Happened, int | None, int]] = []
    parts += [(one, lot, amount) for one in happened for lot, amount in one.into]
    parts += [(one, one.lot, one.quantity) for one in happened if not one.into]
    parts.sort(key=lambda part: happened.index(part[0]))
    keys = sorted({lot for _, lot, _ in parts if lot is not None})
    lots = {row.id: row for row in session.execute(_LOTS, {"keys": keys})}
    return tuple(
        KitPartView(
            kind=one.kind,
            item=item.code,
            unit=item.unit,
            quantity=amount,
            lot=lots[lot].code,
            bin=lots[lot].bin,
        )
        for one, lot, amount in parts
        if lot is not None
    )


def change_view(
    session: Session,
    booking: BookingFacts,
    item: Item,
    happened: Sequence[Happened],
    taken_back: Sequence[str],
    today: date,
) -> KitChangeView:
    """What a change of a kit came to, and what the booking has of the item now."""
    view = booking_view(session, booking, today)
    needs = [need for need in view.needs if need.item == item.code]
    return KitChangeView(
        booking=booking.number,
        item=item.code,
        unit=item.unit,
        parts=moved(session, item, happened),
        short=sum(need.lacking for need in needs),
        coming=sum(need.coming for need in needs),
        promised=sum(need.on_shelf for need in needs),
        taken_back=tuple(taken_back),
    )


def take_confirmation_back(
    session: Session, before: BookingView, booking: BookingFacts, today: date
) -> list[str]:
    """Make a confirmed booking provisional again that was ready `before` and is not any more.

    Returns its number in a list, which is empty where nothing had to be taken back.
    """
    if booking.state is not BookingState.CONFIRMED or not before.ready:
        return []
    if booking_view(session, booking, today).ready:
        return []
    session.execute(
        update(Booking)
        .where(Booking.id == booking.id)
        .values(state=BookingState.PROVISIONAL)
        .execution_options(synchronize_session=False)
    )
    return [booking.number]


def as_happened(
    kind: KitEventKind, item: int, parts: Sequence[InKit], left: Mapping[int, int]
) -> list[Happened]:
    """What happened to pieces of a kit, with what is left of their lots."""
    return [Happened(kind, item, one.lot, one.amount, left[one.lot]) for one in parts]
