"""Stock: loading and listing, counting, holding back, scrapping."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, select, update
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, KittingError, Problem, UnknownNameError
from kitting.facts.names import natural_key, nearest
from kitting.facts.units import Quantity
from kitting.files.lists.reader import ListRow
from kitting.files.lists.stock import read_stock
from kitting.services.branches import find_branch
from kitting.services.db.idempotency import earlier, record
from kitting.services.db.sync import chunks
from kitting.services.stock.ledger import post
from kitting.services.stock.lots import POLICY, find_items, require_amount, shelf_of
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.views.stock import LotView


@dataclass(slots=True)
class StockReport:
    """What a stock list changed."""

    lots: int = 0
    new: int = 0
    counted: int = 0
    same: int = 0
    dry_run: bool = False


def load_stock(
    engine: Engine, paths: Sequence[Path], at: datetime, dry_run: bool = False
) -> StockReport:
    """Set lots to what a list says, all rows or none; the difference is written as a count.

    Loading the same list again changes nothing. Raises FileProblemsError with every fault.
    """
    found: list[tuple[str, ListRow, Mapping[str, Any]]] = []
    problems: list[Problem] = []
    for path in paths:
        rows, faults = read_stock(path)
        found += [(str(path), row, values) for row, values in rows]
        problems += faults
    with writing(engine) as session:
        branches = {b.code: b.id for b in session.scalars(select(Branch))}
        items = {
            item.code: item
            for codes in chunks(sorted({values["item"] for _, _, values in found}))
            for item in session.scalars(select(Item).where(Item.code.in_(codes)))
        }
        problems += _faults(found, branches, items, at.date())
        if problems:
            raise FileProblemsError(problems)
        report = StockReport(dry_run=dry_run)
        for file, row, values in found:
            try:
                _set_lot(
                    session, branches[values["branch"]], items[values["item"]], values, at, report
                )
            except KittingError as error:
                raise FileProblemsError(
                    [Problem(file, row.line, f"lot {values['lot']}", str(error), "Mend this row")]
                ) from error
        if not dry_run:
            session.commit()
    return report


def _faults(
    found: Iterable[tuple[str, ListRow, Mapping[str, Any]]],
    branches: Mapping[str, int],
    items: Mapping[str, Item],
    today: date,
) -> Iterable[Problem]:
    seen: dict[tuple[str, str, str], int] = {}
    for file, row, values in found:
        thing = f"lot {values['lot']}"
        for what, names in (("branch", branches), ("item", items)):
            if values[what] not in names:
                near = nearest(values[what], list(names))
                step = (
                    f"Did you mean {' or '.join(near)}?" if near else f"Describe the {what} first"
                )
                yield Problem(file, row.line, thing, f"no {what} is called {values[what]!r}", step)
        item, amount = items.get(values["item"]), values["quantity"]
        if item is not None and amount.unit != item.unit:
            reason = f"given in {amount.unit}, but {item.code} is stocked in {item.unit}"
            yield Problem(file, row.line, thing, reason, f"Give it in {item.unit}")
        if amount.unit == "each" and amount.thousandths % 1000:
            yield Problem(file, row.line, thing, "pieces are whole", "Give a whole number of them")
        if amount.thousandths < 0:
            yield Problem(file, row.line, thing, "less than nothing", "Give what is there")
        if "made" in values and values["made"] > today:
            yield Problem(file, row.line, thing, "made in the future", "Give the date of making")
        key = (values["branch"], values["item"], values["lot"])
        if key in seen:
            reason = f"this lot stands in line {seen[key]} already"
            yield Problem(file, row.line, thing, reason, "Keep one of the two")
        seen.setdefault(key, row.line)


_DATES = {
    "made": "made_on",
    "expires": "expires_on",
    "opened": "opened_on",
    "bin": "bin",
    "held": "held",
}


def _set_lot(
    session: Session,
    branch_id: int,
    item: Item,
    values: Mapping[str, Any],
    at: datetime,
    report: StockReport,
) -> None:
    lot = session.scalar(
        select(Lot).where(
            Lot.branch_id == branch_id, Lot.item_id == item.id, Lot.code == values["lot"]
        )
    )
    report.lots += 1
    stated = {column: values[name] for name, column in _DATES.items() if name in values}
    if lot is None:
        lot = Lot(
            branch_id=branch_id,
            item_id=item.id,
            code=values["lot"],
            received_on=values.get("received", at.date()),
            on_hand=0,
            promised=0,
            **({"bin": item.bin and item.bin[:20]} | stated),
        )
        session.add(lot)
        session.flush()
        report.new += 1
    elif stated:
        session.execute(update(Lot).where(Lot.id == lot.id).values(**stated))
    difference = values["quantity"].thousandths - lot.on_hand
    if difference:
        post(session, lot.id, "counted", difference, at, note="list")
        report.counted += 1
    else:
        report.same += 1


def list_stock(
    session: Session,
    branch: str | None,
    items: Sequence[str],
    on: date,
    policy: str = POLICY,
) -> tuple[LotView, ...]:
    """What lies on the shelves, judged at a date, by branch, item and how long it keeps."""
    wanted = (
        select(Lot, Item, Branch.code)
        .join(Item, Lot.item_id == Item.id)
        .join(Branch, Lot.branch_id == Branch.id)
        .where(Lot.on_hand > 0)
    )
    if branch is not None:
        wanted = wanted.where(Lot.branch_id == find_branch(session, branch).id)
    if items:
        known = find_items(session, items)
        wanted = wanted.where(Lot.item_id.in_([item.id for item in known.values()]))
    views = [lot_view(lot, item, code, on, policy) for lot, item, code in session.execute(wanted)]
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


def lot_view(lot: Lot, item: Item, branch: str, on: date, policy: str = POLICY) -> LotView:
    """A lot in words, judged at a date."""
    shelf = shelf_of(lot, item, policy)
    if lot.held is not None:
        state = "held"
    elif shelf.limit is not None and shelf.limit < on:
        state = "expired"
    else:
        state = "good" if shelf.known else "age unknown"
    return LotView(
        branch=branch,
        item=item.code,
        name=item.name,
        lot=lot.code,
        bin=lot.bin,
        unit=item.unit,
        on_hand=lot.on_hand,
        promised=lot.promised,
        free=0 if state in ("held", "expired") else lot.on_hand - lot.promised,
        keeps_to=shelf.limit,
        keeps_why=shelf.reason,
        state=state,
        held=lot.held,
        looked_over=lot.inspected_on,
        seen=lot.inspection,
    )


def find_lot(session: Session, branch: str | None, item: str, lot: str) -> tuple[Lot, Item]:
    """A lot of an item in a branch; raises UnknownNameError naming the lots that are there."""
    owner = find_branch(session, branch)
    known = find_items(session, [item])[item]
    lots = {
        row.code: row
        for row in session.scalars(
            select(Lot).where(Lot.branch_id == owner.id, Lot.item_id == known.id)
        )
    }
    if lot not in lots:
        told = ", ".join(sorted(lots, key=natural_key)) or "none"
        raise UnknownNameError(f"{owner.code} has no lot {lot!r} of {item}. Known: {told}")
    return lots[lot], known


def count_lot(
    engine: Engine, branch: str | None, item: str, lot: str, quantity: Quantity, at: datetime,
    note: str | None = None, token: str | None = None,
) -> int:  # fmt: skip
    """Set a lot to what was counted; returns the difference in thousandths.

    Raises TakenError when less was counted than is promised: give up a promise first.
    """
    with writing(engine) as session:
        row, known = find_lot(session, branch, item, lot)
        require_amount(quantity, known)
        request = f"count {row.id} {quantity.thousandths}"
        if (said := earlier(session, token, request)) is not None:
            return int(said.answer)
        difference = quantity.thousandths - row.on_hand
        if difference:
            post(session, row.id, "counted", difference, at, note=note)
        record(session, token, request, row.branch_id, at, difference)
        session.commit()
        return difference


def require_something(quantity: Quantity, item: Item) -> None:
    """Raise KittingError for an amount that is not in the item's unit or not more than nothing."""
    # Less than nothing would bring stock in by the way out.
    require_amount(quantity, item)
    if quantity.thousandths <= 0:
        raise KittingError(f"{item.code}: give an amount of more than nothing")


def hold_lot(engine: Engine, branch: str | None, item: str, lot: str, reason: str | None) -> None:
    """Hold a lot back from everybody with a reason, or let it go again (reason None)."""
    with writing(engine) as session:
        row, _ = find_lot(session, branch, item, lot)
        session.execute(update(Lot).where(Lot.id == row.id).values(held=reason))
        session.commit()


def scrap(
    engine: Engine, branch: str | None, item: str, lot: str, quantity: Quantity, at: datetime,
    note: str, token: str | None = None,
) -> int:  # fmt: skip
    """Take stock out for good, with the reason; returns the balance."""
    with writing(engine) as session:
        row, known = find_lot(session, branch, item, lot)
        require_something(quantity, known)
        request = f"scrap {row.id} {quantity.thousandths}"
        if (said := earlier(session, token, request)) is not None:
            return int(said.answer)
        balance = post(session, row.id, "scrapped", -quantity.thousandths, at, note=note)
        record(session, token, request, row.branch_id, at, balance)
        session.commit()
        return balance
