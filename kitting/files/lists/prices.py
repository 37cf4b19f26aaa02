"""Price lists of suppliers: up to a million rows, read one by one, every fault with its line."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from kitting.errors import FigureError, Problem
from kitting.facts.figure_signs import InDoubtError
from kitting.files.lists.column_maps import read_map
from kitting.files.lists.list_figures import ListFigures
from kitting.files.lists.money_cells import read_money
from kitting.files.lists.price_cells import (
    FROM_PRICE,
    ONE_EACH,
    PAIRS,
    PRICE_FIELDS,
    plain_amount,
)
from kitting.files.lists.reader import ColumnMap, ListRow, iter_list

MOST_FAULTS = 1000
_CORRECT = "Correct this cell"
_SAY_WHICH = (
    "Say 'decimal: comma' or 'decimal: point' in a column map, or write nothing between thousands"
)


class PriceRow(NamedTuple):
    """One offer of a supplier.

    `prices` holds (from how many packs, minor units of `currency` per pack), rising in packs and
    never in price; the first counts from one pack. `pack` is in thousandths of `unit` (each, ml, g
    or mm); minimum, multiple and available are in packs, lead and late in days. None is unknown,
    never nothing; a part whose return is not spoken of is not returnable. `core` is the charge
    refunded for the old part, None where there is none. `replaced_by` names the supplier's parts
    that together stand in for this one.
    """

    line: int
    part: str
    item: str | None
    description: str | None
    prices: tuple[tuple[int, int], ...]
    currency: str
    pack: int
    unit: str
    minimum: int
    multiple: int
    available: int | None
    lead: int | None
    late: int | None
    returnable: bool
    core: int | None
    replaced_by: tuple[str, ...]
    note: str | None


def read_column_map(path: Path) -> ColumnMap:
    """What the headings of a supplier's list mean, from a small YAML, CSV or XLSX file.

    Raises FileProblemsError with every fault of the map.
    """
    return read_map(path, tuple(PRICE_FIELDS))


@dataclass(slots=True)
class _Reader:
    """A list being read: its name, the currency of bare figures, its pairs of break columns."""

    name: str
    figures: ListFigures
    currency: str | None
    breaks: tuple[tuple[str, str], ...] = ()

    def heading_faults(self, columns: Collection[str]) -> Iterable[Problem]:
        """Columns missing as a whole are named once, not once a row."""
        self.breaks = tuple(pair for pair in FROM_PRICE if pair[0] in columns)
        for column in ("part", "price"):
            if column not in columns:
                step = f"Add a column {column!r}, or map a heading to it"
                yield Problem(
                    self.name, 1, f"column {column!r}", "the list has no such column", step
                )
        for one, other in PAIRS:
            if (one in columns) != (other in columns):
                there, gone = (one, other) if one in columns else (other, one)
                reason = f"it says nothing without {gone!r}"
                yield Problem(self.name, 1, f"column {there!r}", reason, "Give or ignore both")

    def read(self, row: ListRow) -> PriceRow | list[Problem]:
        """A row, or everything that is wrong with it."""
        reading = _Row(self, row.line, row.cells, [])
        values = reading.values()
        cells = row.cells
        if "lead days" in cells or "late days" in cells or "replaced by" in cells:
            reading.agree(values)
        own, prices, core = self._money(reading, values)
        if reading.problems or own is None:
            return reading.problems
        pack = values.get("pack", ONE_EACH)
        get = values.get
        return PriceRow(
            row.line,
            values["part"],
            get("item"),
            get("description"),
            prices,
            own,
            pack.thousandths,
            pack.unit,
            get("minimum", 1),
            get("multiple", 1),
            get("available"),
            get("lead days"),
            get("late days"),
            get("returns", False),
            core,
            get("replaced by", ()),
            get("note"),
        )

    def _money(
        self, reading: _Row, values: Mapping[str, Any]
    ) -> tuple[str | None, tuple[tuple[int, int], ...], int | None]:
        """The currency of a row, its prices and the charge for the old part."""
        own: str | None = values.get("currency")
        text = values.get("price")
        if text is None or (own is None and "currency" in reading.cells):
            return own, (), None
        first = reading.money("price", text, own)
        if first is None:
            return own, (), None
        own = first[1]
        prices: tuple[tuple[int, int], ...] = ((1, first[0]),)
        if self.breaks:
            prices = reading.breaks(values, self.breaks, first[0], own)
        charge = reading.money("core", values["core"], own) if "core" in values else None
        return own, prices, charge[0] if charge is not None and charge[0] else None


class _Row(NamedTuple):
    """One row being read: its faults so far."""

    of: _Reader
    line: int
    cells: Mapping[str, str]
    problems: list[Problem]

    def cell(self, column: str, reason: str, step: str = _CORRECT) -> None:
        self.problems.append(Problem(self.of.name, self.line, f"column {column!r}", reason, step))

    def fault(self, reason: str, step: str) -> None:
        thing = f"part {self.cells.get('part', '')[:40]}".rstrip()
        self.problems.append(Problem(self.of.name, self.line, thing, reason, step))

    def values(self) -> dict[str, Any]:
        """Every cell that can be read, as its column is read; money stays text."""
        cells, readers = self.cells, self.of.figures.readers
        try:
            values = {column: readers[column](text) for column, text in cells.items()}
        except FigureError:
            values = self._readable()
        if "part" not in cells or "price" not in cells:
            for column in ("part", "price"):
                if column not in cells:
                    self.cell(column, "it is empty", "Fill it in")
        return values

    def _readable(self) -> dict[str, Any]:
        """The cells that can be read; of every other its fault."""
        values: dict[str, Any] = {}
        for column, text in self.cells.items():
            try:
                values[column] = self.of.figures.read(column, text)
            except FigureError as error:
                self.cell(column, error.message, _step(error))
        return values

    def money(self, column: str, text: str, currency: str | None) -> tuple[int, str] | None:
        """An amount that is more than nothing; None with a fault for anything else."""
        try:
            minor, found = plain_amount(text, currency) or read_money(
                self.of.figures.pointed(text), currency, self.of.currency
            )
        except FigureError as error:
            self.cell(column, error.message, _step(error))
            return None
        if not minor and column != "core":
            self.cell(
                column, "the price must be more than 0", "Give the price, or take the row out"
            )
            return None
        return minor, found

    def breaks(
        self,
        values: Mapping[str, Any],
        pairs: Iterable[tuple[str, str]],
        first: int,
        currency: str,
    ) -> tuple[tuple[int, int], ...]:
        """The first price and the breaks after it."""
        prices = [(1, first)]
        for start, price in pairs:
            if start not in self.cells and price not in self.cells:
                continue
            if start not in self.cells or price not in self.cells:
                self.fault(f"{start!r} and {price!r} go together", "Give both or neither")
                continue
            packs, text = values.get(start), values.get(price)
            amount = self.money(price, text, currency) if text is not None else None
            if packs is None or amount is None:
                continue
            if packs <= prices[-1][0]:
                step = "Give the breaks in rising order, from 2 packs on"
                self.cell(start, f"{packs} is not above the {prices[-1][0]} before it", step)
            elif amount[0] > prices[-1][1]:
                step = "More packs may not cost more apiece; check both prices"
                self.cell(price, "it is dearer than the price before it", step)
            else:
                prices.append((packs, amount[0]))
        return tuple(prices)

    def agree(self, values: Mapping[str, Any]) -> None:
        """Name what contradicts itself among cells that can be read, each by itself."""
        cells = self.cells
        if ("lead days" in cells) != ("late days" in cells):
            self.fault("'lead days' and 'late days' go together", "Give both or neither")
        lead, late = values.get("lead days"), values.get("late days")
        if lead is not None and late is not None and late < lead:
            self.cell("late days", f"{late} is before the {lead} of 'lead days'", "Swap the two")
        if "replaced by" in cells and values.get("part") in values.get("replaced by", ()):
            self.cell("replaced by", "the part replaces itself", "Name the part that follows it")


def _step(error: FigureError) -> str:
    return _SAY_WHICH if isinstance(error, InDoubtError) else _CORRECT


def iter_prices(
    path: Path, column_map: ColumnMap | None = None, currency: str | None = None
) -> Iterator[PriceRow | Problem]:
    """Every good row of a price list, and every fault where it is met.

    `currency` is that of bare figures in rows which name none. A part number is kept with its line
    to find it again (some 150 bytes a row); nothing else is. A list with a fault should not be
    loaded by halves: see `Faults`.
    """
    name = str(path)
    reader = _Reader(name, ListFigures(path, column_map), currency)
    seen: dict[str, int] = {}
    for row in iter_list(path, tuple(PRICE_FIELDS), column_map, reader.heading_faults):
        if isinstance(row, Problem):
            yield row
            continue
        found = reader.read(row)
        part = row.cells.get("part")
        first = seen.setdefault(part, row.line) if part is not None else row.line
        if first != row.line:
            thing = f"part {part[:40] if part else ''}"
            reason = f"it stands on line {first} already"
            yield Problem(name, row.line, thing, reason, "Keep one of the two")
        if isinstance(found, list):
            yield from found
        elif first == row.line:
            yield found


@dataclass(slots=True)
class Faults:
    """The faults of a long list: the first `most` of them, and how many more there were."""

    most: int = MOST_FAULTS
    kept: list[Problem] = field(default_factory=list)
    more: int = 0

    def rows(self, found: Iterable[PriceRow | Problem]) -> Iterator[PriceRow]:
        """The good rows one by one; the faults are gathered here on the way."""
        for entry in found:
            if isinstance(entry, PriceRow):
                yield entry
            elif len(self.kept) < self.most:
                self.kept.append(entry)
            else:
                self.more += 1

    def shown(self) -> tuple[Problem, ...]:
        """What to print: the faults kept, and one that counts the rest."""
        if not self.more:
            return tuple(self.kept)
        reason = f"{self.more:,} more faults are not shown"
        step = "Correct these first, then read again"
        return (*self.kept, Problem(self.kept[-1].file, 0, "file", reason, step))
