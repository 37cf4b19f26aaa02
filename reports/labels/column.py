"""A column of text in a label: each text takes what room is left, whole or not at all.

The column may have a notch in its upper right corner, where a code stands: text beside the notch
is narrower than text below it. A column without a canvas only measures, so that a label can be
tried at several sizes before it is drawn.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from kitting.reports.labels.priorities import LEAST_PLAIN
from kitting.reports.text import Fitted, draw, fit, printable, width_of

_EDGE = 0.01
_FIGURE = re.compile(r"\d")
# No text of a label is longer: whatever finds room in full takes fewer lines.
_LINES = 99
_LEADING_OF_FOOT = 1.25


@dataclass(frozen=True, slots=True)
class Entry:
    """One item of a list: the text, and a short bold `lead` in a column of its own."""

    text: str
    lead: str = ""


@dataclass(slots=True)
class Column:
    """A box filled from the top; all lengths in points.

    Text keeps the size it is given, so that lines match; only heads shrink, down to `smallest`.
    """

    canvas: Any
    x: float
    top: float
    full_width: float
    bottom: float
    smallest: float
    notch_width: float = 0.0
    notch_bottom: float = float("inf")

    @property
    def room(self) -> float:
        """Height that is left."""
        return self.top - self.bottom

    @property
    def width(self) -> float:
        """Width at the present height."""
        beside = self.notch_width and self.top > self.notch_bottom + _EDGE
        return self.full_width - (self.notch_width if beside else 0.0)

    def trial(self) -> Column:
        """The column as it is, to be filled without drawing."""
        return replace(self, canvas=None)

    def measure(
        self, text: str, size: float, *, bold: bool = False, lines: int = 1, indent: float = 0.0
    ) -> Fitted:
        """The text as it would be drawn in what is left; small figures are always bold."""
        bold = bold or (size < LEAST_PLAIN and _FIGURE.search(text) is not None)
        return fit(text, (self.width - indent, self.room), (size, size), bold=bold, lines=lines)

    def put(self, text: str, size: float, *, bold: bool = False, lines: int = 1) -> bool:
        """Draw as much of a text as finds room and go below it; False where none does."""
        fitted = self.measure(text, size, bold=bold, lines=lines)
        self._draw(self.x, fitted)
        self.top = max(self.top - fitted.height, self.bottom)
        return bool(fitted.lines)

    def put_whole(self, text: str, size: float, *, bold: bool = False, lines: int = _LINES) -> bool:
        """Draw a text in full and go below it; False, and nothing drawn, where it finds no room."""
        return self._put(self.measure(text, size, bold=bold, lines=lines))

    def put_head(self, texts: Sequence[str], size: float) -> bool:
        """Draw in bold the first of some texts that fits on a line at its size.

        Else the last of them, smaller or on several lines. False where it finds no room.
        """
        for text in texts:
            fitted = self.measure(text, size, bold=True)
            if not fitted.cut:
                return self._put(fitted)
        box, sizes = (self.width, self.room), (size, min(size, self.smallest))
        return self._put(fit(texts[-1], box, sizes, bold=True, lines=_LINES, squeeze=0.7))

    def _put(self, fitted: Fitted) -> bool:
        if fitted.cut:
            return False
        self._draw(self.x, fitted)
        self.top = max(self.top - fitted.height, self.bottom)
        return True

    def put_foot(self, text: str, size: float) -> bool:
        """Draw a bold line at the foot; the column ends above it from now on."""
        high = size * _LEADING_OF_FOOT
        if high > self.room:
            return False
        foot = replace(self, top=self.bottom + high)
        if not foot.put_whole(text, size, bold=True, lines=1):
            return False
        self.bottom += high
        return True

    def put_list(self, entries: Sequence[Entry], size: float, *, bold: bool = False) -> int:
        """Draw as many entries as find room, leads in a column; how many were left off."""
        leads = [printable(entry.lead) for entry in entries]
        widest = max((width_of(lead, size, bold=True) for lead in leads), default=0.0)
        indent = min(widest + 0.5 * size, 0.4 * self.full_width) if widest else 0.0
        for number, (lead, entry) in enumerate(zip(leads, entries, strict=True)):
            if not self._put_entry(lead, entry.text, (size, bold), indent):
                return len(entries) - number
        return 0

    def _put_entry(self, lead: str, text: str, type_: tuple[float, bool], indent: float) -> bool:
        size, bold = type_
        fitted = self.measure(text, size, bold=bold, lines=_LINES, indent=indent)
        marked = fit(lead, (indent, self.room), (size, size), bold=True, lines=_LINES)
        if fitted.cut or marked.cut:
            return False
        self._draw(self.x, marked)
        self._draw(self.x + indent, fitted)
        self.top -= max(fitted.height, marked.height)
        return True

    def boxed(self, text: str, size: float) -> bool:
        """A bold text in a frame, for warnings; False, and nothing drawn, where it has no room.

        Where it finds none beside the notch it goes below it.
        """
        if self._framed(text, size):
            return True
        before = self.top
        self.top = min(self.top, max(self.notch_bottom, self.bottom))
        if self.top < before and self._framed(text, size):
            return True
        self.top = before
        return False

    def _framed(self, text: str, size: float) -> bool:
        pad, air = 0.25 * size, 0.15 * size
        inner = replace(
            self,
            x=self.x + 2 * pad,
            top=self.top - air - pad,
            full_width=self.width - 4 * pad,
            bottom=self.bottom + 2 * pad,
            notch_width=0.0,
        )
        fitted = inner.measure(text, size, bold=True, lines=_LINES)
        if fitted.cut or not fitted.lines:
            return False
        inner._put(fitted)
        foot, top = inner.top - pad, self.top - air
        across = max(width_of(line, size, bold=True) for line in fitted.lines) + 4 * pad
        if self.canvas is not None:
            self.canvas.setLineWidth(0.8)
            self.canvas.rect(self.x, foot, across, top - foot, stroke=1, fill=0)
        self.top = foot - pad
        return True

    def _draw(self, x: float, fitted: Fitted) -> None:
        if self.canvas is not None:
            draw(self.canvas, x, self.top, fitted)
