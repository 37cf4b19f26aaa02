"""What came beyond an order is kept: charged as a line of its own, and free of its hold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import Quantity, format_quantity
from kitting.facts.words import MovementKind
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.claim_views import charge_of
from kitting.services.purchasing.goods_in import GoodsReceived, serve_short, take_in_line
from kitting.services.purchasing.order_times import require_after_order
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.received_lots import Delivery
from kitting.services.stock.ledger import Move, post
from kitting.services.stock.lots import find_item, require_amount
from kitting.services.stock.over_goods import name_orders, over_left
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.order_history import ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt
from kitting.views.orders import OrderView

_LONGEST, _KEPT = 40, "-KEPT"  # characters of a lot's code; what marks one of its own


@dataclass(frozen=True, slots=True)
class Kept:
    """So much of an item that came beyond an order is kept, of a lot where there are several."""

    item: str
    quantity: Quantity
    lot: str | None = None


def keep(
    engine: Engine, number: str, kept: Kept, at: datetime, token: str | None = None
) -> OrderView:
    """Keep what came too much: it is charged at the price of the order, and free on the shelf.

    It is a new line of the order, received out of the lot where it was on hold, and goes to who
    lacks it. Raises UnknownNameError, and KittingError for more than is on hold of it.
    """
    with writing(engine) as session:
        order = find_order(session, number)
        request = f"keep {order.number} {kept}"
        if earlier(session, token, request) is not None:
            return order_view(session, order, at.date())
        require_after_order(order, at, "keeping it")
        item = find_item(session, kept.item)
        require_amount(kept.quantity, item)
        amount = kept.quantity.thousandths
        line, lot = _came_too_much(session, order, item, kept)
        left = min(over_left(session, order.id, item.id), lot.on_hand - lot.promised)
        if not 0 < amount <= left:
            raise KittingError(
                "{code}: {quantity} of lot {lot_code} came too much on {number} and can be kept."
                " Give an amount up to that",
                code=item.code,
                quantity=format_quantity(left, item.unit),
                lot_code=lot.code,
                number=order.number,
            )
        new = _line(session, order, line, amount)
        note = f"{order.number}, over, kept"
        post(session, Move(lot.id, MovementKind.RECEIVED, -amount, note=note), at)
        policy = session.get_one(Branch, order.branch_id).shelf_policy
        _take_in(session, Delivery(order, new, item, at, policy), lot, amount)
        name_orders(session, lot)
        serve_short(session, order.branch_id, item.id, at.date())
        record(session, token, request, order.branch_id, at)
        view = order_view(session, order, at.date())
        session.commit()
        return view


def _came_too_much(
    session: Session, order: PurchaseOrder, item: Item, kept: Kept
) -> tuple[OrderLine, Lot]:
    """The line and the lot of what came beyond an order; raises KittingError, UnknownNameError."""
    rows = session.execute(
        select(OrderLine, Lot)
        .join(Receipt, Receipt.order_line_id == OrderLine.id)
        .join(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
        .join(Lot, ReceiptGoods.over_lot_id == Lot.id)
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .where(
            OrderLine.order_id == order.id,
            Lot.item_id == item.id,
            Receipt.over > 0,
            ReceiptUndone.receipt_id.is_(None),
        )
        .order_by(Receipt.id)
    ).all()
    found = {lot.code: (line, lot) for line, lot in rows}
    there = {code: one for code, one in found.items() if one[1].on_hand > 0}
    if not there:
        raise KittingError(
            "{number}: nothing of {code} that came too much is there",
            number=order.number,
            code=item.code,
        )
    if kept.lot is None and len(there) > 1:
        raise KittingError(
            "{code} came too much in lots {there}. Name one",
            code=item.code,
            there=", ".join(sorted(there)),
        )
    if kept.lot is not None and kept.lot not in there:
        raise UnknownNameError(
            "{number}: lot {lot!r} is none of {code} that came too much. There is {there}",
            number=order.number,
            lot=kept.lot,
            code=item.code,
            there=", ".join(sorted(there)),
        )
    return there[kept.lot] if kept.lot is not None else next(iter(there.values()))


def _take_in(session: Session, delivery: Delivery, lot: Lot, amount: int) -> None:
    """Put what is kept to its packet, or where that is of another age by now to none."""
    goods = GoodsReceived(
        delivery.item.code, amount, lot=lot.batch, made=lot.made_on, expires=lot.expires_on,
        out_of=lot.id,
    )  # fmt: skip
    try:
        with session.begin_nested():
            take_in_line(session, delivery, goods)
    except KittingError:
        own = f"{lot.code[: _LONGEST - len(_KEPT)]}{_KEPT}"
        take_in_line(session, delivery, replace(goods, lot=own, batch=lot.batch))


def _line(session: Session, order: PurchaseOrder, like: OrderLine, amount: int) -> OrderLine:
    """A line of what is kept, at the price of what was ordered: whole packs, or as one pack."""
    pack = like.quantity // like.packs
    whole = like.quantity % like.packs == 0 and amount % pack == 0
    charge = charge_of(like)
    core = None if like.core is None else charge.cores(amount)
    seq = session.scalar(select(func.max(OrderLine.seq)).where(OrderLine.order_id == order.id))
    line = OrderLine(
        order_id=order.id, seq=(seq or 0) + 1, item_id=like.item_id, part=like.part,
        packs=amount // pack if whole else 1,
        price=like.price if whole else charge.goods(amount),
        # Nobody ordered it: it is lacking of its line until it is taken in.
        quantity=amount, received=0, lost=amount, promised=0, returnable=like.returnable,
        core=like.core if whole else core, due=like.due, due_late=like.due_late,
    )  # fmt: skip
    session.add(line)
    session.flush()
    return line
