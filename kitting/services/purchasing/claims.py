"""What a supplier owes for an order: goods back, cores, parts that failed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Engine, func, or_, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import ClaimKind, MovementKind
from kitting.services.bookings.states import find_booking
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.claim_views import charge_of
from kitting.services.purchasing.claimed_before import (
    as_substitute,
    came_as,
    claimed,
    cores_left,
    not_sent_back,
)
from kitting.services.purchasing.order_times import require_after_order
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.stock.ledger import Move, post
from kitting.services.stock.lots import find_item, require_amount
from kitting.services.stock.natures import batch_of
from kitting.services.stock.over_goods import name_orders, over_left
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, Promise
from kitting.tables.items import Item
from kitting.tables.order_history import Claim, ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt, Supplier
from kitting.views.orders import OrderView

_WHOLE = 100_000  # thousandths of a percent


@dataclass(frozen=True, slots=True)
class NewClaim:
    """What is claimed of an item and why; `lot` and `booking` say of which goods, in which car."""

    kind: ClaimKind
    item: str
    quantity: Quantity
    why: str
    lot: str | None = None
    booking: str | None = None


def claim(
    engine: Engine, number: str, new: NewClaim, at: datetime, token: str | None = None
) -> OrderView:
    """Write down a claim, with what is to be expected for it.

    A return of a lot leaves the shelf; without a lot it is of what came damaged or wrong. A core is
    counted in the packs that were ordered. A warranty claim names the lot, or the booking whose car
    it was fitted to: only what came with this order, or descends from it, is taken. No piece is
    both sent back and claimed under warranty, unless that was refused. Raises KittingError for more
    than there is, for goods that are sold without return, and without reason.
    """
    if not new.why.strip():
        raise KittingError("a reason is required: say why")
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"claim {order.number} {new}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        require_after_order(order, at, "a claim")
        item = find_item(session, new.item)
        require_amount(new.quantity, item)
        if new.quantity.thousandths <= 0:
            raise KittingError("{code}: say how much, more than nothing", code=item.code)
        lines = _lines(session, order, item)
        supplier = session.get_one(Supplier, order.supplier_id)
        lot = _lot(session, order, item, new)
        booking = find_booking(session, new.booking) if new.booking else None
        shares = _judged(session, lines, new, (supplier, item, lot))
        if lot is not None and new.kind is ClaimKind.RETURN:
            out = Move(
                lot.id, MovementKind.RECEIVED, -new.quantity.thousandths,
                note=f"{order.number}, sent back",
            )  # fmt: skip
            post(session, out, at)
        session.add_all(
            Claim(
                order_line_id=line.id, at=at, kind=new.kind, quantity=much,
                expected=expected, lot_id=lot and lot.id, booking_id=booking and booking.id,
                why=new.why.strip(),
            )
            for line, much, expected in shares
        )  # fmt: skip
        record(session, token, request, order.branch_id, at)
        session.flush()
        if lot is not None and new.kind is ClaimKind.RETURN and _is_over(session, lot):
            name_orders(session, lot)
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _lines(session: Session, order: PurchaseOrder, item: Item) -> Sequence[OrderLine]:
    """The lines of an item, or that it came for as a substitute; raises UnknownNameError.

    Those first of which something came.
    """
    lines = session.scalars(
        select(OrderLine)
        .where(
            OrderLine.order_id == order.id,
            or_(OrderLine.item_id == item.id, as_substitute(item)),
        )
        .order_by(OrderLine.received == 0, OrderLine.seq)
    ).all()
    if not lines:
        raise UnknownNameError("{number} has no {code!r}", number=order.number, code=item.code)
    return lines


def _came_with(session: Session, order: PurchaseOrder) -> list[Lot]:
    """The lots that an order brought, by what the ledger says."""
    notes = (order.number, f"{order.number}, over")
    return list(
        session.scalars(
            select(Lot)
            .join(Movement, Movement.lot_id == Lot.id)
            .where(Movement.kind == MovementKind.RECEIVED, Movement.note.in_(notes))
            .distinct()
        )
    )


def _lot(session: Session, order: PurchaseOrder, item: Item, new: NewClaim) -> Lot | None:
    """The lot that a claim is of: of this order, or descended from what it brought."""
    if new.kind is ClaimKind.CORE or (new.lot is None and new.booking is None):
        return None
    stems = {batch_of(lot) for lot in _came_with(session, order) if lot.item_id == item.id}
    known = select(Lot).where(
        Lot.item_id == item.id, or_(Lot.code.in_(stems), Lot.batch.in_(stems))
    )
    if new.booking is not None:
        booking = find_booking(session, new.booking)
        known = known.join(Promise, Promise.lot_id == Lot.id).where(
            Promise.booking_id == booking.id, IN_KIT - Promise.returned > 0
        )
    lots = [lot for lot in session.scalars(known.order_by(Lot.id)) if new.lot in (None, lot.code)]
    if new.booking is None:
        lots = [lot for lot in lots if lot.branch_id == order.branch_id]
    if not lots:
        whose = f" in the kit of {new.booking}" if new.booking else ""
        raise KittingError(
            f"{new.lot or item.code}: nothing{whose} came with {order.number}. It brought:"
            f" {', '.join(sorted(stems)) or 'nothing of it'}"
        )
    return lots[0]


_With = tuple[Supplier, Item, Lot | None]


def _is_over(session: Session, lot: Lot) -> bool:
    """Whether a lot is of what came too much."""
    over = select(ReceiptGoods.receipt_id).where(ReceiptGoods.over_lot_id == lot.id)
    return session.scalars(over).first() is not None


class _BeyondLineError(KittingError):
    """A claim is of more than a line of the order has `left` for it, thousandths."""

    left: int = 0


def _require_left(new: NewClaim, left: int, what: str, of_line: bool = True) -> None:
    if new.quantity.thousandths > left:
        told = format_quantity(max(0, left), new.quantity.unit)
        error = _BeyondLineError(
            "{item}: {told} {what}, no more", item=new.item, told=told, what=what
        )
        error.left = max(0, left) if of_line else 0
        raise error


def _judged(
    session: Session, lines: Sequence[OrderLine], new: NewClaim, of: _With
) -> list[tuple[OrderLine, int, int | None]]:
    """The lines that a claim is of, how much of each, and what is expected for it, minor units.

    An item may stand on several lines: by the pack and singly, or kept of what came too much. It is
    of the first line that has it all left; if none has, of each what that has left.
    """
    refused: list[tuple[OrderLine, KittingError]] = []
    for line in lines:
        try:
            return [(line, new.quantity.thousandths, _JUDGE[new.kind](session, line, new, of))]
        except KittingError as error:
            refused.append((line, error))
    rooms = [
        (line, one.left) for line, one in refused if isinstance(one, _BeyondLineError) and one.left
    ]
    if len(rooms) < 2:
        raise refused[0][1]
    left, unit = new.quantity.thousandths, new.quantity.unit
    if left > sum(room for _, room in rooms):
        told = " and ".join(format_quantity(room, unit) for _, room in rooms)
        raise KittingError(
            "{item} stands on several lines of the order, which have {told} left for this, no more",
            item=new.item,
            told=told,
        )
    shares = []
    for line, room in rooms:
        much = min(left, room)
        left -= much
        if much:
            part = replace(new, quantity=Quantity(much, unit))
            shares.append((line, much, _JUDGE[new.kind](session, line, part, of)))
    return shares


def _unusable(session: Session, line: OrderLine, new: NewClaim) -> int:
    """What is expected for goods that came damaged or as another part: their price and core."""
    came = session.scalar(
        select(func.coalesce(func.sum(Receipt.damaged + Receipt.wrong), 0))
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .where(Receipt.order_line_id == line.id, ReceiptUndone.receipt_id.is_(None))
    )
    _require_left(
        new, int(came or 0) - claimed(session, line, ClaimKind.RETURN, of_lots=False),
        "came damaged or as another part and are not sent back yet; of what lies on a shelf"
        " name the lot",
    )  # fmt: skip
    return charge_of(line).share(new.quantity.thousandths)


def _returned(session: Session, line: OrderLine, new: NewClaim, of: _With) -> int | None:
    supplier, item, lot = of
    amount = new.quantity.thousandths
    substitute = item.id != line.item_id
    if lot is None and substitute:
        raise KittingError(
            "{code} came in place of what was ordered, as good: name the lot that it lies in",
            code=item.code,
        )
    if lot is None:
        return _unusable(session, line, new)
    if _is_over(session, lot):
        left = over_left(session, line.order_id, line.item_id)
        what = "came too much and are neither kept nor sent back yet"
        _require_left(new, left, what, of_line=False)
        return 0  # more than ordered was never to be paid
    if not line.returnable and not substitute:
        raise KittingError(
            "{name} sells {code} without return. If it is faulty, claim it under warranty",
            name=supplier.name,
            code=item.code,
        )
    _require_left(
        new, not_sent_back(session, line, item.id),
        "of it came usable and are neither sent back nor claimed under warranty yet",
    )  # fmt: skip
    if supplier.restocking is None or substitute:
        return None  # what the supplier keeps is stated of what was ordered, of nothing else
    charge = charge_of(line)
    # The share is kept of the price; the core goes back whole, once (common practice, no source).
    kept = charge.goods(amount) * (_WHOLE - supplier.restocking) // _WHOLE
    return kept + charge.cores(min(amount, cores_left(session, line)))


def _core(session: Session, line: OrderLine, new: NewClaim, of: _With) -> int | None:
    if line.core is None:
        raise KittingError("{code}: no core was charged on this order", code=of[1].code)
    pack = line.quantity // line.packs
    if new.quantity.thousandths % pack:
        raise KittingError(
            "{code}: a core is counted by the pack of {quantity}",
            code=of[1].code,
            quantity=format_quantity(pack, of[1].unit),
        )
    left = cores_left(session, line)
    _require_left(new, left, "have a core that is not handed in yet")
    return new.quantity.thousandths // pack * line.core


def _warranty(session: Session, line: OrderLine, new: NewClaim, of: _With) -> int | None:
    if of[2] is None:
        raise KittingError("name the lot, or the booking whose car it was fitted to")
    if _is_over(session, of[2]):
        raise KittingError(
            "lot {code} came too much and was not charged: nothing is owed for it. Send it back,"
            " or keep it first, so that it is charged",
            code=of[2].code,
        )
    kinds = (ClaimKind.WARRANTY, ClaimKind.RETURN)
    before = claimed(session, line, *kinds, of_lots=True, item=of[1].id)
    left = came_as(session, line, of[1].id) - before
    _require_left(new, left, "of it came usable and are neither sent back nor claimed yet")
    return charge_of(line).goods(new.quantity.thousandths)


_JUDGE = {
    ClaimKind.RETURN: _returned,
    ClaimKind.CORE: _core,
    ClaimKind.WARRANTY: _warranty,
}
