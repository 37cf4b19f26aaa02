"""Flat lists, CSV or XLSX, read row by row with their line numbers."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem

_LARGEST = 256 * 1024 * 1024


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


def read_list(path: Path, known: Sequence[str]) -> tuple[list[ListRow], list[Problem]]:
    """Read a list; either its rows, or what is wrong with the file as a whole.

    Headings are compared without regard to capitals; an unknown one is a fault, so that no column
    is passed over in silence.
    """
    name = str(path)
    try:
        lines = _lines(path)
    except (OSError, UnicodeDecodeError, ValueError, csv.Error, KeyError) as error:
        reason = getattr(error, "strerror", None) or str(error).splitlines()[0]
        step = "Give a CSV file in UTF-8, or an XLSX workbook"
        return [], [Problem(name, 0, "file", reason, step)]
    if not lines:
        return [], [Problem(name, 0, "file", "it is empty", f"Begin with {', '.join(known[:4])}")]
    heading = [cell.strip().casefold() for cell in lines[0][1]]
    if not any(heading):
        step = f"Begin with {', '.join(known[:4])}"
        return [], [Problem(name, 1, "file", "its first line names no columns", step)]
    problems = [
        Problem(name, 1, f"column {cell!r}", "nothing reads this column", _known_columns(known))
        for cell in heading
        if cell and cell not in known
    ]
    problems += [
        Problem(name, 1, f"column {cell!r}", "it stands here twice", "Keep one of the two")
        for place, cell in enumerate(heading)
        if cell and cell in heading[:place]
    ]
    if problems:
        return [], problems
    rows = []
    for line, cells in lines[1:]:
        named = {
            column: cell.strip()
            for column, cell in zip(heading, cells, strict=False)
            if column and cell.strip()
        }
        if named:
            rows.append(ListRow(line, named))
        if any(cell.strip() for cell in cells[len(heading) :]):
            problems.append(
                Problem(name, line, "row", "more cells than headings", "Quote text with commas")
            )
        problems += [
            Problem(name, line, f"cell {cell.strip()[:40]!r}", "no heading", "Name its column")
            for column, cell in zip(heading, cells, strict=False)
            if cell.strip() and not column
        ]
    return rows, problems


def _lines(path: Path) -> list[tuple[int, list[str]]]:
    if path.stat().st_size > _LARGEST:
        raise ValueError(f"larger than {_LARGEST // 1024 // 1024} MiB")
    return list(_workbook(path) if path.suffix.casefold() == ".xlsx" else _csv(path))


def _known_columns(known: Sequence[str]) -> str:
    return f"Columns: {', '.join(known)}"


def _csv(path: Path) -> Iterator[tuple[int, list[str]]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        sample = file.read(4096)
        file.seek(0)
        heading = sample.splitlines()[0] if sample.splitlines() else ""
        delimiter = max(",;\t", key=heading.count)
        reader = csv.reader(file, delimiter=delimiter, strict=True)
        begins = 1
        try:
            for cells in reader:
                yield begins, cells
                begins = reader.line_num + 1  # a quoted cell may hold more than one line
        except csv.Error as error:
            raise ValueError(f"{error}, in the row that begins on line {begins}") from error


def _workbook(path: Path) -> Iterator[tuple[int, list[str]]]:
    from zipfile import BadZipFile

    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    # In a damaged workbook openpyxl stumbles over whatever comes first and raises just that; over
    # a page that is a chart it raises AttributeError.
    damaged = "the workbook is damaged, or one of its pages is no table"
    try:
        book = load_workbook(path, read_only=True, data_only=True)
    except OSError:
        raise
    except (BadZipFile, InvalidFileException, KeyError) as error:
        raise ValueError("it is no XLSX workbook") from error
    except Exception as error:
        raise ValueError(damaged) from error
    try:
        for line, row in enumerate(book.worksheets[0].iter_rows(values_only=True), 1):
            yield line, [_cell_text(value) for value in row]
    except Exception as error:
        raise ValueError(damaged) from error
    finally:
        book.close()


def _cell_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


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
            problems.append(Problem(name, row.line, thing, str(error), "Mend this cell"))
    return values, problems
