"""Lists of stock: lots set to what a list says, all rows or none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, bindparam, insert, select, update
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, Problem
from kitting.facts.words import MovementKind
from kitting.services.db.sync import chunks
from kitting.services.lookup import hint, other_unit
from kitting.services.stock.holds import on_hold_for
from kitting.services.stock.ledger import Move, not_free, post_all
from kitting.services.stock.listed_rows import Entry, read_entries, with_scans
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.stock import BatchHold, Lot
from kitting.tables.supply import Branch

# What a list may say of a lot beside its amount: the column of the list and that of the table.
_STATED = {
    "made": "made_on",
    "expires": "expires_on",
    "opened": "opened_on",
    "bin": "bin",
}
_ON_HOLD = "on hold"
_DATES = ("made", "expires", "opened")
_columns = tuple(_STATED.values())
_table = Lot.metadata.tables["lot"]
_SET = (
    update(_table)
    .where(_table.c.id == bindparam("key"))
    .values({name: bindparam(f"new_{name}") for name in _columns})
)
_LOTS = select(
    Lot.id, Lot.branch_id, Lot.item_id, Lot.code, Lot.on_hand, Lot.promised, Lot.made_on,
    Lot.expires_on, Lot.opened_on, Lot.bin,
).where(Lot.code.in_(bindparam("codes", expanding=True)))  # fmt: skip
_ITEMS = select(Item.id, Item.code, Item.unit, Item.bin).where(
    Item.code.in_(bindparam("codes", expanding=True))
)

_Key = tuple[int, int, str]
_Listed = tuple[Any, str | None]  # a lot, and why it is on hold by the list


@dataclass(frozen=True, slots=True)
class Unused:
    """What of a row's scan is not used, as it is printed: "(99)XYZ"."""

    file: str
    line: int
    text: str


@dataclass(slots=True)
class StockReport:
    """What a stock list changed; `stay_held` counts lots on hold for what it does not say."""

    lots: int = 0
    new: int = 0
    counted: int = 0
    same: int = 0
    held: int = 0
    stay_held: int = 0
    unused: tuple[Unused, ...] = ()
    dry_run: bool = False


@dataclass(frozen=True, slots=True)
class _Known:
    """What a list may name: branches by code, items by code (id, unit, bin).

    `items` are those that the list names; `all_items` has every code, read only where the list
    names one that is not there.
    """

    branches: Mapping[str, int]
    items: Mapping[str, Any]
    all_items: Sequence[str]

    def key(self, entry: Entry) -> _Key:
        """The lot that an entry means."""
        values = entry.values
        return self.branches[values["branch"]], self.items[values["item"]].id, values["lot"]


def load_stock(
    engine: Engine, paths: Sequence[Path], at: datetime, dry_run: bool = False
) -> StockReport:
    """Set lots to what a list says, all rows or none; the difference is written as a count.

    What it says is on hold is put on hold as by hand, unless it is on hold for that reason already.
    Loading the same list again changes nothing. Raises FileProblemsError with every fault.
    """
    entries, problems = read_entries(paths)
    with writing(engine) as session:
        entries, unread = with_scans(session, entries)
        problems += unread
        known = _known(session, entries)
        problems += _faults(entries, known, at.date())
        if problems:
            raise FileProblemsError(problems)
        lots = _lots(session, entries)
        problems += _below_promised(entries, known, lots)
        problems += _of_another_age(entries, known, lots)
        if problems:
            raise FileProblemsError(problems)
        report = _set(session, entries, known, lots, at)
        report.dry_run = dry_run
        report.unused = tuple(
            Unused(entry.file, entry.line, entry.unused) for entry in entries if entry.unused
        )
        if not dry_run:
            session.commit()
    return report


def _known(session: Session, entries: Sequence[Entry]) -> _Known:
    codes = sorted({entry.values["item"] for entry in entries})
    items = {
        row.code: row
        for some in chunks(codes)
        for row in session.execute(_ITEMS, {"codes": list(some)})
    }
    every = select(Item.code).order_by(Item.code)
    return _Known(
        branches=dict(session.execute(select(Branch.code, Branch.id)).all()),
        items=items,
        all_items=session.scalars(every).all() if len(items) < len(codes) else (),
    )


def _lots(session: Session, entries: Sequence[Entry]) -> dict[_Key, Any]:
    """The lots that are there already, and others that share a code with one of the list."""
    codes = sorted({entry.values["lot"] for entry in entries})
    return {
        (row.branch_id, row.item_id, row.code): row
        for some in chunks(codes)
        for row in session.execute(_LOTS, {"codes": list(some)})
    }


def _faults(entries: Iterable[Entry], known: _Known, today: date) -> Iterator[Problem]:
    seen: dict[tuple[str, str, str], int] = {}
    for entry in entries:
        values = entry.values
        yield from _entry_faults(entry, known, today)
        key = (values["branch"], values["item"], values["lot"])
        if key in seen:
            yield entry.fault(f"this lot stands in line {seen[key]} already", "Keep one of the two")
        seen.setdefault(key, entry.line)


