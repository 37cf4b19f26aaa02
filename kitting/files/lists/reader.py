"""Flat lists, CSV or XLSX, read row by row with their line numbers."""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem
from kitting.files.lists.csv_text import LARGEST, TOO_LARGE, csv_lines
from kitting.files.lists.sheet_rows import Unreadable, sheet_rows
from kitting.files.spreadsheets import OTHER_SPREADSHEETS, SAVE_AS_XLSX, XLSX
from kitting.files.text_coding import SAVE_STEP, CodingError, undecodable

_UNREADABLE = (OSError, UnicodeDecodeError, ValueError, csv.Error, KeyError)
_SHOWN = 40
_FILE_STEP = "Give a CSV file in UTF-8, or an XLSX workbook"


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row: its line from 1 (the heading is line 1), its cells as text without empty ones."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Field:
    """A column that may stand in a list: how its text is read, and whether it must be there."""

    read: Callable[[str], Any]
    required: bool = False


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """What the headings of somebody else's list mean: theirs (as compared) → ours.

    `lines` says where in `file` each of their headings stands. A heading spelt as ours needs no
    entry, unless another one is read as that column. `decimal` is the sign before the decimals of
    its figures, "," or "."; `pack_unit` the unit of packs without one. None is not stated.
    """

    file: str
    ours: Mapping[str, str]
    lines: Mapping[str, int]
    ignored: frozenset[str] = frozenset()
    others_ignored: bool = False
    decimal: str | None = None
    pack_unit: str | None = None

    def read_as(self, heading: str, known: Sequence[str]) -> str | None:
        """The column that a heading is read as; None for one that is passed over.

        A heading that the map does not speak of comes back as it is: an unknown column.
        """
        if heading in self.ours:
            return self.ours[heading]
        if heading in self.ignored:
            return None
        if heading in known and heading not in self.ours.values():
            return heading
        return None if self.others_ignored else heading

    def absent(self, headings: Sequence[str], name: str) -> list[Problem]:
        """A fault for every heading that the map speaks of and the list `name` does not have."""
        return [
            Problem(
                self.file,
                line,
                f"heading {theirs[:_SHOWN]!r}",
                f"{name} has no such column",
                "Spell it as the list does, or take it out of the map",
            )
            for theirs, line in self.lines.items()
            if theirs not in headings
        ]


def read_list(
    path: Path, known: Sequence[str], former: Mapping[str, str] | None = None
) -> tuple[list[ListRow], list[Problem]]:
    """Read a list; either its rows, or what is wrong with the file as a whole.

    Headings are compared without regard to capitals; an unknown one is a fault, so that no column
    is passed over in silence. `former` are headings that were renamed: the fault names the new one.
    """
    name, renamed = str(path), former or {}

    def check(columns: Collection[str]) -> list[Problem]:
        return [
            Problem(name, 1, f"column {old!r}", "it was renamed", f"Write {new!r} instead")
            for old, new in renamed.items()
            if old in columns
        ]

    try:
        lines = list(_lines(path))
    except _UNREADABLE as error:
        return [], [_unreadable(path, error)]
    rows: list[ListRow] = []
    problems: list[Problem] = []
    for found in _rows(name, lines, (*known, *renamed), None, check):
        if isinstance(found, Problem):
            problems.append(found)
        else:
            rows.append(found)
    return rows, problems


def iter_list(
    path: Path,
    known: Sequence[str],
    columns: ColumnMap | None = None,
    check: Callable[[Collection[str]], Iterable[Problem]] | None = None,
) -> Iterator[ListRow | Problem]:
    """Read a list row by row, holding one row at a time (of a workbook also its texts).

    As `read_list`, with each fault where it is met: a file that turns out unreadable half-way has
    yielded its rows before. `columns` says what the headings of somebody else's list mean; `check`
    is given the columns that the list has, and what it finds ends the reading as unknown columns
    do.
    """
    name = str(path)
    try:
        yield from _rows(name, _lines(path), known, columns, check)
    except _UNREADABLE as error:
        yield _unreadable(path, error)


def _unreadable(path: Path, error: Exception) -> Problem:
    name = str(path)
    if isinstance(error, UnicodeDecodeError):
        line, reason = undecodable(path)
        return Problem(name, line, "file", reason, SAVE_STEP)
    reason = getattr(error, "strerror", None) or str(error).splitlines()[0]
    step = SAVE_STEP if isinstance(error, CodingError) else _FILE_STEP
    return Problem(name, 0, "file", reason, step)


