"""What came beyond an order: on hold until it is kept, and charged, or sent back."""

from __future__ import annotations

from sqlalchemy import and_, case, exists, func, select
from sqlalchemy.orm import Session

from kitting.tables.order_history import Claim, ReceiptGoods, ReceiptUndone
from kitting.tables.supply import OrderLine, Receipt

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
