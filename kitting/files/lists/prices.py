"""Price lists of suppliers: up to a million rows, read one by one, every fault with its line."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem
from kitting.facts.money import parse_money
from kitting.facts.units import Quantity, parse_quantity
from kitting.files.lists.column_maps import read_map
from kitting.files.lists.reader import ColumnMap, Field, ListRow, iter_list

BREAKS = 5
MOST_FAULTS = 1000
_KEPT = 8192  # texts remembered per kind of cell; most lists repeat a few hundred
_BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_SIGNS = {"£": "GBP", "€": "EUR"}
_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
_ONE_EACH = Quantity(1000, "each")


@dataclass(frozen=True, slots=True)
class PriceRow:
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


def _part(text: str) -> str:
    if len(text) > 40 or not text.isprintable():
        raise FigureError(f"{text[:40]!r} is no part number; 40 plain signs at most")
    return text


def _code(text: str) -> str:
    if len(text) > 40 or not text.isprintable() or " " in text:
        raise FigureError(f"{text[:40]!r} is no code; use letters, digits and hyphens, 40 at most")
    return text


def _line_of(most: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) <= most and text.isprintable():
            return text
        text = " ".join(text.split())  # workbooks break lines within a cell
        if len(text) > most:
            raise FigureError(f"the text is longer than {most} characters; shorten it")
        if not text.isprintable():
            raise FigureError(f"{text[:40]!r} holds signs that cannot be printed")
        return text

    return read


@lru_cache(_KEPT)
def _count(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or len(text) > 9:
        raise FigureError(f"{text[:40]!r} is no whole number; write for example '12'")
    return int(text)


@lru_cache(_KEPT)
def _positive(text: str) -> int:
    number = _count(text)
    if not number:
        raise FigureError(f"{text[:40]!r} is not one pack or more; leave it empty if unknown")
    return number


@lru_cache(_KEPT)
def _pack(text: str) -> Quantity:
    pack = parse_quantity(text)
    if not pack.thousandths:
        raise FigureError(f"{text[:40]!r} is an empty pack; write for example '10 each'")
    return pack


@lru_cache(_KEPT)
def _currency(text: str) -> str:
    code = _SIGNS.get(text, text.upper())
    if not re.fullmatch("[A-Z]{3}", code):
        raise FigureError(f"{text[:40]!r} is no currency; write for example 'GBP'")
    return code


@lru_cache(_KEPT)
def _yes_no(text: str) -> bool:
    answer = _YES.get(text.casefold())
    if answer is None:
        raise FigureError(f"{text[:40]!r} is neither yes nor no")
    return answer


@lru_cache(_KEPT)
def _replacements(text: str) -> tuple[str, ...]:
    parts = tuple(_part(part.strip()) for part in text.split("+"))
    if not all(parts):
        raise FigureError(f"{text[:40]!r} names an empty part; write for example 'AB-1 + AB-2'")
    if len(set(parts)) < len(parts):
        raise FigureError(f"{text[:40]!r} names a part twice")
    return parts


# Prices are read last, once the currency of the row is known.
_FROM_PRICE = tuple((f"break {no} from", f"break {no} price") for no in range(1, BREAKS + 1))
PRICE_FIELDS: Mapping[str, Field] = {
    "part": Field(_part, required=True),
    "item": Field(_code),
    "description": Field(_line_of(200)),
    "price": Field(str, required=True),
    "currency": Field(_currency),
    "pack": Field(_pack),
    "minimum": Field(_positive),
    "multiple": Field(_positive),
    **{start: Field(_positive) for start, _ in _FROM_PRICE},
    **{price: Field(str) for _, price in _FROM_PRICE},
    "available": Field(_count),
    "lead days": Field(_count),
    "late days": Field(_count),
    "returns": Field(_yes_no),
    "core": Field(str),
    "replaced by": Field(_replacements),
    "note": Field(_line_of(2000)),
}
_READERS: Mapping[str, Callable[[str], Any]] = {
    column: field.read for column, field in PRICE_FIELDS.items() if field.read is not str
}
_PAIRS = (*_FROM_PRICE, ("lead days", "late days"))


def read_column_map(path: Path) -> ColumnMap:
    """What the headings of a supplier's list mean, from a small YAML, CSV or XLSX file.

    Raises FileProblemsError with every fault of the map.
    """
    return read_map(path, tuple(PRICE_FIELDS))


@lru_cache(2 * _KEPT)
def _amount(text: str, currency: str | None) -> tuple[int, str]:
    """Minor units and currency; a bare figure is of `currency`, another currency a fault."""
    if _BARE.fullmatch(text):
        if currency is None:
            raise FigureError(
                f"{text[:40]!r} has no currency; write '{text[:20]} GBP' or fill in 'currency'"
            )
        text = f"{text} {currency}"
    money = parse_money(text)
    if currency is not None and money.currency != currency:
        raise FigureError(f"{text[:40]!r} is in another currency than the row, {currency}")
    return money.minor, money.currency


@dataclass(slots=True)
class _Reading:
    """One row being read: its faults so far."""

    name: str
    row: ListRow
    problems: list[Problem] = field(default_factory=list)

    def cell(self, column: str, reason: str, step: str = "Mend this cell") -> None:
        thing = f"column {column!r}"
        self.problems.append(Problem(self.name, self.row.line, thing, reason, step))

    def fault(self, reason: str, step: str) -> None:
        thing = f"part {self.row.cells.get('part', '')[:40]}".rstrip()
        self.problems.append(Problem(self.name, self.row.line, thing, reason, step))

    def values(self) -> dict[str, Any]:
        """Every cell that can be read but for money, which stays text."""
        values: dict[str, Any] = {}
        cells, readers = self.row.cells, _READERS
        for column, text in cells.items():
            read = readers.get(column)
            if read is None:
                values[column] = text
                continue
            try:
                values[column] = read(text)
            except FigureError as error:
                self.cell(column, str(error))
        for column in ("part", "price"):
            if column not in cells:
                self.cell(column, "it is empty", "Fill it in")
        return values

    def money(self, column: str, text: str, currency: str | None) -> tuple[int, str] | None:
        """An amount that is more than nothing; None with a fault for anything else."""
        try:
            minor, found = _amount(text, currency)
        except FigureError as error:
            self.cell(column, str(error))
            return None
        if not minor and column != "core":
            self.cell(column, "a price of nothing", "Give the price, or take the row out")
            return None
        return minor, found

    def breaks(
        self, values: Mapping[str, Any], first: int, currency: str
    ) -> tuple[tuple[int, int], ...]:
        """The first price and the breaks after it."""
        prices = [(1, first)]
        for start, price in _FROM_PRICE:
            if start not in self.row.cells and price not in self.row.cells:
                continue
            if start not in self.row.cells or price not in self.row.cells:
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
        """Tell what contradicts itself among cells that can be read, each by itself."""
        cells = self.row.cells
        if ("lead days" in cells) != ("late days" in cells):
            self.fault("'lead days' and 'late days' go together", "Give both or neither")
        lead, late = values.get("lead days"), values.get("late days")
        if lead is not None and late is not None and late < lead:
            self.cell("late days", f"{late} is before the {lead} of 'lead days'", "Swap the two")
        if "replaced by" in cells and values.get("part") in values.get("replaced by", ()):
            self.cell("replaced by", "the part replaces itself", "Name the part that follows it")


def _price_row(name: str, row: ListRow, currency: str | None) -> PriceRow | list[Problem]:
    reading = _Reading(name, row)
    values = reading.values()
    reading.agree(values)
    prices: tuple[tuple[int, int], ...] = ()
    own: str | None = values.get("currency")
    core = None
    if "price" in values and (own is not None or "currency" not in row.cells):
        if own is None and _BARE.fullmatch(values["price"]):
            own = currency
        first = reading.money("price", values["price"], own)
        if first is not None:
            own = first[1]
            prices = reading.breaks(values, first[0], own)
            charge = reading.money("core", values["core"], own) if "core" in values else None
            core = charge[0] if charge is not None and charge[0] else None
    if reading.problems or own is None:
        return reading.problems
    pack = values.get("pack", _ONE_EACH)
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


def _heading_faults(name: str) -> Callable[[Collection[str]], Iterable[Problem]]:
    """Columns missing as a whole are told once, not once a row."""

    def check(columns: Collection[str]) -> Iterable[Problem]:
        for column in ("part", "price"):
            if column not in columns:
                step = f"Add a column {column!r}, or map a heading to it"
                yield Problem(name, 1, f"column {column!r}", "the list has no such column", step)
        for one, other in _PAIRS:
            if (one in columns) != (other in columns):
                there, gone = (one, other) if one in columns else (other, one)
                reason = f"it says nothing without {gone!r}"
                yield Problem(name, 1, f"column {there!r}", reason, "Give or ignore both")

    return check


def iter_prices(
    path: Path, column_map: ColumnMap | None = None, currency: str | None = None
) -> Iterator[PriceRow | Problem]:
    """Every good row of a price list, and every fault where it is met.

    `currency` is that of bare figures in rows which name none. A part number is kept with its line
    to find it again (some 150 bytes a row); nothing else is. A list with a fault should not be
    loaded by halves: see `Faults`.
    """
    name = str(path)
    seen: dict[str, int] = {}
    for row in iter_list(path, tuple(PRICE_FIELDS), column_map, _heading_faults(name)):
        if isinstance(row, Problem):
            yield row
            continue
        found = _price_row(name, row, currency)
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

    def told(self) -> tuple[Problem, ...]:
        """What to print: the faults kept, and one that counts the rest."""
        if not self.more:
            return tuple(self.kept)
        reason = f"{self.more:,} more faults are not shown"
        rest = Problem(self.kept[-1].file, 0, "file", reason, "Mend these first, then read again")
        return (*self.kept, rest)
