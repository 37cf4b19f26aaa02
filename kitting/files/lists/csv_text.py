"""CSV files: their coding, what separates their cells, their rows with line numbers."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import TextIOWrapper
from pathlib import Path
from typing import TextIO

from kitting.files.text_coding import BEGIN, coding_of

LARGEST = 256 * 1024 * 1024
TOO_LARGE = f"larger than {LARGEST // 1024 // 1024} MiB"
_LONGEST_LINE = 1024 * 1024


def csv_lines(path: Path) -> Iterator[tuple[int, list[str]]]:
    """The rows of a CSV file with the line on which each begins.

    Cells are separated by whichever of comma, semicolon and tab stands most often in the heading.
    Raises UnicodeDecodeError, CodingError, and ValueError or OSError for what cannot be read.
    """
    with path.open("rb") as raw:
        file = TextIOWrapper(raw, encoding=coding_of(raw.peek(BEGIN)), newline="")
        sample = file.read(4096)
        file.seek(0)
        heading = sample.splitlines()[0] if sample.splitlines() else ""
        delimiter = max(",;\t", key=heading.count)
        reader = csv.reader(_short_lines(file), delimiter=delimiter, strict=True)
        begins = 1
        try:
            for cells in reader:
                yield begins, cells
                begins = reader.line_num + 1  # a quoted cell may hold more than one line
        except csv.Error as error:
            raise ValueError(f"{error}, in the row that begins on line {begins}") from error


def _short_lines(file: TextIO) -> Iterator[str]:
    """The lines of a file, none of which may be so long that it would fill the memory."""
    line, total = 0, 0
    while text := file.readline(_LONGEST_LINE):
        line, total = line + 1, total + len(text)
        if total > LARGEST:  # a pipe states no size and need not end
            raise ValueError(TOO_LARGE)
        if len(text) == _LONGEST_LINE:
            raise ValueError(f"line {line} is longer than {_LONGEST_LINE:,} characters")
        yield text
