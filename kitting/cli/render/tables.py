"""Tables on the screen: plain columns, text from data never read as markup.

A cell breaks between words only, so that a code stays one. Where the columns do not fit beside one
another, those on the right stand below their row. Output that is no screen has one line per row.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.text import Text

from kitting.cli.screen import BOUNDLESS
from kitting.cli.wrapping import longest_line, longest_word, wrapped
from kitting.facts.control_characters import visible
from kitting.wording.language import told

_GAP = 2
_BELOW = 4  # columns by which what stands below its row is indented
_WORTH_IT = 1.5  # cells are put below where that saves this share of the lines


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, told when it is drawn; `whole` cells never break at all."""

    heading: Callable[[], str] = str
    right: bool = False
    whole: bool = False
    least: int = 0

    def width_at_least(self, cells: Sequence[str]) -> int:
        """The columns of a screen that it takes at least."""
        longest = longest_line if self.whole else longest_word
        return max(self.least, longest_word(self.heading()), *map(longest, cells), 0)

    def width_at_most(self, cells: Sequence[str]) -> int:
        """The columns of a screen in which nothing of it breaks."""
        return max(self.least, cell_len(self.heading()), *map(longest_line, cells), 0)


@dataclass(slots=True)
class PlainTable:
    """A table without lines, that Rich can print."""

    columns: tuple[Column, ...]
    indent: int = 0
    rows: list[tuple[str, ...]] = field(default_factory=list)

    @property
    def row_count(self) -> int:
        """How many rows there are."""
        return len(self.rows)

    def add_row(self, *cells: str | None) -> None:
        """Add a row with a cell for every column, a word of a fixed list told; None is empty."""
        self.rows.append(tuple(visible(told(cell or "")) for cell in cells))

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Its lines, the headings bold."""
        boundless = options.max_width >= BOUNDLESS
        rows = [tuple(map(_one_line, row)) for row in self.rows] if boundless else self.rows
        heading, lines = _drawn(self.columns, rows, options.max_width - self.indent)
        for at, line in enumerate((*heading, *lines)):
            style = "bold" if at < len(heading) else ""
            text = f"{' ' * self.indent}{line}".rstrip(" ")
            yield Text(text, style=style, no_wrap=True, overflow="ignore")


def plain_table(*columns: Column, indent: int = 0) -> PlainTable:
    """A table with these columns, by so many columns of the screen further in."""
    return PlainTable(columns, indent)


def _one_line(cell: str) -> str:
    return cell.replace("\n–", " –").replace("\n", "; ")


def _drawn(
    columns: Sequence[Column], rows: Sequence[tuple[str, ...]], width: int
) -> tuple[list[str], list[str]]:
    """The lines of the headings and of the rows, with as many columns beside as is well."""
    best: tuple[list[str], list[str]] = ([], [])
    unbroken = sum(max(cell.count("\n") + 1 for cell in row) for row in rows)
    for beside in range(len(columns), 0, -1):
        widths = _widths(columns[:beside], [row[:beside] for row in rows], width)
        if widths is None and beside > 1:
            continue
        widths = widths or [columns[0].width_at_most([row[0] for row in rows])]
        lines = [line for row in rows for line in _row(columns, row, widths, width)]
        if not (best[0] or best[1]) or len(lines) * _WORTH_IT < len(best[1]):
            headings = [column.heading() for column in columns[:beside]]
            best = (_beside(columns, headings, widths) if any(headings) else [], lines)
        if len(best[1]) <= unbroken * _WORTH_IT:
            break
    return best


def _widths(
    columns: Sequence[Column], rows: Sequence[tuple[str, ...]], width: int
) -> list[int] | None:
    """How wide each column is, the long ones alike; None where they do not fit."""
    cells = [[row[at] for row in rows] for at in range(len(columns))]
    pairs = list(zip(columns, cells, strict=True))
    least = [column.width_at_least(found) for column, found in pairs]
    most = [column.width_at_most(found) for column, found in pairs]
    room = width - _GAP * (len(columns) - 1)
    if sum(least) > room:
        return None
    if sum(most) <= room:
        return most
    level = max(
        level
        for level in range(room + 1)
        if sum(max(low, min(high, level)) for low, high in zip(least, most, strict=True)) <= room
    )
    return [max(low, min(high, level)) for low, high in zip(least, most, strict=True)]


def _row(
    columns: Sequence[Column], row: tuple[str, ...], widths: Sequence[int], width: int
) -> list[str]:
    lines = _beside(columns, row[: len(widths)], widths)
    pairs = zip(columns[len(widths) :], row[len(widths) :], strict=True)
    below = [(column.heading(), _one_line(cell)) for column, cell in pairs if cell]
    if below:
        listed = "; ".join(f"{heading}: {cell}" if heading else cell for heading, cell in below)
        lines += wrapped(f"{' ' * _BELOW}{listed}", width)
    return lines


def _beside(columns: Sequence[Column], cells: Sequence[str], widths: Sequence[int]) -> list[str]:
    pairs = zip(columns, cells, widths, strict=False)
    parts = [
        cell.split("\n") if column.whole else wrapped(cell, width) for column, cell, width in pairs
    ]
    lines = []
    for line in zip_longest(*parts, fillvalue=""):
        padded = (
            _padded(text, width, right=column.right)
            for column, text, width in zip(columns, line, widths, strict=False)
        )
        lines.append((" " * _GAP).join(padded))
    return lines


def _padded(text: str, width: int, *, right: bool) -> str:
    room = " " * (width - cell_len(text))
    return f"{room}{text}" if right else f"{text}{room}"
