"""A column of text in a label: each block takes what room is left and never more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from kitting.reports.text import Fitted, draw, fit

SIGNS = {"renew": "■ RENEW", "inspect": "◪ INSPECT", "keep": "□ KEEP", "use": "USE"}


def sign(rule: str) -> str:
    """The rule as word and shape, readable without colour."""
    return SIGNS.get(rule, rule.upper())


def _kept(fitted: Fitted) -> tuple[int, float]:
    """How much of a text was kept, and how large."""
    return sum(len(line) for line in fitted.lines), fitted.size


@dataclass(slots=True)
class Column:
    """A box filled from the top; all lengths in points.

    `corner` (width, top) keeps a lower right corner free, for a code: what would reach down to it
    is set in the width that is left beside it.
    """

    canvas: Any
    x: float
    top: float
    width: float
    bottom: float
    smallest: float
    corner: tuple[float, float] | None = None

    @property
    def room(self) -> float:
        """Height that is left."""
        return self.top - self.bottom

    def measure(self, text: str, size: float, *, bold: bool = False, lines: int = 1) -> Fitted:
        """The text as it would be drawn in what is left."""
        smallest = min(size, self.smallest)
        if self.corner is None:
            return fit(text, self.width, self.room, size, smallest, bold=bold, lines=lines)
        corner_width, corner_top = self.corner
        whole = fit(
            text,
            self.width,
            max(self.top - corner_top, 0.0),
            size,
            smallest,
            bold=bold,
            lines=lines,
        )
        beside = fit(
            text, self.width - corner_width, self.room, size, smallest, bold=bold, lines=lines
        )
        # Beside the code there is less width but more height: take what keeps more of the text.
        return whole if _kept(whole) >= _kept(beside) else beside

    def put(
        self, text: str, size: float, *, bold: bool = False, lines: int = 1, gap: float = 0.0
    ) -> bool:
        """Draw a text and go below it; False where there is no room for any of it."""
        fitted = self.measure(text, size, bold=bold, lines=lines)
        if not fitted.lines:
            return False
        self.top = draw(self.canvas, self.x, self.top, fitted) - gap
        return True

    def put_list(
        self, texts: Sequence[str], size: float, more: str, *, lines: int = 2, whole: str = ""
    ) -> None:
        """Draw as many texts as fit; how many are left off is said in a line of its own.

        `more` is the wording, with {} for the number. A text that begins with `whole` is shown
        whole or left off: half a figure is worse than none.
        """
        for number, text in enumerate(texts):
            left = len(texts) - number
            entire = bool(whole) and text.startswith(whole)
            fitted = self.measure(text, size, lines=lines + 2 if entire else lines)
            if entire and fitted.cut:
                fitted = Fitted((), size, False)
            reserve = self.measure(more.format(left), size).height if left > 1 else 0.0
            if not fitted.lines or fitted.height + reserve > self.room + 0.01:
                self.put(more.format(left), size, bold=True)
                return
            self.top = draw(self.canvas, self.x, self.top, fitted)

    def rule(self, gap: float = 2.0) -> None:
        """A thin line across, with air above and below."""
        if self.room > 2 * gap:
            self.top -= gap
            self.canvas.setLineWidth(0.5)
            self.canvas.line(self.x, self.top, self.x + self.free_width, self.top)
            self.top -= gap

    @property
    def free_width(self) -> float:
        """The width that the next line may take."""
        if self.corner is None or self.top - self.smallest * 3 > self.corner[1]:
            return self.width
        return self.width - self.corner[0]

    def boxed(self, text: str, size: float, *, lines: int = 1, pad: float = 1.5) -> bool:
        """A text in a frame, for warnings."""
        start, width = self.top - pad, self.free_width
        inner = Column(
            self.canvas,
            self.x + 2 * pad,
            start - pad,
            width - 4 * pad,
            self.bottom + pad,
            self.smallest,
        )
        if not inner.put(text, size, bold=True, lines=lines):
            return False
        foot = inner.top - pad
        self.canvas.setLineWidth(0.8)
        self.canvas.rect(self.x, foot, width, start - foot, stroke=1, fill=0)
        self.top = foot - pad
        return True
