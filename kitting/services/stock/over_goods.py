"""What came beyond an order: on hold until it is kept, and charged, or sent back."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import and_, case, exists, func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.units import typed_quantity
from kitting.tables.items import Item
from kitting.tables.order_history import Claim, ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt

_NAMED = 3  # orders that a hold names; the rest is counted
# A receipt of goods that came too much before, out of the lot where they were on hold: it names
# that lot, and nothing of it came too much.
_OUT_OF_OVER = and_(ReceiptGoods.over_lot_id.is_not(None), Receipt.over == 0)
KEPT = case((_OUT_OF_OVER, Receipt.good), else_=0)
# A line of an order that nobody ordered: it was made to keep what came too much, even where that
# was taken back since.
OF_KEPT = (
    exists()
    .where(
        Receipt.order_line_id == OrderLine.id, ReceiptGoods.receipt_id == Receipt.id, _OUT_OF_OVER
    )
    .correlate(OrderLine)
)
# A claim of what came too much.
OF_OVER = exists().where(ReceiptGoods.over_lot_id == Claim.lot_id)


def over_left(session: Session, order_id: int, item_id: int) -> int:
    """What of an item came beyond an order and is neither kept nor sent back, thousandths."""
    of_item = (OrderLine.order_id == order_id, OrderLine.item_id == item_id)
    came = session.scalar(
        select(func.coalesce(func.sum(Receipt.over - KEPT), 0))
        .join(OrderLine, Receipt.order_line_id == OrderLine.id)
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .outerjoin(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
        .where(*of_item, ReceiptUndone.receipt_id.is_(None))
    )
    gone = session.scalar(
        select(func.coalesce(func.sum(Claim.quantity), 0))
        .join(OrderLine, Claim.order_line_id == OrderLine.id)
        .where(*of_item, OF_OVER)
    )
    return max(0, int(came or 0) - int(gone or 0))


def unsettled(session: Session, lot: Lot) -> list[tuple[str, int]]:
    """The orders whose goods came too much in a lot and are neither kept nor sent back.

    Each by number with how much (thousandths), the oldest first.
    """
    came = session.execute(
        select(PurchaseOrder.id, PurchaseOrder.number, func.sum(Receipt.over - KEPT))
        .join(OrderLine, OrderLine.order_id == PurchaseOrder.id)
        .join(Receipt, Receipt.order_line_id == OrderLine.id)
        .join(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .where(ReceiptGoods.over_lot_id == lot.id, ReceiptUndone.receipt_id.is_(None))
        .group_by(PurchaseOrder.id, PurchaseOrder.number)
        .order_by(PurchaseOrder.id)
    ).all()
    found = []
    for order, number, much in came:
        gone = session.scalar(
            select(func.coalesce(func.sum(Claim.quantity), 0))
            .join(OrderLine, Claim.order_line_id == OrderLine.id)
            .where(OrderLine.order_id == order, Claim.lot_id == lot.id)
        )
        left = min(int(much) - int(gone or 0), lot.on_hand)
        if left > 0:
            found.append((number, left))
    return found


def over_hold(orders: Sequence[str]) -> str:
    """Why nobody takes from a lot of what came too much, with the orders that it came on."""
    named = [*orders[:_NAMED], *([f"{len(orders) - _NAMED} more"] if orders[_NAMED:] else [])]
    told = named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
    return f"more than ordered on {told}: keep or send back"


def name_orders(session: Session, lot: Lot) -> None:
    """Let the hold of what came too much name the orders of what still lies there."""
    session.flush()
    session.refresh(lot, ["on_hand"])
    orders = [number for number, _ in unsettled(session, lot)]
    if orders:
        lot.own_hold = over_hold(orders)
        session.flush()
        session.expire(lot, ["held"])


def require_settled(session: Session, lot: Lot, item: Item) -> None:
    """Raise KittingError for a lot with what came too much and is neither kept nor sent back.

    They would be used and never charged.
    """
    for number, left in unsettled(session, lot):
        told = typed_quantity(left, item.unit)
        raise KittingError(
            "lot {code}: {told} of it came too much on {number} and are neither kept nor sent"
            " back. Keep them, so that they are charged, or record that they go back, for"
            " nothing, as a return of this lot",
            code=lot.code,
            told=told,
            number=number,
            then=[
                next_step(
                    Action.KEEP_GOODS, order=number, item=item.code, quantity=told, lot=lot.code
                )
            ],
        )
