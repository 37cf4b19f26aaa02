"""A column of text in a label: each block takes what room is left and never more.

The column may have a notch in its upper right corner, where a code stands: text beside the notch
is narrower than text below it. A column without a canvas only measures, so that a label can be
tried at several sizes before it is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from kitting.reports.text import Fitted, draw, fit, printable, width_of

_EDGE = 0.01


@dataclass(frozen=True, slots=True)
class Entry:
    """One item of a list: a short bold `lead` in a column of its own, and the text.

    With `whole` it is shown in full or not at all: half a figure is worse than none.
    """

    lead: str
    text: str
    whole: bool = False


@dataclass(slots=True)
class Column:
    """A box filled from the top; all lengths in points.

    Text keeps the size it is given, so that lines match; only heads shrink, down to `smallest`.
    An entry of a list has at most `entry_lines` lines.
    `left_off` counts what found no room; `cut` says whether anything was shortened.
    """

    canvas: Any
    x: float
    top: float
    full_width: float
    bottom: float
    smallest: float
    notch_width: float = 0.0
    notch_bottom: float = float("inf")
    entry_lines: int = 8
    left_off: int = 0
    cut: bool = False

    @property
    def room(self) -> float:
        """Height that is left."""
        return self.top - self.bottom

    @property
    def width(self) -> float:
        """Width at the present height."""
        beside = self.notch_width and self.top > self.notch_bottom + _EDGE
        return self.full_width - (self.notch_width if beside else 0.0)

    @property
    def complete(self) -> bool:
        """Whether everything put so far stands there in full."""
        return not (self.cut or self.left_off)

    def trial(self) -> Column:
        """The column as it is, to be filled without drawing."""
        return replace(self, canvas=None)

    def measure(
        self,
        text: str,
        size: float,
        *,
        bold: bool = False,
        lines: int = 1,
        indent: float = 0.0,
        smallest: float | None = None,
    ) -> Fitted:
        """The text as it would be drawn in what is left."""
        least = size if smallest is None else min(size, smallest)
        return fit(text, (self.width - indent, self.room), (size, least), bold=bold, lines=lines)

    def put(self, text: str, size: float, *, bold: bool = False, lines: int = 1) -> bool:
        """Draw a text and go below it; False where there is no room for any of it."""
        return self._put(self.measure(text, size, bold=bold, lines=lines))

    def put_head(self, text: str, size: float, *, lines: int = 1) -> float:
        """Draw a bold text that shrinks to find room; returns its size."""
        fitted = self.measure(text, size, bold=True, lines=lines, smallest=self.smallest)
        self._put(fitted)
        return fitted.size

    def _put(self, fitted: Fitted) -> bool:
        self.cut = self.cut or fitted.cut
        if not fitted.lines:
            self.left_off += fitted.cut
            return False
        self._draw(self.x, fitted)
        self.top = max(self.top - fitted.height, self.bottom)
        return True

    def put_foot(self, text: str, size: float) -> None:
        """Draw a bold line at the foot; the column ends above it from now on."""
        foot = replace(self, top=min(self.top, self.bottom + size * 1.25))
        if foot.put(text, size, bold=True):
            self.bottom = min(self.top, self.bottom + size * 1.25)
        self.cut, self.left_off = foot.cut, foot.left_off

    def put_list(self, entries: Sequence[Entry], size: float, *, title: str = "") -> None:
        """Draw as many entries as fit, under a bold title, and note how many are left off."""
        leads = [printable(entry.lead) for entry in entries]
        widest = max((width_of(lead, size, bold=True) for lead in leads), default=0.0)
        indent = min(widest + 0.5 * size, 0.4 * self.full_width) if widest else 0.0
        for number, (lead, entry) in enumerate(zip(leads, entries, strict=True)):
            if not self._put_entry("" if number else title, lead, entry, size, indent):
                self.left_off += len(entries) - number
                return

    def _put_entry(self, title: str, lead: str, entry: Entry, size: float, indent: float) -> bool:
        """One entry, under the title if it has one; False where there is no room for both."""
        under = self.trial()
        under._put_title(title, size)
        fitted = under.measure(entry.text, size, lines=self.entry_lines, indent=indent)
        if not fitted.lines or under.left_off > self.left_off or (entry.whole and fitted.cut):
            return False
        self._put_title(title, size)
        self.cut = self.cut or fitted.cut
        marked = fit(lead, (indent, self.room), (size, size), bold=True, lines=len(fitted.lines))
        self.cut = self.cut or marked.cut
        self._draw(self.x, marked)
        self._draw(self.x + indent, fitted)
        self.top -= fitted.height
        return True

    def _put_title(self, title: str, size: float) -> None:
        if title:
            self.top -= 0.25 * size
            self.put(title, size, bold=True, lines=2)

    def put_if_room(self, text: str, size: float, *, bold: bool = False, lines: int = 1) -> bool:
        """Draw a text that can also be read elsewhere, where all of it finds room."""
        fitted = self.measure(text, size, bold=bold, lines=lines)
        if not fitted.lines or fitted.cut:
            return False
        self._draw(self.x, fitted)
        self.top -= fitted.height
        return True

    def rule(self, size: float) -> None:
        """A thin line across, with air above and below, where a line of text fits under it."""
        gap = 0.2 * size
        if self.room < 2 * gap + 1.2 * size:
            return
        self.top -= gap
        if self.canvas is not None:
            self.canvas.setLineWidth(0.5)
            self.canvas.line(self.x, self.top, self.x + self.width, self.top)
        self.top -= gap

    def boxed(self, text: str, size: float, *, lines: int) -> bool:
        """A bold text in a frame, for warnings."""
        pad = 0.25 * size
        self.top = max(self.top - 0.15 * size, self.bottom)
        inner = replace(
            self,
            x=self.x + 2 * pad,
            top=self.top - pad,
            full_width=self.width - 4 * pad,
            bottom=min(self.top - pad, self.bottom + 2 * pad),
            notch_width=0.0,
        )
        fitted = inner.measure(text, size, bold=True, lines=lines)
        drawn = inner._put(fitted)
        self.cut, self.left_off = inner.cut, inner.left_off
        if not drawn:
            return False
        foot = inner.top - pad
        across = max(width_of(line, size, bold=True) for line in fitted.lines) + 4 * pad
        if self.canvas is not None:
            self.canvas.setLineWidth(0.8)
            self.canvas.rect(self.x, foot, across, self.top - foot, stroke=1, fill=0)
        self.top = foot - pad
        return True

    def _draw(self, x: float, fitted: Fitted) -> None:
        if self.canvas is not None:
            draw(self.canvas, x, self.top, fitted)
