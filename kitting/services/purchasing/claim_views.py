"""Claims of orders with what was credited for them, as they are shown."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, func, select, union_all
from sqlalchemy.orm import Session, aliased

from kitting.calc.purchasing.order_sums import Charge, Happened, not_owed
from kitting.facts.money import Money
from kitting.facts.words import ClaimKind
from kitting.services.stock.over_goods import OF_OVER
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.tables.order_history import (
    Claim,
    CreditNote,
    CreditUndone,
    OrderNotice,
    ReceiptGoods,
    ReceiptUndone,
)
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Receipt, Supplier
from kitting.tables.vehicles import Vehicle
from kitting.views.orders import ClaimView, CreditView

# What a line is charged with follows from these.
CHARGED = (
    OrderLine.packs, OrderLine.price, OrderLine.core, OrderLine.quantity, OrderLine.received,
    OrderLine.lost,
)  # fmt: skip

# What is claimed: what lies in the lot, which may be a substitute, else what was ordered.
_OF_LOT = aliased(Item)
_CODE = func.coalesce(_OF_LOT.code, Item.code)


def charge_of(line: Any, credited: int = 0) -> Charge:
    """What a line, or a row of the columns CHARGED, is charged with."""
    return Charge(
        line.packs, line.price, line.core, line.quantity, line.received, line.lost, credited
    )


def read_claims(
    session: Session, which: ColumnElement[bool], values: Mapping[str, Any]
) -> dict[int, Sequence[ClaimView]]:
    """The claims of the orders of a condition, by order, in at most three statements."""
    of_orders = (
        select(Claim.id)
        .join(OrderLine, Claim.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(which)
    )
    given: dict[int, list[Any]] = defaultdict(list)
    undone: dict[int, str] = {}
    notes = (
        select(CreditNote, CreditUndone.why)
        .outerjoin(CreditUndone, CreditUndone.note_id == CreditNote.id)
        .where(CreditNote.claim_id.in_(of_orders))
        .order_by(CreditNote.id)
    )
    for note, wrong in session.execute(notes, values):
        given[note.claim_id].append(note)
        if wrong is not None:
            undone[note.id] = wrong
    rows = session.execute(
        select(
            Claim, OrderLine.order_id, OrderLine.seq, _CODE.label("code"), Item.unit,
            Lot.code.label("lot"),
            Booking.number, Vehicle.registration, Supplier.currency, *CHARGED,
            OF_OVER.label("of_over"),
        )
        .join(OrderLine, Claim.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
        .join(Item, OrderLine.item_id == Item.id)
        .outerjoin(Lot, Claim.lot_id == Lot.id)
        .outerjoin(_OF_LOT, Lot.item_id == _OF_LOT.id)
        .outerjoin(Booking, Claim.booking_id == Booking.id)
        .outerjoin(Vehicle, Booking.vehicle_id == Vehicle.id)
        .where(which)
        .order_by(Claim.id),
        values,
    ).all()  # fmt: skip
    hold = {key: [one for one in some if one.id not in undone] for key, some in given.items()}
    unpaid = _not_owed(session, rows, hold)
    found: dict[int, list[ClaimView]] = defaultdict(list)
    for row in rows:
        claim: Claim = row.Claim
        expected = _expected(row, unpaid.get(claim.id))
        found[row.order_id].append(
            ClaimView(
                number=claim.id,
                at=claim.at,
                kind=claim.kind,
                item=row.code,
                unit=row.unit,
                quantity=claim.quantity,
                why=claim.why,
                lot=row.lot,
                booking=row.number,
                vehicle=row.registration,
                expected=None if expected is None else Money(expected, row.currency),
                credits=tuple(
                    CreditView(
                        one.at,
                        Money(one.amount, row.currency),
                        one.document,
                        one.why,
                        undone.get(one.id),
                    )
                    for one in given[claim.id]
                ),
                line=row.seq,
                not_owed=unpaid.get(claim.id, 0),
                of_over=bool(row.of_over),
            )
        )
    return dict(found)


def _of_unusable(claim: Claim) -> bool:
    return claim.kind is ClaimKind.RETURN and claim.lot_id is None


# What of a line became lacking or is sent once more, with when; the newest state is its own `lost`.
_CHANGES = union_all(
    select(Receipt.order_line_id.label("line"), Receipt.at, ReceiptGoods.lost.label("lost"))
    .join(ReceiptGoods, ReceiptGoods.receipt_id == Receipt.id)
    .outerjoin(ReceiptUndone, ReceiptUndone.receipt_id == Receipt.id)
    .where(ReceiptUndone.receipt_id.is_(None), ReceiptGoods.lost != 0),
    select(OrderNotice.order_line_id, OrderNotice.at, -OrderNotice.again).where(
        OrderNotice.again > 0
    ),
).subquery()
# What happened at the same moment is taken in this order.
_CAME, _CLAIMED, _CREDITED, _SENT_AGAIN = range(4)


def _not_owed(
    session: Session, rows: Sequence[Any], given: Mapping[int, Sequence[CreditNote]]
) -> dict[int, int]:
    """For how much of each claim for unusable goods nothing is owed, by claim (thousandths)."""
    lines: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        if _of_unusable(row.Claim):
            lines[row.Claim.order_line_id].append(row)
    if not lines:
        return {}
    events: dict[int, list[tuple[datetime, int, Happened]]] = defaultdict(list)
    changes = select(_CHANGES.c.line, _CHANGES.c.at, _CHANGES.c.lost)
    for line, at, lost in session.execute(changes.where(_CHANGES.c.line.in_(lines))):
        rank = _CAME if lost > 0 else _SENT_AGAIN
        events[line].append((at, rank, Happened(lost=int(lost))))
    found: dict[int, int] = {}
    for line, some in lines.items():
        for row in some:
            claim: Claim = row.Claim
            made = Happened(claim=claim.id, quantity=claim.quantity)
            events[line].append((claim.at, _CLAIMED, made))
            notes = [note for note in given.get(claim.id, ()) if note.amount]
            for note in notes[:1]:
                credited = Happened(claim=claim.id, credited=True)
                events[line].append((max(note.at, claim.at), _CREDITED, credited))
        in_time = sorted(events[line], key=lambda one: (one[0], one[1]))
        found |= not_owed([one for *_, one in in_time], some[0].lost)
    return found


def _expected(row: Any, unpaid: int | None) -> int | None:
    """What is expected for a claim; of unusable goods their price and core, unless sent anew."""
    claim: Claim = row.Claim
    return claim.expected if unpaid is None else charge_of(row).share(claim.quantity - unpaid)
