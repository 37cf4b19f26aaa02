"""A sheet of paper with a heading, rows that do not break, and page x of y on every page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from kitting.reports.stationery import find_paper
from kitting.reports.text import MM, Fitted, draw, fit
from kitting.views import CautionView

MARGIN = 12.0
PAD = 1.5
FOOT = 15.0
DEFERS = (
    "Planning information, not a procedure: the vehicle maker's data, local rules and licensed"
    " practice go before it."
)


@dataclass(frozen=True, slots=True)
class Cell:
    """A text in a row: `x` and `width` in mm from the left margin, `drop` mm below its top."""

    x: float
    width: float
    text: str
    size: float = 9.0
    bold: bool = False
    lines: int = 3
    smallest: float = 7.5
    drop: float = 0.0


class Sheet:
    """Draws down a page and on to the next; lengths in mm, `y` is what is used from the top."""

    def __init__(
        self, canvas: Any, size: tuple[float, float], reference: str, title: str, pages: int
    ) -> None:
        self.canvas = canvas
        self.page_width, self.page_height = size
        self.width = self.page_width - 2 * MARGIN
        self.reference, self.title, self.pages = reference, title, pages
        self.page = 1
        self.y = MARGIN
        self.repeat: Callable[[Sheet], None] | None = None
        self._foot()

    @property
    def room(self) -> float:
        """Height left on the page."""
        return self.page_height - FOOT - self.y

    def ensure(self, height: float) -> None:
        """Go to a new page unless so much is left."""
        if height > self.room:
            self.canvas.showPage()
            self.page += 1
            self.y = MARGIN
            self._foot()
            if self.repeat is not None:
                self.repeat(self)

    def _foot(self) -> None:
        text = f"{self.title} {self.reference}"
        y = (FOOT - 3) * MM
        self.canvas.setLineWidth(0.4)
        self.canvas.line(MARGIN * MM, y, (self.page_width - MARGIN) * MM, y)
        left = fit(text, self.width * MM * 0.3, 12, 8, 6, bold=True, lines=1)
        draw(self.canvas, MARGIN * MM, y - 2, left)
        middle = fit(DEFERS, self.width * MM * 0.52, 20, 6.5, 6, lines=2)
        draw(self.canvas, (MARGIN + self.width * 0.31) * MM, y - 2, middle)
        count = fit(f"page {self.page}/{self.pages}", 22 * MM, 12, 8, 6, bold=True, lines=1)
        draw(self.canvas, (self.page_width - MARGIN - 18) * MM, y - 2, count)

    def _points(self, x: float, down: float) -> tuple[float, float]:
        return (MARGIN + x) * MM, (self.page_height - self.y - down) * MM

    def text(
        self, text: str, size: float, *, bold: bool = False, lines: int = 2, gap: float = 0.8
    ) -> None:
        """A line of text over the whole width."""
        fitted = fit(text, self.width * MM, 60 * MM, size, min(size, 7.5), bold=bold, lines=lines)
        self.ensure(fitted.height / MM)
        draw(self.canvas, *self._points(0, 0), fitted)
        self.y += fitted.height / MM + gap

    def row(self, cells: Sequence[Cell], least: float, *, tick: float | None = None) -> None:
        """A row of cells, at least so high, with a thin line below; `tick` places a tick box."""
        fitted = [(cell, self._fit(cell)) for cell in cells]
        height = max(least, *(c.drop + text.height / MM + 2 * PAD for c, text in fitted))
        self.ensure(height)
        for cell, text in fitted:
            draw(self.canvas, *self._points(cell.x, PAD + cell.drop), text)
        if tick is not None:
            side = 7.0
            x, y = self._points(tick, (height - side) / 2 + side)
            self.canvas.setLineWidth(0.8)
            self.canvas.rect(x, y, side * MM, side * MM, stroke=1, fill=0)
        self.y += height
        self.line()

    def _fit(self, cell: Cell) -> Fitted:
        return fit(
            cell.text,
            cell.width * MM,
            60 * MM,
            cell.size,
            min(cell.size, cell.smallest),
            bold=cell.bold,
            lines=cell.lines,
        )

    def line(self, weight: float = 0.4) -> None:
        """A line across at the present height."""
        self.canvas.setLineWidth(weight)
        x, y = self._points(0, 0)
        self.canvas.line(x, y, x + self.width * MM, y)

    def box(self, title: str, texts: Sequence[str]) -> None:
        """A framed box with a bold title; it never breaks over a page."""
        if not texts:
            return
        inner = (self.width - 4) * MM
        parts = [fit(title, inner, 60 * MM, 11, 9, bold=True, lines=1)]
        parts += [fit(text, inner, 60 * MM, 9.5, 8, lines=4) for text in texts]
        height = sum(part.height for part in parts) / MM + 2 * PAD + 1
        self.ensure(height + 2)
        x, y = self._points(0, height)
        self.canvas.setLineWidth(1.2)
        self.canvas.rect(x, y, self.width * MM, height * MM, stroke=1, fill=0)
        top = y + height * MM - PAD * MM
        for part in parts:
            top = draw(self.canvas, x + 2 * MM, top, part)
        self.y += height + 2

    def cautions(self, cautions: Sequence[CautionView]) -> None:
        """The cautions of the work, each kept whole."""
        if not cautions:
            return
        self.repeat = None
        self.y += 3
        self.ensure(20)
        self.text("CAUTIONS", 11, bold=True)
        for caution in cautions:
            column = self.width * MM
            title = fit(
                f"{caution.title} ({', '.join(caution.applies_to)})", column, 60 * MM, 9, 8,
                bold=True, lines=2,
            )  # fmt: skip
            body = fit(caution.text, column, 60 * MM, 8.5, 7.5, lines=6)
            self.ensure((title.height + body.height) / MM + 1)
            x, top = self._points(0, 0)
            draw(self.canvas, x, draw(self.canvas, x, top, title), body)
            self.y += (title.height + body.height) / MM + 1


def render(
    target: BinaryIO,
    paper: str,
    title: str,
    reference: str,
    draw_body: Callable[[Sheet], None],
) -> int:
    """Draw a sheet twice, once to count its pages; returns their number.

    Raises KittingError for an unknown paper.
    """
    from io import BytesIO

    from reportlab.pdfgen.canvas import Canvas

    size = find_paper(paper)
    pages = 0
    for sink in (BytesIO(), target):
        canvas = Canvas(sink, pagesize=(size[0] * MM, size[1] * MM), invariant=1)
        canvas.setTitle(f"{title} {reference}")
        sheet = Sheet(canvas, size, reference, title, pages)
        draw_body(sheet)
        pages = sheet.page
        canvas.save()
    return pages


__all__ = ["Cell", "Sheet", "render"]
