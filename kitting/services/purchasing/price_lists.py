"""Price lists: read row by row, all faults named, the whole list taken or nothing of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, bindparam, delete, func, select
from sqlalchemy.orm import Session

from kitting.errors import FigureError, FileProblemsError, KittingError, Problem
from kitting.facts.gs1 import read_gtin
from kitting.files.lists.prices import Faults, PriceRow, iter_prices
from kitting.files.lists.reader import ColumnMap
from kitting.services.db.bulk_insert import add_rows
from kitting.services.db.sync import chunks
from kitting.services.lookup import hint, lookup, other_unit
from kitting.store import writing
from kitting.tables.base import Base
from kitting.tables.items import Item, ItemGtin
from kitting.tables.supply import Offer, OfferPrice, Supplier

_BATCH = 5000
_OFFERS, _PRICES = (Base.metadata.tables[name] for name in ("offer", "offer_price"))
_KEY = ("supplier_id", "part")
_COLUMNS = (
    *_KEY, "item_id", "description", "pack", "unit", "minimum", "multiple", "available", "typical",
    "late", "returnable", "core", "replaced_by", "note", "load",
)  # fmt: skip
_SUPPLIERS = select(Supplier.id, Supplier.code, Supplier.currency)
_ITEMS = select(Item.code, Item.id, Item.unit)
_NUMBERS = select(ItemGtin.gtin, Item.code).join(Item, ItemGtin.item_id == Item.id)
_COUNT = select(func.count()).where(Offer.supplier_id == bindparam("supplier"))
_LAST_LOAD = select(func.max(Offer.load))
_LAST_ID = select(func.max(Offer.id))
_IDS = select(Offer.part, Offer.id).where(
    Offer.supplier_id == bindparam("supplier"),
    Offer.part.in_(bindparam("parts", expanding=True)),
)
_OWN_OFFERS = select(Offer.id).where(Offer.supplier_id == bindparam("supplier"))
_OLD_PRICES = delete(OfferPrice).where(OfferPrice.offer_id.in_(_OWN_OFFERS))
_GONE = _OWN_OFFERS.where(Offer.load != bindparam("load"))
Listener = Callable[[int], None]
Items = Mapping[str, tuple[int, str]]


@dataclass(frozen=True, slots=True)
class PriceReport:
    """What a price list brought: rows in all, of items known here, new and gone parts."""

    supplier: str
    rows: int
    known: int
    new: int
    gone: int
    dry_run: bool


@dataclass(frozen=True, slots=True)
class _Owner:
    """The supplier whose list is loaded."""

    id: int
    code: str
    currency: str


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
        owner = _owner(session, supplier)
        items = {code: (key, unit) for code, key, unit in session.execute(_ITEMS)}
        target = _Target(session, owner, items)
        rows = 0
        batch: list[PriceRow] = []
        numbers = dict(session.execute(_NUMBERS).all())
        listed = iter_prices(path, columns, owner.currency)
        found = _checked(str(path), listed, owner, items, numbers)
        for row in faults.rows(found):
            rows += 1
            batch.append(row)
            if rows % _BATCH == 0:
                if listener is not None:
                    listener(rows)
                if not faults.kept:
                    target.write(batch)
                batch.clear()
        if faults.kept:
            raise FileProblemsError(faults.shown())
        if not rows:
            raise KittingError(
                "{path}: no part stands in it; {code} keeps the list it has. Give the whole list",
                path=path,
                code=owner.code,
            )
        target.write(batch)
        report = target.finish(rows, dry_run=dry_run)
        if not dry_run:
            session.commit()
    return report


def _owner(session: Session, code: str) -> _Owner:
    """A supplier by code; raises UnknownNameError naming near ones."""
    known = {
        row.code: _Owner(row.id, row.code, row.currency) for row in session.execute(_SUPPLIERS)
    }
    otherwise = "Describe it under 'suppliers:' and load that file"
    return lookup("supplier", code, known, f"Known: {', '.join(known)}" if known else otherwise)


def _checked(
    file: str,
    rows: Iterable[PriceRow | Problem],
    owner: _Owner,
    items: Items,
    numbers: Mapping[str, str],
) -> Iterator[PriceRow | Problem]:
    """The rows, each one that does not fit this supplier or these items as its faults."""
    for given in rows:
        row = _coded(given, items, numbers) if type(given) is PriceRow else given
        if type(row) is PriceRow and (row.currency != owner.currency or row.item is not None):
            faults = _faults(file, row, owner, items)
            if faults:
                yield from faults
                continue
        yield row


def _coded(row: PriceRow, items: Items, numbers: Mapping[str, str]) -> PriceRow:
    """A row with the code of its item, where it names one by its number (GTIN)."""
    if row.item is None or row.item in items:
        return row
    try:
        code = numbers.get(read_gtin(row.item))
    except FigureError:
        return row
    return row if code is None else row._replace(item=code)


def _faults(file: str, row: PriceRow, owner: _Owner, items: Items) -> list[Problem]:
    problems = []
    thing = f"part {row.part}"
    if row.currency != owner.currency:
        reason = f"priced in {row.currency}, but {owner.code} is paid in {owner.currency}"
        problems.append(Problem(file, row.line, thing, reason, "Give one currency"))
    if row.item is not None:
        if row.item not in items:
            near = items if len(items) < 5000 else ()
            step = hint(row.item, near, "Describe the item first")
            problems.append(Problem(file, row.line, thing, f"unknown item {row.item!r}", step))
        elif items[row.item][1] != row.unit:
            unit = items[row.item][1]
            reason = f"the pack is given in {row.unit}, but {row.item} is stocked in {unit}"
            problems.append(Problem(file, row.line, thing, reason, other_unit(row.unit, unit)))
    return problems


class _Target:
    """Where a list goes: a supplier's offers with their prices, batch by batch.

    SQLite cannot answer with the ids of many new rows. A supplier without offers gets ids that are
    counted on from the last (nobody else writes meanwhile); otherwise they are read again.
    """

    def __init__(self, session: Session, owner: _Owner, items: Items) -> None:
        self.session, self.owner, self.items = session, owner, items
        self.mine = {"supplier": owner.id}
        self.before = session.scalar(_COUNT, self.mine) or 0
        self.load = (session.scalar(_LAST_LOAD) or 0) + 1
        self.known = 0
        self.last: int | None = None
        if self.before:
            # The list that is being read brings every price anew.
            session.execute(_OLD_PRICES, self.mine)
        elif session.get_bind().dialect.name == "sqlite":
            self.last = session.scalar(_LAST_ID) or 0

    def write(self, batch: Sequence[PriceRow]) -> None:
        """Add or bring up to date some offers, with their prices."""
        if not batch:
            return
        ids = self._offers(batch)
        prices = [(ids[row.part], start, price) for row in batch for start, price in row.prices]
        add_rows(self.session.connection(), _PRICES, ("offer_id", "from_packs", "price"), prices)

    def _offers(self, batch: Sequence[PriceRow]) -> Mapping[str, int]:
        """Write the offers; their ids by part."""
        connection = self.session.connection()
        if self.last is not None:
            first = self.last + 1
            self.last += len(batch)
            rows = [(key, *self._offer(row)) for key, row in enumerate(batch, first)]
            add_rows(connection, _OFFERS, ("id", *_COLUMNS), rows)
            return {row.part: key for key, row in enumerate(batch, first)}
        offers = [self._offer(row) for row in batch]
        ids = add_rows(connection, _OFFERS, _COLUMNS, offers, key=_KEY, returning=("part", "id"))
        return ids or self._ids([row.part for row in batch])

    def _ids(self, parts: Sequence[str]) -> dict[str, int]:
        ids: dict[str, int] = {}
        for some in chunks(parts):
            ids |= dict(self.session.execute(_IDS, {**self.mine, "parts": some}).all())
        return ids

    def _offer(self, row: PriceRow) -> tuple[Any, ...]:
        """The values of `_COLUMNS`."""
        # A part that is called as one of our items is that item where the list says nothing else.
        known = self.items.get(row.item if row.item is not None else row.part)
        item = known[0] if known is not None and known[1] == row.unit else None
        self.known += item is not None
        return (
            self.owner.id, row.part, item, row.description, row.pack, row.unit, row.minimum,
            row.multiple, row.available, row.lead, row.late, row.returnable, row.core,
            "+".join(row.replaced_by) or None, row.note, self.load,
        )  # fmt: skip

    def finish(self, rows: int, *, dry_run: bool) -> PriceReport:
        """Take out what the new list no longer names; what the list brought."""
        gone = self.session.scalars(_GONE, {**self.mine, "load": self.load}).all()
        for some in chunks(gone):
            self.session.execute(delete(Offer).where(Offer.id.in_(some)))
        after = self.session.scalar(_COUNT, self.mine) or 0
        return PriceReport(
            supplier=self.owner.code,
            rows=rows,
            known=self.known,
            new=after + len(gone) - self.before,
            gone=len(gone),
            dry_run=dry_run,
        )
