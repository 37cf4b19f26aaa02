"""Delivery notes that were taken in before: each is taken in once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Select, bindparam, select
from sqlalchemy.orm import Session, aliased

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.names import same_number
from kitting.services.purchasing.received_lots import own_lot
from kitting.tables.items import Item
from kitting.tables.order_history import ReceiptGoods, ReceiptUndone
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt, Supplier


@dataclass(frozen=True, slots=True)
class DeliveryNote:
    """The number of a delivery note, if it is stated.

    `another_line` says that it has the item on one more line than was taken in, or is another that
    reads the same.
    """

    number: str | None = None
    another_line: bool = False


NO_NOTE = DeliveryNote()


@dataclass(slots=True)
class Came:
    """What came of an item by one note, thousandths; `lots` of what was good."""

    good: int = 0
    damaged: int = 0
    wrong: int = 0
    lots: set[str] = field(default_factory=set)


def require_new_note(
    session: Session, order: PurchaseOrder, note: DeliveryNote, items: Collection[str]
) -> None:
    """Raise KittingError where some of the items came by the same note of the supplier before.

    What came by it and was taken back does not count: it is received anew.
    """
    if note.number is None or note.another_line:
        return
    rows = session.execute(
        _held(select(Receipt.document, Receipt.at, PurchaseOrder.number, Item.code)).where(
            PurchaseOrder.supplier_id == order.supplier_id,
            Receipt.document.is_not(None),
            Item.code.in_(items),
        )
    ).all()
    found = [row for row in rows if same_number(row.document, note.number)]
    if not found:
        return
    first = found[0]
    supplier = session.get_one(Supplier, order.supplier_id)
    took = dict.fromkeys((row.number, row.code) for row in found)
    raise KittingError(
        "{found} came by delivery note {document} of {name} already, for {number} on {at:%Y-%m-%d"
        " %H:%M}. If that was recorded wrongly, take it back first; if the note has the item on"
        " one more line, say so",
        found=" and ".join(dict.fromkeys(row.code for row in found)),
        document=first.document,
        name=supplier.name,
        number=first.number,
        at=first.at,
        then=[
            *(next_step(Action.CORRECT_RECEIPT, order=of, item=item) for of, item in took),
            next_step(Action.ANOTHER_LINE),
        ],
    )


def require_other_content(
    session: Session, order: PurchaseOrder, note: DeliveryNote, came: Mapping[str, Came]
) -> None:
    """Raise KittingError where a note without a number says what one of the order said before."""
    if note.number is not None or note.another_line:
        return
    for at, before in _earlier(session, order).items():
        if before.held and dict(came) in (before.came, before.held):
            raise KittingError(
                "{number}: a delivery note that says the same was taken in on {at:%Y-%m-%d"
                " %H:%M}. If that was recorded wrongly, take it back first; if this is another,"
                " give its number",
                number=order.number,
                at=at,
                then=[
                    *(
                        next_step(Action.CORRECT_RECEIPT, order=order.number, item=item)
                        for item in sorted(before.held)
                    ),
                    next_step(Action.NAME_NOTE),
                ],
            )


def add_up(rows: Iterable[tuple[str, Came]]) -> dict[str, Came]:
    """What came, by item."""
    found: dict[str, Came] = defaultdict(Came)
    for item, came in rows:
        one = found[item]
        one.good, one.damaged = one.good + came.good, one.damaged + came.damaged
        one.wrong, one.lots = one.wrong + came.wrong, one.lots | came.lots
    return dict(found)


_OVER = aliased(Lot)


def _held(wanted: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    """Of receipts with their lines, orders and items: those that were not taken back."""
    return _in_order(wanted).where(ReceiptUndone.receipt_id.is_(None))


def _in_order(wanted: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    """Receipts with their lines, orders and items, and whether they were taken back."""
    return (
        wanted.join(OrderLine, Receipt.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .join(Item, OrderLine.item_id == Item.id)
        .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
        .order_by(Receipt.id)
    )


_EARLIER = (
    _in_order(
        select(
            ReceiptUndone.receipt_id.label("undone"),
            Receipt.at, Item.code, Receipt.good, Receipt.over, Receipt.damaged, Receipt.wrong,
            Lot.code.label("lot"), _OVER.batch.label("over_batch"),
        )
    )
    .outerjoin(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
    .outerjoin(Lot, ReceiptGoods.lot_id == Lot.id)
    .outerjoin(_OVER, ReceiptGoods.over_lot_id == _OVER.id)
    .where(OrderLine.order_id == bindparam("order"))
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Note:
    """What a note said, by item, and what of that was not taken back."""

    came: Mapping[str, Came]
    held: Mapping[str, Came]


def _earlier(session: Session, order: PurchaseOrder) -> dict[datetime, _Note]:
    """What came of an order, by the moment at which it was taken in; taken back since or not.

    Where a part of a note was taken back, the note is not another one.
    """
    found: dict[datetime, list[tuple[str, Came]]] = defaultdict(list)
    held: dict[datetime, list[tuple[str, Came]]] = defaultdict(list)
    for row in session.execute(_EARLIER, {"order": order.id}):
        over = (row.over_batch or own_lot(order.number, row.code)) if row.over else None
        lots = {lot for lot in (row.lot, over) if lot}
        came = Came(row.good + row.over, row.damaged, row.wrong, lots)
        found[row.at].append((row.code, came))
        if row.undone is None:
            held[row.at].append((row.code, came))
    return {at: _Note(add_up(rows), add_up(held[at])) for at, rows in found.items()}
