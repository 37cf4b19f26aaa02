"""The sheets of a workbook as they were typed: values, formulas by the value they had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kitting.files.workbooks import DAMAGED, opened

_MOST_CELLS = 4_000_000
_FORMULA, _ERROR, _NUMBER = "f", "e", "n"


@dataclass(frozen=True, slots=True)
class Typed:
    """A cell: its value, the format of a number; `lost` says that its formula has no value."""

    value: Any
    shown_as: str | None = None
    lost: bool = False
    error: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet: its name, and its rows from 1."""

    name: str
    rows: Sequence[Sequence[Typed]]


def read_pages(path: Path) -> list[Page]:
    """Every sheet of a workbook. Raises OSError, and ValueError for what cannot be read."""
    pages, formulas = _typed(path, formulas=True)
    if not formulas:
        return pages
    values, _ = _typed(path, formulas=False)
    return [
        Page(
            page.name,
            [
                [
                    Typed(now.value, now.shown_as, now.value is None, now.error)
                    if (at, row, column) in formulas
                    else was
                    for column, (was, now) in enumerate(zip(cells, later, strict=False))
                ]
                for row, (cells, later) in enumerate(zip(page.rows, other.rows, strict=False))
            ],
        )
        for at, (page, other) in enumerate(zip(pages, values, strict=True))
    ]


def _typed(path: Path, *, formulas: bool) -> tuple[list[Page], set[tuple[int, int, int]]]:
    pages: list[Page] = []
    found: set[tuple[int, int, int]] = set()
    counted = 0
    with opened(path, formulas=formulas) as book:
        try:
            for at, sheet in enumerate(book.worksheets):
                sheet.reset_dimensions()
                rows: list[list[Typed]] = []
                for number, row in enumerate(sheet.iter_rows()):
                    counted += len(row)
                    if counted > _MOST_CELLS:
                        break
                    rows.append([_cell(cell) for cell in row])
                    found |= {
                        (at, number, column)
                        for column, cell in enumerate(row)
                        if cell.value is not None and cell.data_type == _FORMULA
                    }
                pages.append(Page(sheet.title, rows))
        except Exception as error:
            raise ValueError(DAMAGED) from error
    if counted > _MOST_CELLS:
        raise ValueError(f"it has more than {_MOST_CELLS:,} cells")
    return pages, found


def _cell(cell: Any) -> Typed:
    if cell.value is None:
        return Typed(None)
    shown = cell.number_format if cell.data_type == _NUMBER else None
    return Typed(cell.value, shown, error=cell.data_type == _ERROR)
