"""A receipt that was recorded wrongly is taken back by a counter-entry, then received anew."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine, insert, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import format_quantity
from kitting.facts.words import OPEN_BOOKINGS, MovementKind
from kitting.services.bookings.reservations import promise_free
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.order_times import require_after
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.stock.ledger import Move, let_all_go, post
from kitting.store import writing
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import Item
from kitting.tables.order_history import ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt
from kitting.views.purchasing import OrderView


def take_back_receipt(
    engine: Engine, number: str, item: str, why: str, at: datetime, token: str | None = None
) -> OrderView:
    """Take back the newest receipt of an item of an order, all of it: as if it had not come.

    The stock moves out of its lot again; bookings that were promised it wait for the order as
    before. What was kept of what came too much is on hold again. Receive it anew as it really was.
    Raises KittingError where some of it does not lie in its lot any more (it names who has it), for
    a receipt of an older program, which did not record where it went, and without a reason.
    """
    if not why.strip():
        raise KittingError("a reason is required: say what was recorded wrongly")
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"take back {order.number} {item} {why}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        receipt, line, row = _newest(session, order, item)
        require_after(f"that of {item} came", receipt.at, at, "its taking back")
        goods = session.get(ReceiptGoods, receipt.id)
        if goods is None:
            raise KittingError(
                f"{order.number}: where this receipt of {item} went was not recorded then. Count"
                " the lot instead"
            )
        if line.lost < goods.lost:
            raise KittingError(
                f"{order.number}: since then it was announced that {item} is sent once more; this"
                " receipt cannot be taken back"
            )
        waited: list[int] = []
        for key, amount in ((goods.lot_id, receipt.good), (goods.over_lot_id, receipt.over)):
            if key is not None and amount:
                waited += _out(session, session.get_one(Lot, key), amount, row)
                note = f"{order.number}, receipt taken back: {why.strip()}"
                post(session, Move(key, MovementKind.RECEIVED, -amount, note=note), at)
        if goods.over_lot_id is not None and not receipt.over:
            # It was kept of what came too much, and lies there again.
            note = f"{order.number}, over, not kept: {why.strip()}"
            back = Move(goods.over_lot_id, MovementKind.RECEIVED, receipt.good, note=note)
            post(session, back, at)
        session.execute(
            update(OrderLine)
            .where(OrderLine.id == line.id)
            .values(received=OrderLine.received - receipt.good, lost=OrderLine.lost - goods.lost)
            .execution_options(synchronize_session=False)
        )
        session.execute(insert(ReceiptUndone).values(receipt_id=receipt.id, at=at, why=why.strip()))
        for booking in dict.fromkeys(waited):
            promise_free(session, booking, bought=[line.id], today=at.date())
        record(session, token, request, order.branch_id, at)
        session.flush()
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _newest(session: Session, order: PurchaseOrder, code: str) -> tuple[Receipt, OrderLine, Item]:
    """The newest receipt of an item that holds; raises UnknownNameError, KittingError."""
    rows = session.execute(
        select(Receipt, OrderLine, Item)
        .join(OrderLine, Receipt.order_line_id == OrderLine.id)
        .join(Item, OrderLine.item_id == Item.id)
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .where(OrderLine.order_id == order.id, ReceiptUndone.receipt_id.is_(None))
        .order_by(Receipt.id.desc())
    ).all()
    for receipt, line, item in rows:
        if item.code == code:
            return receipt, line, item
    came = sorted({item.code for *_, item in rows})
    raise UnknownNameError(
        f"{order.number}: nothing came of {code!r}. There are receipts of:"
        f" {', '.join(came) or 'nothing'}"
    )


def _out(session: Session, lot: Lot, amount: int, item: Item) -> list[int]:
    """Let go of what is promised of a lot, as far as it leaves; the bookings that had it.

    The latest date gives up first. Raises KittingError where less lies there than is to leave.
    """
    promises = session.execute(
        select(Promise.id, Promise.waiting, IN_KIT.label("picked"), Promise.returned, Booking)
        .join(Booking, Promise.booking_id == Booking.id)
        .where(Promise.lot_id == lot.id)
        .order_by(Booking.fit_on.desc(), Booking.id.desc())
    ).all()
    if lot.on_hand < amount:
        had = [row.Booking.number for row in promises if row.picked > row.returned]
        whose = (
            f" It is in the kits of {', '.join(sorted(had))}: put it back first"
            if had
            else (" Count the lot, or bring back what left it, first")
        )
        raise KittingError(
            f"{item.code}: of lot {lot.code} {format_quantity(lot.on_hand, item.unit)} still lie"
            f" there, {format_quantity(amount, item.unit)} came.{whose}"
        )
    left = amount - (lot.on_hand - lot.promised)
    parts, waited = [], []
    for row in promises:
        some = min(row.waiting, left)
        if some > 0:
            parts.append((row.id, some))
            left -= some
            if row.Booking.state in OPEN_BOOKINGS:
                waited.append(row.Booking.id)
    let_all_go(session, parts)
    session.expire_all()
    return waited
