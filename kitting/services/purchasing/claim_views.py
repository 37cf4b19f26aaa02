"""Claims of orders with what was credited for them, as they are shown."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, aliased

from kitting.calc.purchasing.order_sums import Charge, not_owed
from kitting.facts.money import Money
from kitting.facts.words import ClaimKind
from kitting.services.stock.over_goods import OF_OVER
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.tables.order_history import Claim, CreditNote
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier
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
    """The claims of the orders of a condition, by order, in two statements."""
    of_orders = (
        select(Claim.id)
        .join(OrderLine, Claim.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(which)
    )
    given: dict[int, list[Any]] = defaultdict(list)
    notes = (
        select(CreditNote).where(CreditNote.claim_id.in_(of_orders)).order_by(CreditNote.id)
    )  # fmt: skip
    for note in session.scalars(notes, values):
        given[note.claim_id].append(note)
    rows = session.execute(
        select(
            Claim, OrderLine.order_id, OrderLine.seq, _CODE.label("code"), Item.unit, Lot.code.label("lot"),
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
    unpaid = _not_owed(rows, given)
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
                    CreditView(one.at, Money(one.amount, row.currency), one.document, one.why)
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


def _not_owed(rows: Sequence[Any], given: Mapping[int, Sequence[CreditNote]]) -> dict[int, int]:
    """For how much of each claim for unusable goods nothing is owed, by claim (thousandths)."""
    lines: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        if _of_unusable(row.Claim):
            lines[row.Claim.order_line_id].append(row)
    found: dict[int, int] = {}
    for some in lines.values():
        asked = [
            (row.Claim.quantity, any(note.amount for note in given.get(row.Claim.id, ())))
            for row in some
        ]
        amounts = not_owed(asked, some[0].lost)
        found |= {row.Claim.id: amount for row, amount in zip(some, amounts, strict=True)}
    return found


def _expected(row: Any, unpaid: int | None) -> int | None:
    """What is expected for a claim; of unusable goods their price and core, unless sent anew."""
    claim: Claim = row.Claim
    return claim.expected if unpaid is None else charge_of(row).share(claim.quantity - unpaid)
