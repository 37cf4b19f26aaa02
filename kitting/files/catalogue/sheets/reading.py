"""Reading a catalogue workbook: its rows as the entries of a catalogue file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem
from kitting.facts.figure_signs import decimal_sign
from kitting.facts.names import hint, nearest
from kitting.files.catalogue.fault_words import in_short
from kitting.files.catalogue.sheets.cells import read_cell
from kitting.files.catalogue.sheets.entries import Row, Tree
from kitting.files.catalogue.sheets.layout import Column, Sheet, heading_key, sheets
from kitting.files.catalogue.sheets.pages import Page, Typed, read_pages
from kitting.files.catalogue.sheets.places import Cell, Cells

HOW_TO, WORDS = "how to", "words"  # what a workbook says of itself; not read
_FILE_STEP = "Give an XLSX workbook with the sheets of a catalogue"
_NO_VALUE = "its formula has no value"
_CALCULATE = "Open and save it in the spreadsheet program, or type the value"


def read_workbook(path: Path) -> tuple[Cells, Any, list[Problem]]:
    """The entries of a workbook as the data of a catalogue file, or every fault of its sheets."""
    reading = _Reading(Cells(str(path)))
    try:
        reading.read(read_pages(path))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return reading.cells, None, [Problem(str(path), 0, "file", reason, _FILE_STEP)]
    raw = reading.tree.raw
    if not reading.problems and not raw:
        step = "Fill in a row, of 'items' for example"
        return reading.cells, raw, [Problem(str(path), 0, "file", "no sheet has a row", step)]
    return reading.cells, raw, reading.problems


class _Reading:
    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self.tree = Tree(cells)
        self.problems = self.tree.problems
        self.commas = False  # whether figures of the workbook have decimal commas

    def read(self, pages: Sequence[Page]) -> None:
        known = {heading_key(sheet.name): sheet for sheet in sheets()}
        found: dict[Sheet, Page] = {}
        for page in pages:
            name = heading_key(page.name)
            if name in known and known[name] in found:
                first = found[known[name]].name
                reason = f"it is the same as sheet {first!r}"
                self._fault(Cell(page.name), "sheet", reason, "Put their rows into one of the two")
            elif name in known:
                found[known[name]] = page
                if page.merged is not None:
                    reason = f"cells {page.merged} are merged: only the first keeps what is typed"
                    step = "Part them, and fill in each"
                    self._fault(Cell(page.name), "sheet", reason, step)
            elif name not in (HOW_TO, WORDS) and _is_written(page.rows):
                near = nearest(name, known, n=1, loosely=True)
                meant = f"If {near[0]!r} is meant, name it so. " if near else ""
                step = f"{meant}A sheet of your own goes into a workbook of its own"
                self._fault(Cell(page.name), "sheet", "nothing reads it", step)
        self.commas = any(_has_comma(page) for page in found.values())
        for sheet in sorted(found, key=lambda one: len(one.path)):  # owners before what they own
            self._sheet(sheet, found[sheet].rows)

    def _fault(self, cell: Cell, thing: str, reason: str, next_step: str) -> None:
        self.problems.append(self.cells.fault(cell, thing, reason, next_step))

    def _sheet(self, sheet: Sheet, rows: Sequence[Sequence[Typed]]) -> None:
        columns = self._columns(sheet, rows[0] if rows else ())
        for number, cells in enumerate(rows[1:], 2):
            row = Row(sheet, number)
            unread = self._read(row, columns, cells)
            if row.values and not unread:
                self.tree.add(row)

    def _read(self, row: Row, columns: Sequence[Column | None], cells: Sequence[Typed]) -> int:
        """Read the cells of a row; how many could not be read."""
        before = len(self.problems)
        for at, typed in enumerate(cells):
            column = columns[at] if at < len(columns) else None
            if typed.value is None and not typed.lost:
                continue
            if column is None:
                if str(typed.value).strip():
                    thing, step = f"cell {_shown(typed)}", "Name its column in the first row"
                    self._fault(Cell(row.sheet.name, row.number), thing, "no heading", step)
                continue
            try:
                row.put(column, _value(column, typed, commas=self.commas))
            except FigureError as error:
                reason, _, step = str(error).rpartition(". ")
                self._fault(row.cell(column), f"cell {_shown(typed)}", reason, step)
        return len(self.problems) - before

    def _columns(self, sheet: Sheet, heading: Sequence[Typed]) -> list[Column | None]:
        known = {heading_key(column.heading): column for column in sheet.headings}
        found: list[Column | None] = []
        for typed in heading:
            name = heading_key(str(typed.value)) if typed.value is not None else ""
            cell = Cell(sheet.name, 1, in_short(name))
            if name and name not in known:
                step = hint(name, known, f"Columns are {', '.join(known)}")
                self._fault(cell, "heading", "nothing reads this column", step)
            elif name and known[name] in found:
                self._fault(cell, "heading", "it is given twice", "Keep one of the two")
            found.append(known.get(name))
        return found


def _is_written(rows: Sequence[Sequence[Typed]]) -> bool:
    return any(typed.value is not None for row in rows for typed in row)


def _has_comma(page: Page) -> bool:
    """Whether a figure of a sheet has a decimal comma."""
    return any(
        isinstance(typed.value, str)
        and not typed.value[-1:].isdigit()
        and decimal_sign(typed.value) == ","
        for row in page.rows[1:]
        for typed in row
    )


def _value(column: Column, typed: Typed, *, commas: bool) -> Any:
    if typed.fault is not None:
        raise FigureError(typed.fault)
    if typed.lost:
        raise FigureError(f"{_NO_VALUE}. {_CALCULATE}")
    if typed.error:
        raise FigureError(
            "the spreadsheet could not work it out: {value}. Type the value", value=typed.value
        )
    return read_cell(column, typed.value, typed.shown_as, commas=commas)


def _shown(typed: Typed) -> str:
    shown = in_short(str(typed.value)).removesuffix(" 00:00:00")
    return repr(shown) if typed.value is not None else "without a value"
