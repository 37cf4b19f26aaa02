"""Figures of one price list: which sign is the decimal one, and the unit of bare packs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from kitting.facts.figure_signs import InDoubtError, decimal_sign, with_point
from kitting.files.lists.price_cells import (
    FIGURES,
    MONEY,
    PRICE_FIELDS,
    READERS,
    pack_as_written,
    read_pointed,
)
from kitting.files.lists.reader import ColumnMap, ListRow, iter_list
from kitting.files.spreadsheets import XLSX


class ListFigures:
    """How the figures of a list are read; its file is searched once, if a figure is in doubt.

    `readers` read each column as long as nothing is in doubt.
    """

    def __init__(self, path: Path, columns: ColumnMap | None) -> None:
        self._path, self._columns = path, columns
        self._decimal = columns.decimal if columns is not None else None
        self._searched = self._decimal is not None
        self._pack_unit = columns.pack_unit if columns is not None else None
        # A number of a workbook comes with a point, whatever the signs of its texts.
        self._workbook = path.suffix.casefold() == XLSX
        self.readers: Mapping[str, Callable[[str], Any]] = READERS
        if self._pack_unit is not None:
            self.readers = {**READERS, "pack": partial(pack_as_written, unit=self._pack_unit)}

    def read(self, column: str, text: str) -> Any:
        """The value of a cell that is no money; raises FigureError, InDoubtError."""
        if column in FIGURES:
            return read_pointed(column, self.pointed(text), self._pack_unit)
        return READERS[column](text)

    def pointed(self, text: str) -> str:
        """A text with its figure written with a point; raises InDoubtError."""
        try:
            return with_point(text)
        except InDoubtError as doubt:
            decimal = "." if self._workbook and doubt.sign == "." else self._sign()
            if decimal is None:
                raise
            return with_point(text, decimal)

    def _sign(self) -> str | None:
        """The decimal sign by the map, else the only one that the figures of the list show."""
        if not self._searched and not self._workbook:
            signs = self._signs_shown()
            self._decimal = signs.pop() if len(signs) == 1 else None
        self._searched = True
        return self._decimal

    def _signs_shown(self) -> set[str]:
        return {
            sign
            for row in iter_list(self._path, tuple(PRICE_FIELDS), self._columns)
            if isinstance(row, ListRow)
            for column in (FIGURES | MONEY) & row.cells.keys()
            if (sign := decimal_sign(row.cells[column])) is not None
        }
