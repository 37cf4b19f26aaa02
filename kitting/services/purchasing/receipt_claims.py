"""What came and is claimed from the supplier: it came, so its receipt stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Row, bindparam, func, select
from sqlalchemy.orm import Session

from kitting.actions import Action, NextStep, next_step
from kitting.errors import KittingError
from kitting.facts.units import format_quantity, typed_quantity
from kitting.facts.words import ClaimKind
from kitting.services.stock.over_goods import KEPT, OF_OVER
from kitting.tables.order_history import (
    CREDIT_HOLDS,
    Claim,
    CreditNote,
    ReceiptGoods,
    ReceiptUndone,
)
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt

_CREDITED = (
    select(func.sum(CreditNote.amount))
    .where(CreditNote.claim_id == Claim.id, CREDIT_HOLDS)
    .scalar_subquery()
)
_CLAIMS = select(Claim, _CREDITED.label("credited")).order_by(Claim.id)
_OF_LINE = _CLAIMS.where(Claim.order_line_id == bindparam("line"), ~OF_OVER)
# What came too much is of no line: it goes back by its lot.
_OF_OVER_LOT = _CLAIMS.join(OrderLine, Claim.order_line_id == OrderLine.id).where(
    OrderLine.order_id == bindparam("order"), Claim.lot_id == bindparam("lot")
)
_OVER = (
    select(func.coalesce(func.sum(Receipt.over - KEPT), 0))
    .join(OrderLine, Receipt.order_line_id == OrderLine.id)
    .join(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
    .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
    .where(
        OrderLine.order_id == bindparam("order"),
        ReceiptGoods.over_lot_id == bindparam("lot"),
        ReceiptUndone.receipt_id.is_(None),
        Receipt.id != bindparam("but"),
    )
)
_CAME = (
    select(
        func.coalesce(func.sum(Receipt.good), 0).label("good"),
        func.coalesce(func.sum(Receipt.damaged + Receipt.wrong), 0).label("unusable"),
    )
    .outerjoin(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
    .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
    .where(
        Receipt.order_line_id == bindparam("line"),
        ReceiptUndone.receipt_id.is_(None),
        Receipt.id != bindparam("but"),
    )
)


def require_unclaimed(session: Session, order: PurchaseOrder, part: Sequence[Row[Any]]) -> None:
    """Raise KittingError where the supplier owes, or owed, for goods of what came at once.

    What else came for the same lines bears their claims first. A claim that was refused, of goods
    that did not leave a shelf for it, binds nothing.
    """
    for row in part:
        if row.Receipt.over:
            of_lot = {"order": order.id, "lot": row.over_lot.id}
            back = session.execute(_OF_OVER_LOT, of_lot).all()
            left = session.scalar(_OVER, {**of_lot, "but": row.Receipt.id}) or 0
            if sum(one.Claim.quantity for one in back) > left:
                _refuse(order, row, back, row.over_lot)
        line = row.OrderLine.id
        claims = [one for one in session.execute(_OF_LINE, {"line": line}) if _binds(one)]
        rest = session.execute(_CAME, {"line": line, "but": row.Receipt.id}).one()
        for left, some in _bound(claims, rest):
            if sum(one.Claim.quantity for one in some) > left:
                _refuse(order, row, some, row.Lot)


def _binds(row: Row[Any]) -> bool:
    refused = row.credited is not None and row.credited == 0
    left_a_shelf = row.Claim.kind is ClaimKind.RETURN and row.Claim.lot_id is not None
    return left_a_shelf or not refused


def _bound(
    claims: Sequence[Row[Any]], rest: Row[int, int]
) -> tuple[tuple[int, list[Row[Any]]], ...]:
    """Of each sort of goods what is left without a receipt (thousandths), and its claims."""
    back = [one for one in claims if one.Claim.kind is ClaimKind.RETURN]
    sent = [one for one in back if one.Claim.lot_id is not None]
    cores = [one for one in claims if one.Claim.kind is ClaimKind.CORE]
    failed = [one for one in claims if one.Claim.kind is ClaimKind.WARRANTY]
    return (
        (rest.unusable, [one for one in back if one.Claim.lot_id is None]),
        (rest.good, [*sent, *failed]),
        (rest.good, [*sent, *cores]),
    )


def _refuse(
    order: PurchaseOrder, row: Row[Any], claims: Sequence[Row[Any]], lot: Lot | None
) -> None:
    named = ", ".join(
        f"claim {one.Claim.id} ({one.Claim.kind} of"
        f" {format_quantity(one.Claim.quantity, row.unit)},"
        f" {'credited' if one.credited else 'not answered yet'})"
        for one in claims
    )
    raise KittingError(
        "{number}: {item} of this receipt is claimed from the supplier: {named}. So it came, and"
        " its receipt stands. If more came than is recorded, receive that as well; if less lies"
        " there, count its lot",
        number=order.number,
        item=row.item,
        named=named,
        then=_steps(order, row, lot),
    )


def _steps(order: PurchaseOrder, row: Row[Any], lot: Lot | None) -> list[NextStep]:
    """How the stock is put right without taking the receipt back."""
    if lot is None:
        return [next_step(Action.RECEIVE_ITEM, order=order.number, item=row.item)]
    there = typed_quantity(lot.on_hand, row.unit)
    return [
        next_step(
            Action.COUNT_STOCK, branch=row.branch, item=row.came.code, lot=lot.code, quantity=there
        )
    ]
