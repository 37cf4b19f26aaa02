"""The rows of a list in a workbook, each cell as the text that a person sees."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

from kitting.errors import FigureError
from kitting.files.shown_cells import (
    STRUCK_OUT,
    day_as_shown,
    number_as_shown,
    plain_text_of,
)

MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384  # of a page of a workbook (from memory)
# A cell far to the right makes a row of thousands; a million such rows would never end.
_MOST_CELLS = 48 * MOST_ROWS


class Unreadable(str):
    """A cell that cannot be read as it is seen: what it keeps, and `why` with the next step."""

    __slots__ = ("why",)
    why: str

    @classmethod
    def cell(cls, value: object, why: str) -> Unreadable:
        """A cell with what it keeps."""
        made = cls(value)
        made.why = why
        return made


def sheet_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """The rows of the first page that is seen, with their lines from 1.

    Raises ValueError for what is no workbook, is damaged, or has merged cells; OSError too.
    """
    from kitting.files.workbooks import DAMAGED, merged_cells, opened

    with opened(path) as book:
        try:
            seen = [page for page in book.worksheets if page.sheet_state == "visible"]
            page = (seen or book.worksheets)[0]
            merged = merged_cells(page)
        except Exception as error:  # over a page that is a chart openpyxl raises AttributeError
            raise ValueError(DAMAGED) from error
        if merged is not None:
            raise ValueError(
                f"cells {merged} are merged, and only the first keeps what is typed: part them, and"
                " fill in each"
            )
        try:
            yield from _rows_of(page, DAMAGED)
        except Exception as error:
            raise ValueError(DAMAGED) from error


def _rows_of(page: Any, damaged: str) -> Iterator[tuple[int, list[str]]]:
    # A workbook states the size of its pages, at times wrongly: rows beyond it would be lost.
    width = min(page.max_column or 0, MOST_COLUMNS)
    page.reset_dimensions()
    text_of = _reader()
    counted = 0
    for line, row in enumerate(page.iter_rows(), 1):
        counted += len(row)
        if line > MOST_ROWS or counted > _MOST_CELLS:
            raise ValueError(damaged)
        cells = [text_of(cell) if cell.value is not None else "" for cell in row]
        if line == 1:
            cells += [""] * (width - len(cells))
        yield line, cells


def _reader() -> Callable[[Any], str]:
    """A reader of cells that looks each style up once."""
    formats: dict[int, tuple[str, bool]] = {}

    def text_of(cell: Any) -> str:
        style = cell._style_id
        if style not in formats:
            formats[style] = (cell.number_format, bool(style and cell.font.strike))
        shown_as, struck = formats[style]
        if struck:
            return Unreadable.cell(cell.value, STRUCK_OUT)
        try:
            return _text(cell, shown_as)
        except FigureError as error:
            return Unreadable.cell(cell.value, error.message)

    return text_of


def _text(cell: Any, shown_as: str) -> str:
    value = cell.value
    if type(value) is str:
        return value
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, datetime):
        return day_as_shown(value.date(), shown_as).isoformat()
    if isinstance(value, date):
        return day_as_shown(value, shown_as).isoformat()
    if isinstance(value, int | float):
        return number_as_shown(value, shown_as, currency=True)
    return plain_text_of(cell) if isinstance(value, list) else str(value)
