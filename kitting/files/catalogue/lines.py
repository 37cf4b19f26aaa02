"""Where the entries of a file stand: its lines, by which every fault is told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kitting.errors import Problem

Place = tuple[str | int, ...]
Spot = tuple[str, int]  # the sheet of a workbook ("" of a text file) and its row or line


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of a text file, from 1; a workbook tells its cells in the same way."""

    file: str

    def problem(self, line: int, thing: str, reason: str, next_step: str) -> Problem:
        """A fault on a line."""
        return Problem(self.file, line, thing, reason, next_step)

    def named(self, line: int) -> str:
        """A line in words."""
        return f"line {line}"

    def spot(self, line: int) -> Spot:
        """A line as a thing that is compared."""
        return "", line

    def fill_in(self, place: Place) -> str:
        """What to do where the value of a place is missing."""
        return f"Add '{place[-1]}: …'"


def line_of(raw: Any, place: Place) -> int:
    """The line (from 1) of the deepest part of `place` that the file holds."""
    line, node = 1, raw
    for key in place:
        try:
            if isinstance(node, dict):
                line = node.lc.key(key)[0] + 1  # type: ignore[attr-defined]
            elif isinstance(node, list):
                line = node.lc.item(key)[0] + 1  # type: ignore[attr-defined]
            node = node[key]
        except (KeyError, IndexError, TypeError, AttributeError):
            break
    return line