def _entry_faults(entry: Entry, known: _Known, today: date) -> Iterator[Problem]:
    values = entry.values
    for what, there, near in (
        ("branch", known.branches, known.branches),
        ("item", known.items, known.all_items),
    ):
        if values[what] not in there:
            step = hint(values[what], near, f"Describe the {what} first")
            yield entry.fault(f"{what} {values[what]!r}: unknown name", step)
    item, amount = known.items.get(values["item"]), values["quantity"]
    if item is not None and amount.unit != item.unit:
        reason = f"given in {amount.unit}, but {item.code} is stocked in {item.unit}"
        yield entry.fault(reason, other_unit(amount.unit, item.unit))
    if amount.unit == "each" and amount.thousandths % 1000:
        yield entry.fault("pieces are whole", "Give a whole number of them")
    if amount.thousandths < 0:
        yield entry.fault("the quantity must not be negative", "Give what is there")
    if "made" in values and values["made"] > today:
        yield entry.fault("made in the future", "Give the date of making")


def _below_promised(
    entries: Iterable[Entry], known: _Known, lots: Mapping[_Key, Any]
) -> Iterator[Problem]:
    """Less than what bookings are promised cannot have been counted: one of the two is wrong."""
    for entry in entries:
        lot = lots.get(known.key(entry))
        counted = entry.values["quantity"].thousandths
        if lot is not None and counted < lot.promised:
            reason = not_free(lot.code, lot.on_hand, lot.promised, lot.on_hand - counted)
            step = "Correct this row, or count this lot by itself and give up its promises"
            yield entry.fault(reason, step)


def _of_another_age(
    entries: Iterable[Entry], known: _Known, lots: Mapping[_Key, Any]
) -> Iterator[Problem]:
    """A list counts what lies there: it makes nothing younger, nor an opened pack sealed."""
    for entry in entries:
        lot = lots.get(known.key(entry))
        for name in _DATES:
            here = None if lot is None else getattr(lot, _STATED[name])
            said = entry.values.get(name)
            if here is None or said in (None, here) or entry.scanned_as(name, here):
                continue
            yield entry.fault(
                f"{name} {said}, but the lot that is known by that code has {here}",
                "Give what is of another age a lot code of its own; if the date of before was"
                " wrong, count that lot to 0 with the reason, then list it under another code",
            )


def _set(
    session: Session,
    entries: Sequence[Entry],
    known: _Known,
    lots: Mapping[_Key, Any],
    at: datetime,
) -> StockReport:
    new = [entry for entry in entries if known.key(entry) not in lots]
    stated = [
        (lots[known.key(entry)], entry)
        for entry in entries
        if known.key(entry) in lots and any(name in entry.values for name in _STATED)
    ]
    if stated:
        session.connection().execute(_SET, [_restated(lot, entry) for lot, entry in stated])
    if new:
        session.execute(insert(_table), [_new_lot(entry, known, at.date()) for entry in new])
        lots = _lots(session, entries)
    moves = []
    for entry in entries:
        lot = lots[known.key(entry)]
        difference = entry.values["quantity"].thousandths - lot.on_hand
        if difference:
            moves.append(Move(lot.id, MovementKind.COUNTED, difference, note="list"))
    post_all(session, moves, at)
    lots_of = [(lots[known.key(entry)], entry.values.get(_ON_HOLD)) for entry in entries]
    before = on_hold_for(session, [lot.id for lot, _ in lots_of])
    return StockReport(
        lots=len(entries), new=len(new), counted=len(moves), same=len(entries) - len(moves),
        held=_hold(session, lots_of, before, at), stay_held=_stay_held(lots_of, before),
    )  # fmt: skip


def _hold(
    session: Session,
    listed: Sequence[_Listed],
    before: Mapping[int, Set[str]],
    at: datetime,
) -> int:
    """Put the batches on hold that the list says are; returns how many holds that makes."""
    made: dict[tuple[int, str, str], BatchHold] = {}
    for lot, why in listed:
        if why and why not in before[lot.id]:
            hold = BatchHold(
                at=at, branch_id=lot.branch_id, item_id=lot.item_id, batch=lot.code, why=why
            )
            made.setdefault((lot.item_id, lot.code, why), hold)
    session.add_all(made.values())
    session.flush()
    return len(made)


def _stay_held(listed: Sequence[_Listed], before: Mapping[int, Set[str]]) -> int:
    """How many lots stay on hold for a reason that the list does not say: a list ends no hold."""
    return sum(bool(set(before[lot.id]) - {why}) for lot, why in listed)


def _restated(lot: Any, entry: Entry) -> dict[str, Any]:
    """What a lot has now, with what an entry states instead."""
    values = entry.values
    return {"key": lot.id} | {
        f"new_{column}": values.get(name, getattr(lot, column)) for name, column in _STATED.items()
    }


def _new_lot(entry: Entry, known: _Known, today: date) -> dict[str, Any]:
    branch_id, item_id, code = known.key(entry)
    own_bin = known.items[entry.values["item"]].bin
    stated = {column: entry.values.get(name) for name, column in _STATED.items()}
    return stated | {
        "branch_id": branch_id,
        "item_id": item_id,
        "code": code,
        "bin": stated["bin"] or (own_bin and own_bin[:20]),
        "received_on": entry.values.get("received", today),
        "on_hand": 0,
        "promised": 0,
    }
