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


@dataclass(slots=True)
class Column:
    """A box filled from the top; all lengths in points."""

    canvas: Any
    x: float
    top: float
    width: float
    bottom: float
    smallest: float

    @property
    def room(self) -> float:
        """Height that is left."""
        return self.top - self.bottom

    def measure(self, text: str, size: float, *, bold: bool = False, lines: int = 1) -> Fitted:
        """The text as it would be drawn in what is left."""
        return fit(
            text,
            self.width,
            self.room,
            size,
            min(size, self.smallest),
            bold=bold,
            lines=lines,
        )

    def put(
        self, text: str, size: float, *, bold: bool = False, lines: int = 1, gap: float = 0.0
    ) -> bool:
        """Draw a text and go below it; False where there is no room for any of it."""
        fitted = self.measure(text, size, bold=bold, lines=lines)
        if not fitted.lines:
            return False
        self.top = draw(self.canvas, self.x, self.top, fitted) - gap
        return True

    def put_list(self, texts: Sequence[str], size: float, more: str, *, lines: int = 2) -> None:
        """Draw as many texts as fit; how many are left off is said in a line of its own.

        `more` is the wording, with {} for the number.
        """
        for number, text in enumerate(texts):
            left = len(texts) - number
            fitted = self.measure(text, size, lines=lines)
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
            self.canvas.line(self.x, self.top, self.x + self.width, self.top)
            self.top -= gap

    def boxed(self, text: str, size: float, *, lines: int = 1, pad: float = 1.5) -> bool:
        """A text in a frame, for warnings."""
        inner = Column(
            self.canvas,
            self.x + 2 * pad,
            self.top - pad,
            self.width - 4 * pad,
            self.bottom + pad,
            self.smallest,
        )
        start = self.top
        if not inner.put(text, size, bold=True, lines=lines):
            return False
        foot = inner.top - pad
        self.canvas.setLineWidth(0.8)
        self.canvas.rect(self.x, foot, self.width, start - foot, stroke=1, fill=0)
        self.top = foot - pad
        return True
