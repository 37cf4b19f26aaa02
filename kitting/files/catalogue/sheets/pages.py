"""The sheets of a workbook as they were typed: values, formulas by the value they had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from kitting.errors import FigureError
from kitting.files.shown_cells import STRUCK_OUT, plain_text_of
from kitting.files.workbooks import DAMAGED, merged_cells, opened

_MOST_CELLS = 4_000_000
_FORMULA, _ERROR, _NUMBER, _DAY, _TEXT_OF_FORMULA = "f", "e", "n", "d", "str"


@dataclass(frozen=True, slots=True)
class Typed:
    """A cell: its value and its format; `lost` says that its formula has no value.

    `blank` is a text without a letter, `fault` says why what is typed cannot be read as it is seen.
    """

    value: Any
    shown_as: str | None = None
    lost: bool = False
    error: bool = False
    blank: bool = False
    fault: str | None = None


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet: its name, its rows from 1, and a range of merged cells below the first."""

    name: str
    rows: Sequence[Sequence[Typed]]
    merged: str | None = None


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
                    replace(now, lost=now.value is None and not now.blank)
                    if (at, row, column) in formulas
                    else was
                    for column, (was, now) in enumerate(zip(cells, later, strict=False))
                ]
                for row, (cells, later) in enumerate(zip(page.rows, other.rows, strict=False))
            ],
            page.merged,
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
                pages.append(Page(sheet.title, rows, merged_cells(sheet)))
        except Exception as error:
            raise ValueError(DAMAGED) from error
    if counted > _MOST_CELLS:
        raise ValueError(f"it has more than {_MOST_CELLS:,} cells")
    return pages, found


def _cell(cell: Any) -> Typed:
    if cell.value is None:
        return Typed(None, blank=cell.data_type == _TEXT_OF_FORMULA)
    if cell.data_type in (_NUMBER, _DAY):
        return Typed(cell.value, cell.number_format)
    if not isinstance(cell.value, str | list):
        return Typed(cell.value, error=cell.data_type == _ERROR)
    try:
        value = plain_text_of(cell)
    except FigureError as error:
        return Typed(str(cell.value), fault=error.message)
    struck = cell._style_id and cell.font.strike
    fault = STRUCK_OUT if struck else None
    return Typed(value, error=cell.data_type == _ERROR, fault=fault)
