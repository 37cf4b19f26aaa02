"""Lots and arrivals of some items as they are judged at a fitting date."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import and_, bindparam, func, or_, select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import Arrival
from kitting.calc.stock.allocation import Lot as StockLot
from kitting.calc.stock.storage import Content, Stored, shelf_of
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import ShelfPolicy
from kitting.services.item_numbers import item_scanned
from kitting.services.lookup import other_unit, unknown
from kitting.services.stock.announced import DUE_LATE
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.tables.stock import CustomerLot, Lot, Transfer
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder

# What a lot is judged by, of its row and of its item's: select them and give the row to `stored`.
_NATURE = (
    Lot.made_on, Lot.expires_on, Lot.opened_on, Lot.inspected_on, Lot.received_on, Lot.held,
    Item.elastomer, Item.shelf_life_months, Item.opened_life_days, Item.rubber, Item.ages,
    Item.contents_age,
)  # fmt: skip


def _part_pack(amount: Any) -> Any:
    """Whether it is no whole number of packs that keep only so long once opened."""
    begun = and_(Item.opened_life_days > 0, Item.pack > 0, amount % Item.pack != 0)
    return func.coalesce(begun, False).label("part_pack")


STORED = (*_NATURE, _part_pack(Lot.on_hand))
# The same of what a transfer brings: as it will arrive, whatever lies in its lot by now.
STORED_ON_THE_WAY = (*_NATURE, _part_pack(Transfer.quantity))
# By what a booking is judged: its own policy, else its branch's.
POLICY = func.coalesce(Booking.shelf_policy, Branch.shelf_policy).label("policy")

_LOTS = (
    select(
        Lot.id, Lot.item_id, Lot.on_hand, Lot.promised, *STORED,
        Branch.shelf_policy,
    )
    .join(Item, Lot.item_id == Item.id)
    .join(Branch, Lot.branch_id == Branch.id)
    .outerjoin(CustomerLot, CustomerLot.lot_id == Lot.id)
    .where(
        Lot.branch_id == bindparam("branch"),
        Lot.item_id.in_(bindparam("items", expanding=True)),
        Lot.on_hand > 0,
        # What a customer brought is for nobody else.
        or_(CustomerLot.lot_id.is_(None), CustomerLot.booking_id == bindparam("booking")),
    )
    .order_by(Lot.id)
)  # fmt: skip
_ARRIVALS = (
    select(
        OrderLine.id, OrderLine.item_id, DUE_LATE, OrderLine.promised,
        (OrderLine.quantity - OrderLine.received - OrderLine.lost).label("coming"),
    )
    .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
    .where(
        PurchaseOrder.branch_id == bindparam("branch"),
        PurchaseOrder.cancelled_at.is_(None),
        OrderLine.item_id.in_(bindparam("items", expanding=True)),
        OrderLine.quantity > OrderLine.received + OrderLine.lost,
    )
    .order_by(DUE_LATE, OrderLine.id)
)  # fmt: skip
_ITEMS = select(Item).where(Item.code.in_(bindparam("codes", expanding=True)))


@dataclass(frozen=True, slots=True)
class Shelves:
    """The lots and arrivals of some items in one branch, by item."""

    lots: Mapping[int, Sequence[StockLot]]
    arrivals: Mapping[int, Sequence[Arrival]]

    def of(self, item: int) -> Sequence[StockLot]:
        """The lots of one item."""
        return self.lots.get(item, ())

    def coming(self, item: int) -> Sequence[Arrival]:
        """The arrivals of one item."""
        return self.arrivals.get(item, ())


def stored(row: Any) -> Stored:
    """What a row with the columns of STORED is judged by."""
    return Stored(
        made_on=row.made_on,
        expires_on=row.expires_on,
        opened_on=row.opened_on,
        inspected_on=row.inspected_on,
        on_hold=row.held,
        elastomer=row.elastomer,
        shelf_life_months=row.shelf_life_months,
        opened_life_days=row.opened_life_days,
        rubber=row.rubber,
        ages=row.ages,
        received_on=row.received_on,
        contents=contents(row.contents_age),
        part_pack=row.part_pack,
    )


def stored_lot(lot: Lot, item: Item) -> Stored:
    """What a lot is judged by."""
    return Stored(
        made_on=lot.made_on,
        expires_on=lot.expires_on,
        opened_on=lot.opened_on,
        inspected_on=lot.inspected_on,
        on_hold=lot.held,
        elastomer=item.elastomer,
        shelf_life_months=item.shelf_life_months,
        opened_life_days=item.opened_life_days,
        rubber=item.rubber,
        ages=item.ages,
        received_on=lot.received_on,
        contents=contents(item.contents_age),
        part_pack=bool(item.opened_life_days and item.pack and lot.on_hand % item.pack),
    )


def contents(text: str) -> tuple[Content, ...]:
    """What of a packet ages, of the text that `Item.contents_age` makes."""
    found = []
    for line in dict.fromkeys(text.split()):
        elastomer, months, rubber, ages = line.split("|")
        found.append(
            Content(
                elastomer=elastomer or None,
                shelf_life_months=int(months) if months else None,
                rubber=rubber == "1",
                ages=ages == "1",
            )
        )
    return tuple(found)


def read_shelves(
    session: Session,
    branch_id: int,
    items: Collection[int],
    own_policy: ShelfPolicy | None = None,
    booking_id: int | None = None,
) -> Shelves:
    """Every lot with something on hand and every order line still coming, of some items.

    Judged by the branch's policy of storage life, or by the one given: a booking's own. What a
    customer brought is there for its booking only (`booking_id`).
    """
    asked = {"branch": branch_id, "items": list(items)}
    of_booking = {**asked, "booking": booking_id}
    lots: dict[int, list[StockLot]] = defaultdict(list)
    for row in session.execute(_LOTS, of_booking):
        shelf = shelf_of(stored(row), own_policy or row.shelf_policy)
        lots[row.item_id].append(
            StockLot(
                key=row.id,
                item=row.item_id,
                quantity=row.on_hand,
                promised=row.promised,
                expires=shelf.limit,
                on_hold=row.held is not None,
                received=row.received_on,
                age_known=shelf.known,
            )
        )
    arrivals: dict[int, list[Arrival]] = defaultdict(list)
    for line in session.execute(_ARRIVALS, asked):
        arrivals[line.item_id].append(
            Arrival(line.id, line.item_id, line.due_late, line.coming, line.promised)
        )
    return Shelves(lots, arrivals)


def find_items(session: Session, codes: Sequence[str]) -> dict[str, Item]:
    """Items by code, or by what was scanned; raises UnknownNameError for the first unknown one."""
    found = {item.code: item for item in session.scalars(_ITEMS, {"codes": list(codes)})}
    for code in codes:
        if code not in found:
            scanned = item_scanned(session, code)
            if scanned is None:
                raise unknown("item", code, session.scalars(select(Item.code)))
            found[code] = scanned
    return found


def find_item(session: Session, code: str) -> Item:
    """An item by code; raises UnknownNameError."""
    return find_items(session, [code])[code]


def require_amount(amount: Quantity, item: Item) -> None:
    """Raise KittingError for an amount in another unit than the item's, or a part of a piece."""
    if amount.unit != item.unit:
        raise KittingError(
            "given in {unit}, but {code} is stocked in {item_unit}. {other_unit}",
            unit=amount.unit,
            code=item.code,
            item_unit=item.unit,
            other_unit=other_unit(amount.unit, item.unit),
        )
    if item.unit == "each" and amount.thousandths % 1000:
        raise KittingError(
            "{thousandths:g} of {code}: pieces are whole",
            thousandths=amount.thousandths / 1000,
            code=item.code,
        )
