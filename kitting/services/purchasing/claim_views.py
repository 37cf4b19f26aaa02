"""Claims of orders with what was credited for them, as they are shown."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from kitting.facts.money import Money
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.tables.order_history import Claim, CreditNote
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier
from kitting.tables.vehicles import Vehicle
from kitting.views.orders import ClaimView, CreditView


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
            Claim, OrderLine.order_id, Item.code, Item.unit, Lot.code.label("lot"),
            Booking.number, Vehicle.registration, Supplier.currency,
        )
        .join(OrderLine, Claim.order_line_id == OrderLine.id)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .join(Supplier, PurchaseOrder.supplier_id == Supplier.id)
        .join(Item, OrderLine.item_id == Item.id)
        .outerjoin(Lot, Claim.lot_id == Lot.id)
        .outerjoin(Booking, Claim.booking_id == Booking.id)
        .outerjoin(Vehicle, Booking.vehicle_id == Vehicle.id)
        .where(which)
        .order_by(Claim.id),
        values,
    )  # fmt: skip
    found: dict[int, list[ClaimView]] = defaultdict(list)
    for claim, order, item, unit, lot, booking, vehicle, currency in rows:
        found[order].append(
            ClaimView(
                number=claim.id,
                at=claim.at,
                kind=claim.kind,
                item=item,
                unit=unit,
                quantity=claim.quantity,
                why=claim.why,
                lot=lot,
                booking=booking,
                vehicle=vehicle,
                expected=None if claim.expected is None else Money(claim.expected, currency),
                credits=tuple(
                    CreditView(one.at, Money(one.amount, currency), one.document, one.why)
                    for one in given[claim.id]
                ),
            )
        )
    return dict(found)
