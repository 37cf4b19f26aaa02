"""A column of text in a label: each block takes what room is left and never more.

The column may have a notch in its upper right corner, where a code stands: text beside the notch
is narrower than text below it. A column without a canvas only measures, so that a label can be
tried at several sizes before it is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from kitting.reports.text import Fitted, draw, fit, printable, width_of

_EDGE = 0.01


@dataclass(frozen=True, slots=True)
class Entry:
    """One item of a list: a short bold `lead` in a column of its own, and the text.

    `where` is the paper on which it can be read if there is no room for it.
    """

    lead: str
    text: str
    where: str


@dataclass(slots=True)
class Column:
    """A box filled from the top; all lengths in points.

    Text keeps the size it is given, so that lines match; only heads shrink, down to `smallest`.
    An entry of a list has at most `entry_lines` lines.
    `left_off` counts what found no room, by the paper on which it can be read instead; `cut` says
    whether anything was shortened.
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
    left_off: dict[str, int] = field(default_factory=dict)
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
        return replace(self, canvas=None, left_off=dict(self.left_off))

    def leave_off(self, where: str, count: int = 1) -> None:
        """Note that something found no room and can be read elsewhere."""
        if count:
            self.left_off[where] = self.left_off.get(where, 0) + count

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
        return fit(text, self.width - indent, self.room, size, least, bold=bold, lines=lines)

    def put(
        self, text: str, size: float, *, bold: bool = False, lines: int = 1, where: str
    ) -> bool:
        """Draw a text and go below it; False where there is no room for any of it.

        `where` is the paper on which it can be read instead.
        """
        return self._put(self.measure(text, size, bold=bold, lines=lines), where)

    def put_head(self, text: str, size: float, *, lines: int, where: str) -> float:
        """Draw a bold text that shrinks to find room; returns its size."""
        fitted = self.measure(text, size, bold=True, lines=lines, smallest=self.smallest)
        self._put(fitted, where)
        return fitted.size

    def _put(self, fitted: Fitted, where: str) -> bool:
        self.cut = self.cut or fitted.cut
        if not fitted.lines:
            self.leave_off(where, int(fitted.cut))
            return False
        self._draw(self.x, fitted)
        self.top = max(self.top - fitted.height, self.bottom)
        return True

    def put_foot(self, text: str, size: float, *, where: str) -> None:
        """Draw a bold line at the foot; the column ends above it from now on."""
        foot = replace(self, top=min(self.top, self.bottom + size * 1.25))
        if foot.put(text, size, bold=True, where=where):
            self.bottom = min(self.top, self.bottom + size * 1.25)
        self.cut = self.cut or foot.cut
        self.left_off = foot.left_off

    def put_list(self, entries: Sequence[Entry], size: float, *, title: str = "") -> None:
        """Draw as many entries as fit, under a bold title, and note what is left off."""
        leads = [printable(entry.lead) for entry in entries]
        widest = max((width_of(lead, size, bold=True) for lead in leads), default=0.0)
        indent = min(widest + 0.5 * size, 0.4 * self.full_width) if widest else 0.0
        for number, (lead, entry) in enumerate(zip(leads, entries, strict=True)):
            heads = [title] if title and not number else []
            if not self._put_entry(heads, lead, entry.text, size, indent):
                for missing in entries[number:]:
                    self.leave_off(missing.where)
                return

    def _put_entry(
        self, heads: Sequence[str], lead: str, text: str, size: float, indent: float
    ) -> bool:
        """One entry, under its title if it has one; False where there is no room for both."""
        trial = replace(self, canvas=None, left_off={})
        for head in heads:
            trial.top -= 0.25 * size
            trial.put(head, size, bold=True, lines=2, where="")
        fitted = trial.measure(text, size, lines=self.entry_lines, indent=indent)
        if not fitted.lines or trial.left_off:
            return False
        for head in heads:
            self.top -= 0.25 * size
            self.put(head, size, bold=True, lines=2, where="")
        self.cut = self.cut or fitted.cut
        self._draw(self.x, fit(lead, indent, self.room, size, 0.6 * size, bold=True, lines=1))
        self._draw(self.x + indent, fitted)
        self.top -= fitted.height
        return True

    def put_if_room(self, text: str, size: float) -> None:
        """Draw a text that can also be read elsewhere on the label, where a whole line is free."""
        fitted = self.measure(text, size)
        if fitted.lines and not fitted.cut:
            self._draw(self.x, fitted)
            self.top -= fitted.height

    def rule(self, gap: float = 2.0) -> None:
        """A thin line across, with air above and below."""
        if self.room > 2 * gap:
            self.top -= gap
            if self.canvas is not None:
                self.canvas.setLineWidth(0.5)
                self.canvas.line(self.x, self.top, self.x + self.width, self.top)
            self.top -= gap

    def boxed(self, text: str, size: float, *, lines: int, where: str) -> bool:
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
        drawn = inner._put(fitted, where)
        self.cut, self.left_off = self.cut or inner.cut, inner.left_off
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
