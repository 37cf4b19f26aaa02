"""What came of orders, receipt by receipt: one at a time, whatever lines of the order it filled."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, func, select
from sqlalchemy.orm import aliased

from kitting.actions import Action, next_step
from kitting.calc.stock.storage import shelf_of
from kitting.facts.units import typed_quantity
from kitting.facts.words import ClaimKind
from kitting.services.purchasing.received_lots import own_lot
from kitting.services.stock.lots import stored_lot
from kitting.services.stock.over_goods import KEPT
from kitting.tables.items import Item
from kitting.tables.order_history import Claim, ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder, Receipt
from kitting.views.orders import ClaimView, ExpiredView, OverView, ReceiptView

_ORDERED, _CAME = aliased(Item), aliased(Item, name="came")
_OVER = aliased(Lot, name="over_lot")


# What of the lot that something went to is claimed under warranty: it lies there until then.
_CLAIMED = (
    select(func.coalesce(func.sum(Claim.quantity), 0))
    .where(Claim.lot_id == Lot.id, Claim.kind == ClaimKind.WARRANTY)
    .correlate(Lot)
    .scalar_subquery()
)


def receipts_of(which: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    """The receipts that hold of the orders of a condition, each for one line, as they came."""
    return (
        select(
            Receipt, OrderLine, _ORDERED.code.label("item"), _ORDERED.unit.label("unit"),
            PurchaseOrder.number.label("order"), Branch.shelf_policy.label("policy"),
            Branch.code.label("branch"), ReceiptGoods, KEPT.label("kept"), _CAME, Lot, _OVER,
            _CLAIMED.label("claimed"),
        )
        .join(OrderLine, Receipt.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .join(Branch, PurchaseOrder.branch_id == Branch.id)
        .join(_ORDERED, OrderLine.item_id == _ORDERED.id)
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .outerjoin(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
        .join(_CAME, _CAME.id == func.coalesce(ReceiptGoods.item_id, OrderLine.item_id))
        .outerjoin(Lot, ReceiptGoods.lot_id == Lot.id)
        .outerjoin(_OVER, ReceiptGoods.over_lot_id == _OVER.id)
        .where(which, ReceiptUndone.receipt_id.is_(None))
        .order_by(Receipt.id)
        # Balances are changed by statements: what the session knows of a lot may be old.
        .execution_options(populate_existing=True)
    )  # fmt: skip


def at_once(rows: Iterable[Row[Any]]) -> list[list[Row[Any]]]:
    """Receipts by what came at once: of one item, of one packet, by one note, in one moment.

    Each line is filled once by it. What was kept of what came too much came by itself.
    """
    found: dict[tuple[Any, ...], list[list[Row[Any]]]] = defaultdict(list)
    for row in rows:
        parts = found[_moment(row)]
        if parts and _belongs(row, parts[-1]):
            parts[-1].append(row)
        else:
            parts.append([row])
    every = [part for parts in found.values() for part in parts]
    return sorted(every, key=lambda part: part[0].Receipt.id)


def _moment(row: Row[Any]) -> tuple[Any, ...]:
    one = row.Receipt
    return (row.order, row.item, row.came.id, one.at, one.document, one.note)


def _belongs(row: Row[Any], part: Sequence[Row[Any]]) -> bool:
    if row.kept or part[-1].kept:
        return False
    names = {_packet(one) for one in (*part, row)} - {None}
    return len(names) <= 1 and row.OrderLine.id not in {one.OrderLine.id for one in part}


def receipt_view(part: Sequence[Row[Any]]) -> ReceiptView:
    """What came at once, as it is shown."""
    first = part[0]
    lot = next((row.Lot for row in part if row.Lot is not None), None)
    over = next((row.over_lot for row in part if row.Receipt.over), None)
    total = {
        name: sum(getattr(row.Receipt, name) for row in part)
        for name in ("good", "damaged", "wrong", "over")
    }
    return ReceiptView(
        at=first.Receipt.at,
        item=first.item,
        came=first.came.code,
        unit=first.unit,
        lines=tuple(row.OrderLine.seq for row in part),
        **total,
        note_number=first.Receipt.document,
        remark=first.Receipt.note,
        lot=lot and lot.code,
        over_lot=over and over.code,
        kept=bool(first.kept),
        expired=_expired(first, lot, total["good"]) or _expired(first, over, total["over"]),
    )


def _expired(row: Row[Any], lot: Lot | None, amount: int) -> ExpiredView | None:
    """That what came was past its day already, by the policy of the branch; else None.

    With it goes how much of the `amount` still lies in its lot, and how to be rid of it.
    """
    if lot is None:
        return None
    limit = shelf_of(stored_lot(lot, row.came), row.policy).limit
    if limit is None or limit >= row.Receipt.at.date():
        return None
    there = min(amount, lot.on_hand)
    open_ = min(amount, lot.on_hand - row.claimed)
    goes_back = row.OrderLine.returnable or lot is row.over_lot
    step = next_step(
        Action.SEND_BACK if goes_back else Action.CLAIM_WARRANTY,
        order=row.order, item=row.came.code, quantity=typed_quantity(open_, row.unit), lot=lot.code,
    )  # fmt: skip
    return ExpiredView(lot.code, limit, there, step if open_ > 0 else None)


def too_much(rows: Iterable[Row[Any]], claims: Iterable[ClaimView]) -> tuple[OverView, ...]:
    """What came beyond an order and still lies there, neither kept nor sent back, by lot."""
    left: dict[tuple[str, str], int] = defaultdict(int)
    there: dict[tuple[str, str], tuple[str, int]] = {}
    for row in rows:
        if row.over_lot is not None:
            key = (row.item, row.over_lot.code)
            left[key] += row.Receipt.over - row.kept
            there[key] = (row.unit, row.over_lot.on_hand)
    for claim in claims:
        if claim.of_over and claim.lot is not None:
            left[claim.item, claim.lot] -= claim.quantity
    return tuple(
        OverView(item, lot, unit, min(left[item, lot], on_hand))
        for (item, lot), (unit, on_hand) in there.items()
        if min(left[item, lot], on_hand) > 0
    )


def _packet(row: Row[Any]) -> str | None:
    """The lot that a receipt's packet has, or is given; None where nothing usable came."""
    if row.Lot is not None:
        return str(row.Lot.code)
    return None if row.over_lot is None else row.over_lot.batch or own_lot(row.order, row.item)
