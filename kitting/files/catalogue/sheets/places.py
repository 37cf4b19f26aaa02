"""Cells of a workbook as the places of faults."""

from __future__ import annotations

from dataclasses import dataclass, field

from kitting.errors import Problem
from kitting.files.catalogue.lines import Lines, Place, Spot


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a value stands: row 0 is the whole sheet, no column the whole row."""

    sheet: str
    row: int = 0
    column: str = ""


@dataclass(frozen=True, slots=True)
class Cells(Lines):
    """The cells of a workbook, numbered from 1 as the lines of a text are."""

    cells: list[Cell] = field(default_factory=list)

    def line(self, cell: Cell) -> int:
        """A cell as a line, from 0 as the tree of entries keeps them."""
        self.cells.append(cell)
        return len(self.cells) - 1

    def fault(self, cell: Cell, thing: str, reason: str, next_step: str) -> Problem:
        """A fault of a cell."""
        where = {"sheet": cell.sheet, "column": cell.column}
        return Problem(self.file, cell.row, thing, reason, next_step, **where)

    def problem(self, line: int, thing: str, reason: str, next_step: str) -> Problem:
        """A fault of a numbered cell."""
        return self.fault(self._cell(line), thing, reason, next_step)

    def named(self, line: int) -> str:
        """The row of a cell in words."""
        cell = self._cell(line)
        return f"row {cell.row} of sheet {cell.sheet!r}"

    def spot(self, line: int) -> Spot:
        """The row of a cell."""
        cell = self._cell(line)
        return cell.sheet, cell.row

    def fill_in(self, place: Place) -> str:
        """The column to fill in."""
        entry = max((at for at, key in enumerate(place) if isinstance(key, int)), default=-1)
        keys = " ".join(map(str, place[entry + 1 :]))
        return f"Fill in column {keys.replace('_', ' ')!r}"

    def _cell(self, line: int) -> Cell:
        return self.cells[line - 1] if 0 < line <= len(self.cells) else Cell("")
