"""What came of a line of an order, and what of that was claimed before."""

from __future__ import annotations

from sqlalchemy import ColumnElement, exists, func, select
from sqlalchemy.orm import Session

from kitting.facts.words import ClaimKind
from kitting.services.stock.over_goods import OF_OVER
from kitting.tables.items import Item
from kitting.tables.order_history import (
    CREDIT_HOLDS,
    Claim,
    CreditNote,
    ReceiptGoods,
    ReceiptUndone,
)
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, Receipt


def as_substitute(item: Item) -> ColumnElement[bool]:
    """That an item came in place of what a line was ordered of."""
    return exists().where(
        Receipt.order_line_id == OrderLine.id,
        ReceiptGoods.receipt_id == Receipt.id,
        ReceiptGoods.item_id == item.id,
        ~exists().where(ReceiptUndone.receipt_id == Receipt.id),
    )


def claimed(
    session: Session,
    line: OrderLine,
    *kinds: ClaimKind,
    of_lots: bool | None,
    item: int | None = None,
) -> int:
    """What was claimed of a line before, thousandths; not of what came beyond it.

    With `item` only of lots of it: it may be a substitute that came for the line.
    """
    wanted = select(func.coalesce(func.sum(Claim.quantity), 0)).where(
        Claim.order_line_id == line.id, Claim.kind.in_(kinds), ~OF_OVER
    )
    if item is not None:
        wanted = wanted.where(_of_lot_of(item))
    if of_lots is not None:
        wanted = wanted.where(Claim.lot_id.is_not(None) if of_lots else Claim.lot_id.is_(None))
    return int(session.scalar(wanted) or 0)


def _of_lot_of(item: int) -> ColumnElement[bool]:
    return exists().where(Lot.id == Claim.lot_id, Lot.item_id == item)


def came_as(session: Session, line: OrderLine, item: int) -> int:
    """What came usable for a line as an item, thousandths: as ordered, or as a substitute."""
    instead = (
        select(func.coalesce(func.sum(Receipt.good), 0))
        .join(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
        .where(
            Receipt.order_line_id == line.id,
            ReceiptGoods.item_id.is_not(None),
            ~exists().where(ReceiptUndone.receipt_id == Receipt.id),
        )
    )
    if item != line.item_id:
        return int(session.scalar(instead.where(ReceiptGoods.item_id == item)) or 0)
    return line.received - int(session.scalar(instead) or 0)


def not_sent_back(session: Session, line: OrderLine, item: int, but: int | None = None) -> int:
    """What came usable of a line as an item, and is neither sent back nor claimed under warranty.

    In thousandths. Claims that were refused, and the one `but`, do not count.
    """
    notes = select(func.sum(CreditNote.amount)).where(CreditNote.claim_id == Claim.id, CREDIT_HOLDS)
    wanted = select(func.coalesce(func.sum(Claim.quantity), 0)).where(
        Claim.order_line_id == line.id,
        Claim.kind == ClaimKind.WARRANTY,
        Claim.id != (but or 0),
        _of_lot_of(item),
        func.coalesce(notes.scalar_subquery(), 1) > 0,
    )
    warranted = int(session.scalar(wanted) or 0)
    back = claimed(session, line, ClaimKind.RETURN, of_lots=True, item=item)
    return max(0, came_as(session, line, item) - back - warranted)


def cores_left(session: Session, line: OrderLine) -> int:
    """Of how much of a line the core is not refunded yet, with what was sent back (thousandths)."""
    handed_in = claimed(session, line, ClaimKind.CORE, of_lots=None)
    sent_back = claimed(session, line, ClaimKind.RETURN, of_lots=True)
    return max(0, line.received - handed_in - sent_back)
