"""Price lists: read row by row, all faults told, the whole list taken or nothing of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, delete, func, select
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, KittingError, Problem, UnknownNameError
from kitting.facts.names import nearest
from kitting.files.lists.prices import Faults, PriceRow, iter_prices
from kitting.files.lists.reader import ColumnMap
from kitting.services.db.bulk_insert import add_rows
from kitting.services.db.sync import chunks
from kitting.store import writing
from kitting.tables.base import Base
from kitting.tables.items import Item
from kitting.tables.supply import Offer, OfferPrice, Supplier

_BATCH = 5000
_FIXED = ("supplier_id", "part")
_OFFERS, _PRICES = (Base.metadata.tables[name] for name in ("offer", "offer_price"))
Listener = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class PriceReport:
    """What a price list brought: rows in all, of items known here, new and gone parts."""

    supplier: str
    rows: int
    known: int
    new: int
    gone: int
    dry_run: bool


def find_supplier(session: Session, code: str) -> Supplier:
    """A supplier by code; raises UnknownNameError naming near ones."""
    suppliers = {s.code.casefold(): s for s in session.scalars(select(Supplier))}
    if code.casefold() not in suppliers:
        names = [s.code for s in suppliers.values()]
        near = nearest(code, names) or names
        told = f"Known: {', '.join(near)}" if near else "Describe it under 'suppliers:' and load it"
        raise UnknownNameError(f"no supplier {code!r}. {told}")
    return suppliers[code.casefold()]


def load_prices(
    engine: Engine,
    supplier: str,
    path: Path,
    columns: ColumnMap | None = None,
    listener: Listener | None = None,
    dry_run: bool = False,
) -> PriceReport:
    """Take over a supplier's whole list; parts it no longer names are gone afterwards.

    `listener` is told how many rows are read. Loading the same list again changes nothing.
    Raises FileProblemsError with the faults (the first thousand, and how many more).
    """
    faults = Faults()
    with writing(engine) as session:
        owner = find_supplier(session, supplier)
        items = {
            code: (key, unit)
            for code, key, unit in session.execute(select(Item.code, Item.id, Item.unit))
        }
        before = _count(session, owner.id)
        load = (session.scalar(select(func.max(Offer.load))) or 0) + 1
        _clear_prices(session, owner.id)
        rows = known = 0
        batch: list[dict[str, Any]] = []
        prices: list[tuple[tuple[int, int], ...]] = []
        found = _checked(str(path), iter_prices(path, columns, owner.currency), owner, items)
        for row in faults.rows(found):
            rows += 1
            if listener is not None and rows % _BATCH == 0:
                listener(rows)
            if faults.kept:
                continue
            batch.append(_offer_row(row, owner.id, items, load))
            known += batch[-1]["item_id"] is not None
            prices.append(row.prices)
            if len(batch) == _BATCH:
                _write(session, batch, prices)
                batch, prices = [], []
        if faults.kept:
            raise FileProblemsError(faults.told())
        if not rows:
            raise KittingError(
                f"{path}: no part stands in it; {owner.code} keeps the list it has."
                " Give the whole list"
            )
        _write(session, batch, prices)
        gone = _forget(session, owner.id, load)
        after = _count(session, owner.id)
        report = PriceReport(owner.code, rows, known, after + gone - before, gone, dry_run)
        if not dry_run:
            session.commit()
    return report


def _checked(
    file: str,
    rows: Iterable[PriceRow | Problem],
    owner: Supplier,
    items: Mapping[str, tuple[int, str]],
) -> Iterator[PriceRow | Problem]:
    """The rows, each one that does not fit this supplier or these items as its faults."""
    for row in rows:
        faults = [] if isinstance(row, Problem) else _faults(file, row, owner, items)
        if faults:
            yield from faults
        else:
            yield row


def _count(session: Session, supplier_id: int) -> int:
    return session.scalar(select(func.count()).where(Offer.supplier_id == supplier_id)) or 0


def _faults(
    file: str, row: PriceRow, owner: Supplier, items: Mapping[str, tuple[int, str]]
) -> list[Problem]:
    problems = []
    thing = f"part {row.part}"
    if row.currency != owner.currency:
        reason = f"priced in {row.currency}, but {owner.code} is paid in {owner.currency}"
        problems.append(Problem(file, row.line, thing, reason, "Give one currency"))
    if row.item is not None:
        if row.item not in items:
            near = nearest(row.item, items) if len(items) < 5000 else []
            step = f"Did you mean {' or '.join(near)}?" if near else "Describe the item first"
            reason = f"no item is called {row.item!r}"
            problems.append(Problem(file, row.line, thing, reason, step))
        elif items[row.item][1] != row.unit:
            unit = items[row.item][1]
            reason = f"the pack is given in {row.unit}, but {row.item} is stocked in {unit}"
            step = f"Give it in {unit}"
            problems.append(Problem(file, row.line, thing, reason, step))
    return problems


def _offer_row(
    row: PriceRow, supplier_id: int, items: Mapping[str, tuple[int, str]], load: int
) -> dict[str, Any]:
    # A part that is called as one of our items is that item where the list says nothing else.
    item = row.item if row.item is not None else row.part
    known = items.get(item)
    return {
        "supplier_id": supplier_id,
        "part": row.part,
        "item_id": known[0] if known is not None and known[1] == row.unit else None,
        "description": row.description,
        "pack": row.pack,
        "unit": row.unit,
        "minimum": row.minimum,
        "multiple": row.multiple,
        "available": row.available,
        "typical": row.lead,
        "late": row.late,
        "returnable": row.returnable,
        "core": row.core,
        "replaced_by": "+".join(row.replaced_by) or None,
        "note": row.note,
        "load": load,
    }


def _clear_prices(session: Session, supplier_id: int) -> None:
    """Every price of a supplier: the list that is being read brings them anew."""
    owned = select(Offer.id).where(Offer.supplier_id == supplier_id)
    session.execute(delete(OfferPrice).where(OfferPrice.offer_id.in_(owned)))


def _write(
    session: Session,
    batch: Sequence[dict[str, Any]],
    prices: Sequence[tuple[tuple[int, int], ...]],
) -> None:
    """Add or bring up to date some offers, with their prices."""
    if not batch:
        return
    connection, columns = session.connection(), tuple(batch[0])
    ids = add_rows(
        connection,
        _OFFERS,
        columns,
        [tuple(row.values()) for row in batch],
        key=_FIXED,
        told=("part", "id"),
    )
    ids = ids or _ids(session, batch)
    add_rows(
        connection,
        _PRICES,
        ("offer_id", "from_packs", "price"),
        [
            (ids[row["part"]], start, price)
            for row, steps in zip(batch, prices, strict=True)
            for start, price in steps
        ],
    )


def _ids(session: Session, batch: Sequence[dict[str, Any]]) -> dict[str, int]:
    """The ids of offers by part."""
    ids: dict[str, int] = {}
    for parts in chunks([row["part"] for row in batch]):
        mine = (Offer.supplier_id == batch[0]["supplier_id"]) & Offer.part.in_(parts)
        ids |= dict(session.execute(select(Offer.part, Offer.id).where(mine)).all())
    return ids


def _forget(session: Session, supplier_id: int, load: int) -> int:
    """Take out what the new list no longer names; returns how many parts went."""
    gone = session.scalars(
        select(Offer.id).where(Offer.supplier_id == supplier_id, Offer.load != load)
    ).all()
    for some in chunks(gone):
        session.execute(delete(Offer).where(Offer.id.in_(some)))
    return len(gone)
