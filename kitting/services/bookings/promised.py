"""What is promised to a booking, promise by promise, and the hours that it was planned with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.services.bookings.planned import hours_of
from kitting.services.stock.announced import DUE
from kitting.tables.bookings import IN_KIT, Booking, Promise
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder, Supplier

_PLANNED = select(Booking.planned).where(Booking.id == bindparam("booking"))
_PROMISED = (
    select(
        Promise.id, Promise.waiting, IN_KIT.label("picked"),
        Item.code.label("item"), ITEM_NAME, Item.unit,
        Promise.lot_id, Lot.code.label("lot"), Lot.bin, Promise.order_line_id,
        PurchaseOrder.number.label("order"), Supplier.name.label("supplier"), DUE,
        OrderLine.returnable,
    )
    .join(Item, Promise.item_id == Item.id)
    .outerjoin(Lot, Promise.lot_id == Lot.id)
    .outerjoin(OrderLine, Promise.order_line_id == OrderLine.id)
    .outerjoin(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .outerjoin(Supplier, PurchaseOrder.supplier_id == Supplier.id)
    .where(Promise.booking_id == bindparam("booking"))
    .order_by(Promise.id)
)  # fmt: skip
_FREE = select(
    OrderLine.id,
    (OrderLine.quantity - OrderLine.received - OrderLine.lost - OrderLine.promised).label("free"),
).where(OrderLine.id.in_(bindparam("keys", expanding=True)))


@dataclass(frozen=True, slots=True)
class Promised:
    """A promise of a booking; amounts in thousandths of `unit`.

    Of stock it names the lot and where it lies, of goods to come the order.
    """

    id: int
    waiting: int
    picked: int
    item: str
    name: str
    unit: str
    lot_id: int | None
    lot: str | None
    bin: str | None
    order_line_id: int | None
    order: str | None
    supplier: str | None
    due: date | None
    returnable: bool | None

    @property
    def of(self) -> tuple[int | None, int | None]:
        """What it is of: a lot or an order line, by key."""
        return self.lot_id, self.order_line_id


def read_promised(session: Session, booking_id: int) -> tuple[dict[int, Promised], int | None]:
    """The promises of a booking by key, in the order in which they were made, and its hours.

    The hours are in thousandths, as planned last; None where nobody wrote them down.
    """
    asked = {"booking": booking_id}
    rows = session.execute(_PROMISED, asked)
    hours = hours_of(session.execute(_PLANNED, asked).scalar_one())
    return {row.id: Promised(**row._mapping) for row in rows}, hours


def free_of_lines(session: Session, lines: list[int]) -> dict[int, int]:
    """What of some order lines still comes and is promised to nobody, in thousandths."""
    if not lines:
        return {}
    return {row.id: int(row.free) for row in session.execute(_FREE, {"keys": lines})}
