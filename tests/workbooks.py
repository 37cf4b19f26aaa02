"""Catalogue workbooks for tests: written by the program, filled in by a spreadsheet library."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

from openpyxl import Workbook, load_workbook

from kitting.files.catalogue.sheets.writing import workbook

Rows = Mapping[str, Iterable[Mapping[str, Any]]]  # by sheet, each by heading


def empty() -> Workbook:
    """An empty catalogue workbook, as somebody opens it."""
    return load_workbook(BytesIO(workbook({}, {"kinds": ["o-ring"], "systems": ["brakes"]})))


def filled(path: Path, rows: Rows) -> Path:
    """A workbook with some rows typed into it, one below the other."""
    book = empty()
    for sheet, several in rows.items():
        page = book[sheet]
        columns = {cell.value: cell.column for cell in page[1]}
        for number, row in enumerate(several, 2):
            for heading, value in row.items():
                page.cell(number, columns[heading]).value = value
    book.save(path)
    return path
