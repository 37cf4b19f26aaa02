"""Stock on the shelves: listing, counting, scrapping."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.stock.storage import judge
from kitting.errors import FigureError, KittingError, UnknownNameError
from kitting.facts.gs1 import Scan, unread_text
from kitting.facts.names import natural_key
from kitting.facts.packets import PacketFact, typed_otherwise
from kitting.facts.units import Quantity
from kitting.facts.words import LotState, MovementKind, ShelfPolicy
from kitting.services.branches import find_branch
from kitting.services.db.idempotency import earlier, record
from kitting.services.item_numbers import scan_named
from kitting.services.stock.ledger import Move, TakenError, post
from kitting.services.stock.lots import STORED, find_item, find_items, require_amount, stored
from kitting.services.stock.scans import NotOnRecord, require_recorded
from kitting.store import writing
from kitting.tables.bookings import Booking
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import CustomerLot, Lot
from kitting.tables.supply import Branch
from kitting.views.stock import LotView

AS_SCANNED = "-"  # for a lot: the one that the scan says

# What `lot_view` needs of a lot, its item and its branch.
LOT_VIEW = (
    select(
        Lot.id, Lot.code, Lot.bin, Lot.on_hand, Lot.promised, Lot.inspection, *STORED,
        Item.code.label("item"), ITEM_NAME, Item.unit, Branch.code.label("branch"),
        Branch.shelf_policy, Booking.number.label("customer_of"),
    )
    .join(Item, Lot.item_id == Item.id)
    .join(Branch, Lot.branch_id == Branch.id)
    .outerjoin(CustomerLot, CustomerLot.lot_id == Lot.id)
    .outerjoin(Booking, CustomerLot.booking_id == Booking.id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LotName:
    """Which lot: its branch (None: the only one, or one's own), its item and its code."""

    branch: str | None
    item: str
    lot: str


def list_stock(
    session: Session,
    branch: str | None,
    items: Sequence[str],
    on: date,
    states: Collection[LotState] = (),
) -> tuple[LotView, ...]:
    """What lies on the shelves, judged at a date, by branch, item and how long it keeps.

    With `states` only what is in one of them.
    """
    wanted = LOT_VIEW.where(Lot.on_hand > 0)
    if branch is not None:
        wanted = wanted.where(Lot.branch_id == find_branch(session, branch).id)
    if items:
        known = find_items(session, items)
        wanted = wanted.where(Lot.item_id.in_([item.id for item in known.values()]))
    judged = (lot_view(row, on) for row in session.execute(wanted))
    views = [view for view in judged if not states or view.state in states]
    return tuple(
        sorted(
            views,
            key=lambda v: (
                v.branch,
                natural_key(v.item),
                v.keeps_to or date.max,
                natural_key(v.lot),
            ),
        )
    )


def lot_view(row: Any, on: date, policy: ShelfPolicy | None = None) -> LotView:
    """A lot judged at a date, by its branch's policy or the one given."""
    judged = judge(stored(row), policy or row.shelf_policy, on)
    return LotView(
        branch=row.branch,
        item=row.item,
        name=row.name,
        lot=row.code,
        bin=row.bin,
        unit=row.unit,
        on_hand=row.on_hand,
        promised=row.promised,
        # A customer's own part is free for nobody.
        free=(
            row.on_hand - row.promised if judged.may_be_fitted and row.customer_of is None else 0
        ),
        keeps_to=judged.shelf.limit,
        keeps_why=judged.shelf.reason,
        state=judged.state,
        on_hold=row.held,
        inspected_on=row.inspected_on,
        inspection=row.inspection,
        customer_of=row.customer_of,
    )


def find_lot(session: Session, name: LotName) -> tuple[Lot, Item]:
    """A lot of an item in a branch; raises UnknownNameError naming the lots that are there.

    Where a scan stands for the item, raises as `find_scanned`.
    """
    found = find_scanned(session, name)
    return found.lot, found.item


@dataclass(frozen=True, slots=True)
class ScannedLot:
    """A lot by its names; where it was scanned, what its packet says that is not used."""

    name: LotName
    lot: Lot
    item: Item
    unused: str = ""
    not_on_record: tuple[NotOnRecord, ...] = ()


def find_scanned(session: Session, name: LotName) -> ScannedLot:
    """A lot whose item may be named by a scan; AS_SCANNED as its lot stands for that of the scan.

    Raises UnknownNameError naming the lots that are there, FigureError where the lot was named
    otherwise than scanned or neither says it, KittingError where a date of the packet is not that
    on record.
    """
    scan = scan_named(session, name.item)
    owner, item = find_branch(session, name.branch), find_item(session, name.item)
    of_item = select(Lot).where(Lot.branch_id == owner.id, Lot.item_id == item.id)
    lots = {row.code: row for row in session.scalars(of_item)}
    code = _as_scanned(scan, lots.values()) if name.lot == AS_SCANNED else name.lot
    lot = lots.get(code)
    if scan is not None and scan.lot not in (None, code, lot and lot.batch):
        raise typed_otherwise(PacketFact.LOT, code, scan.lot)
    if lot is None:
        there = ", ".join(sorted(lots, key=natural_key)) or "none"
        raise UnknownNameError(
            "{code} has no lot {lot!r} of {item_code}. Known: {there}",
            code=owner.code,
            lot=code,
            item_code=item.code,
            there=there,
        )
    named = LotName(name.branch, item.code, code)
    if scan is None:
        return ScannedLot(named, lot, item)
    missing = require_recorded(scan, item.code, lot)
    return ScannedLot(named, lot, item, unread_text((*scan.counts, *scan.unread)), missing)


def _as_scanned(scan: Scan | None, lots: Iterable[Lot]) -> str:
    """The code of the one lot that a scan may mean: what was opened of it is another."""
    if scan is None or scan.lot is None:
        raise FigureError("the scan says no lot: name it")
    meant = [lot.code for lot in lots if lot.code == scan.lot]
    meant += [lot.code for lot in lots if lot.batch == scan.lot != lot.code and lot.on_hand]
    if len(meant) > 1:
        raise FigureError(
            "lot {lot} lies there as {meant}: name which of them it is",
            lot=scan.lot,
            meant=" and ".join(sorted(meant, key=natural_key)),
        )
    return meant[0] if meant else scan.lot


def count_lot(
    engine: Engine,
    name: LotName,
    quantity: Quantity,
    at: datetime,
    note: str | None = None,
    token: str | None = None,
) -> int:
    """Set a lot to what was counted; returns the difference in thousandths.

    Raises TakenError when less was counted than is promised: `record_missing` gives up promises.
    """
    with writing(engine) as session:
        lot, item = find_lot(session, name)
        require_amount(quantity, item)
        request = f"count {lot.id} {quantity.thousandths}"
        if (before := earlier(session, token, request)) is not None:
            return int(before.answer)
        difference = quantity.thousandths - lot.on_hand
        if difference:
            _posted(session, lot, Move(lot.id, MovementKind.COUNTED, difference, note=note), at)
        record(session, token, request, lot.branch_id, at, difference)
        session.commit()
        return difference


def _posted(session: Session, lot: Lot, move: Move, at: datetime) -> int:
    """Post a move; where only promises are in its way, giving them up is the next step."""
    try:
        return post(session, move, at)
    except TakenError as error:
        if lot.on_hand + move.quantity < 0:
            raise
        raise TakenError(error.message, then=[*error.then, next_step(Action.GIVE_UP)]) from None


def require_something(quantity: Quantity, item: Item) -> None:
    """Raise KittingError for an amount that is not in the item's unit or not more than 0."""
    # Less than nothing would bring stock in by the way out.
    require_amount(quantity, item)
    if quantity.thousandths <= 0:
        raise KittingError("{code}: the amount must be more than 0", code=item.code)


def scrap(
    engine: Engine,
    name: LotName,
    quantity: Quantity,
    at: datetime,
    note: str,
    token: str | None = None,
) -> int:
    """Take stock out for good, with the reason; returns the balance.

    Raises TakenError for what is promised: `record_missing` gives up promises.
    """
    with writing(engine) as session:
        lot, item = find_lot(session, name)
        require_something(quantity, item)
        request = f"scrap {lot.id} {quantity.thousandths}"
        if (before := earlier(session, token, request)) is not None:
            return int(before.answer)
        out = Move(lot.id, MovementKind.SCRAPPED, -quantity.thousandths, note=note)
        balance = _posted(session, lot, out, at)
        record(session, token, request, lot.branch_id, at, balance)
        session.commit()
        return balance
