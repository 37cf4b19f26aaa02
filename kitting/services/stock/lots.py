"""Lots and arrivals of some items as they are judged at a fitting date."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import Arrival
from kitting.calc.stock.allocation import Lot as StockLot
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.reasons import because
from kitting.facts.shelf_life import Shelf, ShelfReason, best_before, opened_limit
from kitting.facts.units import Quantity
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, PurchaseOrder

POLICY = "ISO 2230"


@dataclass(frozen=True, slots=True)
class Shelves:
    """The lots and arrivals of some items in one branch; lots by key with how long they keep."""

    lots: tuple[StockLot, ...]
    arrivals: tuple[Arrival, ...]
    rows: Mapping[int, Lot]
    shelf: Mapping[int, Shelf]

    def of(self, item: int) -> list[StockLot]:
        """The lots of one item."""
        return [lot for lot in self.lots if lot.item == item]

    def coming(self, item: int) -> list[Arrival]:
        """The arrivals of one item."""
        return [arrival for arrival in self.arrivals if arrival.item == item]


def shelf_of(lot: Lot, item: Item, policy: str = POLICY) -> Shelf:
    """How long a lot keeps: cure date and policy for rubber, the packet for the rest, opened life.

    The earliest limit holds; what is not rubber and bears no date does not age. A look extends
    rubber only, and only by a policy that has an extension.
    """
    if item.elastomer is not None:
        shelf = best_before(lot.made_on, item.elastomer, policy, lot.expires_on, lot.inspected_on)
    else:
        shelf = _by_packet(lot, item)
    if lot.opened_on is None:
        return shelf
    opened = opened_limit(shelf.limit, lot.opened_on, item.opened_life_days)
    return opened if opened.known or shelf.limit is None else shelf


def unfit(lot: Lot, shelf: Shelf, fit_on: date) -> str | None:
    """Why a lot may not be fitted on a day, however it was promised; None if it may."""
    if lot.held is not None:
        return f"HELD: {lot.held}"
    if shelf.limit is not None and shelf.limit < fit_on:
        return f"EXPIRES {shelf.limit}, before the fitting date"
    return None


def _by_packet(lot: Lot, item: Item) -> Shelf:
    if lot.made_on is not None and item.shelf_life_months:
        made = months_later(lot.made_on, item.shelf_life_months)
        if lot.expires_on is None or made < lot.expires_on:
            months = because(ShelfReason.MONTHS, made=lot.made_on, months=item.shelf_life_months)
            return Shelf(made, months)
    if lot.expires_on is not None:
        return best_before(None, None, "packet", lot.expires_on)
    if item.shelf_life_months:
        return Shelf(None, because(ShelfReason.NO_DATES), known=False)
    return Shelf(None, because(ShelfReason.AGELESS))


def months_later(day: date, months: int) -> date:
    """The same day some months later, the last of the month where it has none."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def read_shelves(
    session: Session, branch_id: int, items: Collection[int], policy: str = POLICY
) -> Shelves:
    """Every lot with something on hand and every order line still coming, of some items."""
    rows = session.execute(
        select(Lot, Item)
        .join(Item, Lot.item_id == Item.id)
        .where(Lot.branch_id == branch_id, Lot.item_id.in_(items), Lot.on_hand > 0)
        .order_by(Lot.id)
        .execution_options(populate_existing=True)
    ).all()
    shelf = {lot.id: shelf_of(lot, item, policy) for lot, item in rows}
    lots = tuple(
        StockLot(
            lot.id,
            lot.item_id,
            lot.on_hand,
            lot.promised,
            shelf[lot.id].limit,
            lot.held is not None,
            lot.received_on,
        )
        for lot, _ in rows
    )
    lines = session.execute(
        select(OrderLine, PurchaseOrder.due_late)
        .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
        .where(
            PurchaseOrder.branch_id == branch_id,
            PurchaseOrder.cancelled_at.is_(None),
            OrderLine.item_id.in_(items),
            OrderLine.quantity > OrderLine.received + OrderLine.lost,
        )
        .order_by(PurchaseOrder.due_late, OrderLine.id)
        .execution_options(populate_existing=True)
    )
    return Shelves(
        lots,
        tuple(
            Arrival(
                line.id,
                line.item_id,
                due_late,
                line.quantity - line.received - line.lost,
                line.promised,
            )
            for line, due_late in lines
        ),
        {lot.id: lot for lot, _ in rows},
        shelf,
    )


def find_items(session: Session, codes: Sequence[str]) -> dict[str, Item]:
    """Items by code; raises UnknownNameError naming the first that is not there."""
    found = {item.code: item for item in session.scalars(select(Item).where(Item.code.in_(codes)))}
    for code in codes:
        if code not in found:
            near = nearest(code, session.scalars(select(Item.code)))
            told = f"Did you mean {' or '.join(near)}?" if near else "Describe it first"
            raise UnknownNameError(f"no item {code!r}. {told}")
    return found


def require_amount(amount: Quantity, item: Item) -> None:
    """Raise KittingError for an amount in another unit than the item's, or a part of a piece."""
    if amount.unit != item.unit:
        raise KittingError(
            f"given in {amount.unit}, but {item.code} is stocked in {item.unit}."
            f" Give it in {item.unit}"
        )
    if item.unit == "each" and amount.thousandths % 1000:
        raise KittingError(f"{amount.thousandths / 1000:g} of {item.code}: pieces are whole")
