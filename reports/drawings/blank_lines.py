"""Lines to write on, side by side, each after its name."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from kitting.reports.sheet import Block, Sheet
from kitting.reports.text import ASCENT, MM, THINNEST, draw, fit, width_of

HIGH = 8.5


def blank_lines(names: Sequence[str], left: float, width: float) -> Block:
    """A block of lines after their names, from `left` on over `width` (mm)."""
    return Block(HIGH, partial(_paint, tuple(names), left, width))


def _paint(names: Sequence[str], left: float, width: float, sheet: Sheet) -> None:
    share = width / len(names)
    for number, name in enumerate(names):
        label = fit(name, (0.6 * share * MM, 6.5 * MM), (9, 7), lines=2)
        x, foot = sheet.point(left + number * share, HIGH - 1.2)
        wide = max((width_of(text, label.size) for text in label.lines), default=0.0)
        draw(sheet.canvas, x, foot + label.height - (1 - ASCENT) * label.size, label)
        sheet.canvas.setLineWidth(THINNEST)
        sheet.canvas.line(x + wide + 4, foot - 1, x + (share - 3) * MM, foot - 1)
