"""What statements of the audit are built from: sums, and the columns that every fault has.

Amounts are thousandths of the item's unit. Rows that refer to nothing are joined from the outside,
so that a lost parent hides no fault.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Select,
    Subquery,
    cast,
    func,
    literal,
    null,
    select,
    union_all,
)

from kitting.tables.bookings import Booking, Promise
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder
from kitting.views.upkeep import AuditFault, AuditSubject

COLUMNS = (
    "subject", "fault", "name", "part", "item", "lot", "place", "unit", "recorded", "recomputed",
)  # fmt: skip


def total(amount: Any) -> ColumnElement[int]:
    """The sum of an amount, 0 of nothing."""
    # PostgreSQL sums BIGINT to NUMERIC.
    return cast(func.coalesce(func.sum(amount), 0), BigInteger)


def total_per(key: Any, amount: Any, *where: ColumnElement[bool]) -> Subquery:
    """The sum of an amount for each key."""
    return (
        select(key.label("key"), total(amount).label("amount")).where(*where).group_by(key)
    ).subquery()


def fault_columns(
    subject: AuditSubject | ColumnElement[str], fault: AuditFault, **values: Any
) -> list[Any]:
    """The columns of a fault: what it is of, what is wrong, and what else is known of it."""
    given = {
        "subject": literal(subject.value) if isinstance(subject, AuditSubject) else subject,
        "fault": literal(fault.value),
        **values,
    }
    return [given.get(name, null()).label(name) for name in COLUMNS]


def of_lot(
    fault: AuditFault,
    recorded: Any,
    recomputed: Any,
    subject: AuditSubject | ColumnElement[str] = AuditSubject.LOT,
    name: Any = None,
) -> Select[Any]:
    """Faults of lots; the caller adds what they are judged by."""
    return (
        select(
            *fault_columns(
                subject,
                fault,
                name=Lot.code if name is None else name,
                item=Item.code,
                lot=Lot.code,
                place=Branch.code,
                unit=Item.unit,
                recorded=recorded,
                recomputed=recomputed,
            )
        )
        .select_from(Lot)
        .outerjoin(Item, Lot.item_id == Item.id)
        .outerjoin(Branch, Lot.branch_id == Branch.id)
    )


def of_line(fault: AuditFault, recorded: Any, recomputed: Any) -> Select[Any]:
    """Faults of order lines."""
    return (
        select(
            *fault_columns(
                AuditSubject.ORDER_LINE,
                fault,
                name=PurchaseOrder.number,
                part=OrderLine.part,
                item=Item.code,
                place=Branch.code,
                unit=Item.unit,
                recorded=recorded,
                recomputed=recomputed,
            )
        )
        .select_from(OrderLine)
        .outerjoin(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .outerjoin(Item, OrderLine.item_id == Item.id)
        .outerjoin(Branch, PurchaseOrder.branch_id == Branch.id)
    )


def of_promise(fault: AuditFault, recorded: Any, recomputed: Any) -> Select[Any]:
    """Faults of promises, named by their booking."""
    return (
        select(
            *fault_columns(
                AuditSubject.BOOKING,
                fault,
                name=Booking.number,
                item=Item.code,
                lot=Lot.code,
                place=Branch.code,
                unit=Item.unit,
                recorded=recorded,
                recomputed=recomputed,
            )
        )
        .select_from(Promise)
        .join(Booking, Promise.booking_id == Booking.id)
        .outerjoin(Lot, Promise.lot_id == Lot.id)
        .outerjoin(Item, Promise.item_id == Item.id)
        .outerjoin(Branch, Booking.branch_id == Branch.id)
        .order_by(Promise.id)
    )


def recorded_side(amount: Any, *keys: Any) -> Select[Any]:
    """What is recorded, by keys; to be compared with the other side."""
    return _side((amount, _nothing()), keys)


def recomputed_side(amount: Any, *keys: Any) -> Select[Any]:
    """What the movements come to, by the same keys."""
    return _side((_nothing(), amount), keys)


def _nothing() -> ColumnElement[int]:
    return cast(literal(0), BigInteger)


def _side(pair: tuple[Any, Any], keys: tuple[Any, ...]) -> Select[Any]:
    return select(
        *(key.label(f"key{number}") for number, key in enumerate(keys)),
        pair[0].label("recorded"),
        pair[1].label("recomputed"),
    )


def differing(left: Select[Any], right: Select[Any], keys: int) -> Subquery:
    """Two sides by the same keys where they differ; neither side hides the other's rows."""
    rows = union_all(left, right).subquery()
    names = [rows.c[f"key{number}"] for number in range(keys)]
    recorded, recomputed = total(rows.c.recorded), total(rows.c.recomputed)
    return (
        select(*names, recorded.label("recorded"), recomputed.label("recomputed"))
        .group_by(*names)
        .having(recorded != recomputed)
    ).subquery()


def of_kits(fault: AuditFault, recorded: Select[Any], recomputed: Select[Any]) -> Select[Any]:
    """Faults of lots in kits: two sides by booking and lot that differ."""
    off = differing(recorded, recomputed, 2)
    booking = func.coalesce(Booking.number, "?")
    return (
        of_lot(fault, off.c.recorded, off.c.recomputed, AuditSubject.BOOKING, booking)
        .join(off, off.c.key1 == Lot.id)
        .outerjoin(Booking, off.c.key0 == Booking.id)
        .order_by(off.c.key0, off.c.key1)
    )
