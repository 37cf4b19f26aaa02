"""What a supplier owes for an order: goods back, cores, parts that failed; and its credit notes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine, func, or_, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money, format_money
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import ClaimKind, MovementKind
from kitting.services.bookings.states import find_booking
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.order_times import require_after, require_after_order
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.stock.ledger import Move, post
from kitting.services.stock.lots import find_item, require_amount
from kitting.services.stock.natures import batch_of
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, Promise
from kitting.tables.items import Item
from kitting.tables.order_history import Claim, CreditNote, ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt, Supplier
from kitting.views.purchasing import OrderView

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
    it was fitted to: only what came with this order, or descends from it, is taken. Raises
    KittingError for more than there is, for goods that are sold without return, and without reason.
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
            raise KittingError(f"{item.code}: say how much, more than nothing")
        line = _line(session, order, item)
        supplier = session.get_one(Supplier, order.supplier_id)
        lot = _lot(session, order, item, new)
        booking = find_booking(session, new.booking) if new.booking else None
        expected = _JUDGE[new.kind](session, line, new, (supplier, item, lot))
        if lot is not None and new.kind is ClaimKind.RETURN:
            out = Move(
                lot.id, MovementKind.RECEIVED, -new.quantity.thousandths,
                note=f"{order.number}, sent back",
            )  # fmt: skip
            post(session, out, at)
        session.add(
            Claim(
                order_line_id=line.id, at=at, kind=new.kind, quantity=new.quantity.thousandths,
                expected=expected, lot_id=lot and lot.id, booking_id=booking and booking.id,
                why=new.why.strip(),
            )
        )  # fmt: skip
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


@dataclass(frozen=True, slots=True)
class Credit:
    """What a supplier credited for a claim, by its number; nothing, with the reason, if refused."""

    claim: int
    amount: Money
    document: str
    why: str | None = None


def credit(
    engine: Engine, number: str, given: Credit, at: datetime, token: str | None = None
) -> OrderView:
    """Write down a credit note, or that a claim was refused; the total of the order follows.

    Raises UnknownNameError for a claim that the order does not have; KittingError for another
    currency, for more than was paid, and for a refusal without its reason.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"credit {order.number} {given}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        found = session.scalars(
            select(Claim)
            .join(OrderLine, Claim.order_line_id == OrderLine.id)
            .where(OrderLine.order_id == order.id)
        ).all()
        if given.claim not in {one.id for one in found}:
            known = ", ".join(str(one.id) for one in found) or "none"
            raise UnknownNameError(f"{order.number} has no claim {given.claim}. It has: {known}")
        claimed = next(one.at for one in found if one.id == given.claim)
        require_after(f"claim {given.claim} was made", claimed, at, "its credit")
        supplier = session.get_one(Supplier, order.supplier_id)
        if given.amount.currency != supplier.currency:
            raise KittingError(
                f"{supplier.name} is paid in {supplier.currency}, not in {given.amount.currency}"
            )
        why = (given.why or "").strip() or None
        if given.amount.minor == 0 and why is None:
            raise KittingError("a claim that is refused needs the reason: say what they say")
        before = order_view(session, order)
        # What came unusable may have been paid for: its credit is due then.
        most = Money(before.total.minor + before.lost.minor, supplier.currency)
        if not 0 <= given.amount.minor <= most.minor:
            raise KittingError(
                f"{order.number} came to {_told(most)}: no more than that is credited"
            )
        document = given.document.strip()
        if not 0 < len(document) <= 40:
            raise KittingError("give the number on the paper, 40 characters at most")
        session.add(
            CreditNote(
                claim_id=given.claim, at=at, amount=given.amount.minor, document=document, why=why
            )
        )
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _told(sum_: Money) -> str:
    return format_money(sum_.minor, sum_.currency)


def _line(session: Session, order: PurchaseOrder, item: Item) -> OrderLine:
    lines = session.scalars(
        select(OrderLine)
        .where(OrderLine.order_id == order.id, OrderLine.item_id == item.id)
        .order_by(OrderLine.received == 0, OrderLine.seq)
    ).all()
    if not lines:
        raise UnknownNameError(f"{order.number} has no {item.code!r}")
    return lines[0]


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


def _claimed(session: Session, line: OrderLine, *kinds: ClaimKind, of_lots: bool | None) -> int:
    """What was claimed of a line before, thousandths."""
    wanted = select(func.coalesce(func.sum(Claim.quantity), 0)).where(
        Claim.order_line_id == line.id, Claim.kind.in_(kinds)
    )
    if of_lots is not None:
        wanted = wanted.where(Claim.lot_id.is_not(None) if of_lots else Claim.lot_id.is_(None))
    return int(session.scalar(wanted) or 0)


def _require_left(new: NewClaim, left: int, what: str) -> None:
    if new.quantity.thousandths > left:
        unit = new.quantity.unit
        raise KittingError(f"{new.item}: {format_quantity(max(0, left), unit)} {what}, no more")


def _price(line: OrderLine, quantity: int) -> int:
    """What so much of a line cost, rounded down to a whole minor unit."""
    return line.packs * line.price * quantity // line.quantity


def _returned(session: Session, line: OrderLine, new: NewClaim, of: _With) -> int | None:
    supplier, item, lot = of
    amount = new.quantity.thousandths
    if lot is None:
        unusable = session.scalar(
            select(func.coalesce(func.sum(Receipt.damaged + Receipt.wrong), 0))
            .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
            .where(Receipt.order_line_id == line.id, ReceiptUndone.receipt_id.is_(None))
        )
        before = _claimed(session, line, ClaimKind.RETURN, of_lots=False)
        _require_left(
            new, int(unusable or 0) - before,
            "came damaged or as another part and are not sent back yet; of what lies on a shelf"
            " name the lot",
        )  # fmt: skip
        return _price(line, amount)
    over = select(ReceiptGoods.receipt_id).where(ReceiptGoods.over_lot_id == lot.id)
    if session.scalars(over).first() is not None:
        return 0  # more than ordered was never to be paid
    if not line.returnable:
        raise KittingError(
            f"{supplier.name} sells {item.code} without return. If it is faulty, claim it under"
            " warranty"
        )
    before = _claimed(session, line, ClaimKind.RETURN, of_lots=True)
    _require_left(new, line.received - before, "of it came usable and are not sent back yet")
    if supplier.restocking is None:
        return None
    return _price(line, amount) * (_WHOLE - supplier.restocking) // _WHOLE


def _core(session: Session, line: OrderLine, new: NewClaim, of: _With) -> int | None:
    if line.core is None:
        raise KittingError(f"{of[1].code}: no core was charged on this order")
    pack = line.quantity // line.packs
    if new.quantity.thousandths % pack:
        raise KittingError(
            f"{of[1].code}: a core is counted by the pack of {format_quantity(pack, of[1].unit)}"
        )
    before = _claimed(session, line, ClaimKind.CORE, of_lots=None)
    _require_left(new, line.received - before, "have a core that is not handed in yet")
    return new.quantity.thousandths // pack * line.core


def _warranty(session: Session, line: OrderLine, new: NewClaim, of: _With) -> int | None:
    if of[2] is None:
        raise KittingError("name the lot, or the booking whose car it was fitted to")
    before = _claimed(session, line, ClaimKind.WARRANTY, of_lots=None)
    _require_left(new, line.received - before, "of it came and are not claimed yet")
    return _price(line, new.quantity.thousandths)


_JUDGE = {
    ClaimKind.RETURN: _returned,
    ClaimKind.CORE: _core,
    ClaimKind.WARRANTY: _warranty,
}