def _rows(
    name: str,
    lines: Iterable[tuple[int, list[str]]],
    known: Sequence[str],
    columns: ColumnMap | None,
    check: Callable[[Collection[str]], Iterable[Problem]] | None,
) -> Iterator[ListRow | Problem]:
    lines = iter(lines)
    _, first = next(lines, (0, None))
    if first is None:
        yield Problem(name, 0, "file", "it is empty", f"Begin with {', '.join(known[:4])}")
        return
    heading = [heading_text(cell) for cell in first]
    if not any(heading):
        step = f"Begin with {', '.join(known[:4])}"
        yield Problem(name, 1, "file", "its first line names no columns", step)
        return
    problems, read = _columns(name, heading, known, columns)
    if check is not None and not problems:
        problems += check([column for column in read if column])
    if problems:
        yield from problems
        return
    yield from _read_rows(name, lines, read)


def _read_rows(
    name: str, lines: Iterable[tuple[int, list[str]]], read: Sequence[str | None]
) -> Iterator[ListRow | Problem]:
    width = len(read)
    unnamed = [place for place, column in enumerate(read) if column == ""]
    for line, cells in lines:
        named, unread = {}, []
        for column, cell in zip(read, cells, strict=False):
            if column and type(cell) is Unreadable:
                unread.append(_unread(name, line, column, cell))
            elif column and (text := cell.strip()):
                named[column] = text
        yield from unread
        if named and not unread:
            yield ListRow(line, named)
        if len(cells) > width and any(cell.strip() for cell in cells[width:]):
            yield Problem(name, line, "row", "more cells than headings", "Quote text with commas")
        for place in unnamed:
            text = cells[place].strip() if place < len(cells) else ""
            if text:
                yield Problem(name, line, f"cell {text[:40]!r}", "no heading", "Name its column")


def _unread(name: str, line: int, column: str, cell: Unreadable) -> Problem:
    reason, _, step = cell.why.rpartition(". ")
    return Problem(name, line, f"column {column!r}", f"{str(cell)[:_SHOWN]!r}: {reason}", step)


def heading_text(text: str) -> str:
    """A heading as headings are compared: no capitals, single spaces."""
    return " ".join(text.split()).casefold()


def _columns(
    name: str, heading: Sequence[str], known: Sequence[str], columns: ColumnMap | None
) -> tuple[list[Problem], list[str | None]]:
    """What is wrong with a heading, and the column each cell is read as; None: passed over."""
    if columns is None:
        read: list[str | None] = list(heading)
    else:
        read = [columns.read_as(cell, known) if cell else "" for cell in heading]
    problems = [
        Problem(
            name, 1, f"column {cell[:_SHOWN]!r}", "nothing reads this column", _known_columns(known)
        )
        for cell in read
        if cell and cell not in known
    ]
    problems += [
        Problem(
            name,
            1,
            f"column {heading[place][:_SHOWN]!r}",
            "it is given twice",
            "Keep one of the two",
        )
        for place, cell in enumerate(read)
        if cell and cell in read[:place]
    ]
    if columns is not None:
        problems += columns.absent(heading, name)
    return problems, read


def _lines(path: Path) -> Iterator[tuple[int, list[str]]]:
    if path.suffix.casefold() in OTHER_SPREADSHEETS:
        raise ValueError(f"a spreadsheet of another kind than XLSX: {SAVE_AS_XLSX}")
    if path.stat().st_size > LARGEST:
        raise ValueError(TOO_LARGE)
    yield from sheet_rows(path) if path.suffix.casefold() == XLSX else csv_lines(path)


def _known_columns(known: Sequence[str]) -> str:
    return f"Columns: {', '.join(known)}"


def read_cells(
    name: str, row: ListRow, fields: Mapping[str, Field]
) -> tuple[dict[str, Any], list[Problem]]:
    """The values of a row by column, and what is wrong with its cells."""
    values: dict[str, Any] = {}
    problems = []
    for column, field in fields.items():
        text = row.cells.get(column)
        if text is None:
            if field.required:
                problems.append(
                    Problem(name, row.line, f"column {column!r}", "it is empty", "Fill it in")
                )
            continue
        try:
            values[column] = field.read(text)
        except (FigureError, ValueError) as error:
            thing = f"column {column!r}"
            problems.append(Problem(name, row.line, thing, str(error), "Correct this cell"))
    return values, problems
