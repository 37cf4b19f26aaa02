"""A sheet of paper with a heading, rows that do not break, and page x/y on every page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any, BinaryIO

from kitting.facts.reasons import Reason
from kitting.reports.document import new_canvas
from kitting.reports.heading import Heading as Heading  # every sheet needs it with the sheet
from kitting.reports.heading import draw_foot, draw_scanned
from kitting.reports.stationery import find_paper
from kitting.reports.text import ASCENT, MM, THINNEST, Fitted, draw, fit, width_of
from kitting.wording.cautions import own_text, places_text, title_text
from kitting.wording.language import _
from kitting.wording.reasons import as_text, at_the_bench

MARGIN = 12.0
PAD = 1.4
FOOT = 23.0
TICK = 7.0
# Sizes of the cautions in points: smaller ones where they save a page.
_CAUTION_SIZES = (9.0, 8.5, 8.0, 7.5)
_BOX_AIR = 2.5  # above and below a text that has a box of its own (points)


@dataclass(frozen=True, slots=True)
class Part:
    """A text of a cell, in points; it wraps to at most `lines` lines.

    With `boxed` a line stands round it alone.
    """

    text: str
    size: float = 9.0
    bold: bool = False
    lines: int = 3
    smallest: float = 7.5
    boxed: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """Texts one below the other: `x` and `width` in mm from the left margin.

    With `frame` a frame stands round them.
    """

    x: float
    width: float
    parts: tuple[Part, ...]
    frame: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """Something so many mm high that is not divided; it is drawn from the sheet's `y` down."""

    height: float
    draw: Callable[[Sheet], None]


def _fit(part: Part, width: float) -> Fitted:
    """A part in `width` mm; only a line that has to stay one line is squeezed."""
    return fit(
        part.text,
        (width * MM, 200 * MM),
        (part.size, min(part.size, part.smallest)),
        bold=part.bold,
        lines=part.lines,
        squeeze=0.8 if part.lines == 1 else 1.0,
    )


def _air(parts: Sequence[Part]) -> float:
    """What the boxes of texts take in height, above and below, in points."""
    return 2 * _BOX_AIR * sum(part.boxed for part in parts)


def _box_text(canvas: Any, at: tuple[float, float, float], text: Fitted) -> None:
    """A line round a text that stands at `at`: its left, its head and its foot (points)."""
    left, head, foot = at
    wide = max((width_of(line, text.size, text.bold) for line in text.lines), default=0.0)
    canvas.setLineWidth(1.2)
    canvas.rect(left - 2.5, foot - 0.5, wide + 5, head - foot + 0.5)


class Sheet:
    """Draws down a page and on to the next; lengths in mm, `y` is what is used from the top."""

    def __init__(
        self,
        canvas: Any,
        size: tuple[float, float],
        heading: Heading,
        pages: int,
        caution_size: float = _CAUTION_SIZES[0],
    ) -> None:
        self.canvas = canvas
        self.page_width, self.page_height = size
        self.width = self.page_width - 2 * MARGIN
        self.heading, self.pages = heading, pages
        self.caution_size = caution_size
        # Pages that hold nothing but cautions.
        self.caution_pages = 0
        self.page = 1
        self.y = MARGIN
        self.repeat: Callable[[Sheet], None] | None = None
        # Right of the first texts stands the code: so wide, and so far down, in mm.
        self._beside = draw_scanned(canvas, self.heading, self.point(self.width, 0)) / MM
        self._code_foot = MARGIN + self._beside if self._beside else 0.0
        self._foot()

    @property
    def room(self) -> float:
        """Height left on the page."""
        return self.page_height - FOOT - self.y

    @property
    def whole_page(self) -> float:
        """Height of a new page below its running head."""
        return self.page_height - FOOT - 2 * MARGIN

    def ensure(self, height: float) -> None:
        """Go below the code of the head, and to a new page unless so much is left."""
        self.y = max(self.y, self._code_foot)
        self._ensure(height)

    def _ensure(self, height: float) -> None:
        if height > self.room:
            self.new_page()

    def new_page(self) -> None:
        """A page with the running head, the foot and what is repeated."""
        self.canvas.showPage()
        self.page += 1
        self.y = MARGIN
        self._beside, self._code_foot = 0.0, 0.0
        self._foot()
        self.text(self.heading.running, 9.5, bold=True, lines=1, gap=1)
        self.line(0.8)
        self.y += 1
        if self.repeat is not None:
            self.repeat(self)

    def _foot(self) -> None:
        x, top = MARGIN * MM, (FOOT - 3.5) * MM
        draw_foot(self.canvas, (x, top, self.width * MM), self.heading, (self.page, self.pages))

    def point(self, x: float, down: float) -> tuple[float, float]:
        """Where on the canvas, in points, so many mm from the left margin and below `y` lie."""
        return (MARGIN + x) * MM, (self.page_height - self.y - down) * MM

    def text(
        self, text: str, size: float, *, bold: bool = False, lines: int = 2, gap: float = 0.8
    ) -> None:
        """A text over the whole width, in the head over what the code leaves of it."""
        beside = self._beside + 2 if self.y < self._code_foot else 0
        fitted = _fit(Part(text, size, bold, lines), self.width - beside)
        self._ensure(fitted.height / MM)
        draw(self.canvas, *self.point(0, 0), fitted)
        self.y += fitted.height / MM + gap

    def keep(self, blocks: Sequence[Block]) -> None:
        """Draw blocks one below the other, on one page if a page can hold them all."""
        self.ensure(min(sum(block.height for block in blocks), self.whole_page))
        for block in blocks:
            self.ensure(block.height)
            block.draw(self)
            self.y += block.height

    def row(self, cells: Sequence[Cell], least: float, *, tick: bool = False) -> None:
        """A row of cells on one base line, at least so high, with a thin line below.

        With `tick` a box to tick stands at its left end.
        """
        block = self.cells(cells, least)
        self.ensure(block.height)
        block.draw(self)
        if tick:
            self.tick_box(0.5, 1)
        self.y += block.height
        self.line()

    def cells(self, cells: Sequence[Cell], least: float = 0.0) -> Block:
        """Cells on one base line as a block, at least so high."""
        fitted = [(cell, [_fit(part, cell.width) for part in cell.parts]) for cell in cells]
        lead = max((texts[0].size for _, texts in fitted if texts), default=0.0)
        tallest = max(
            (self._height(texts, lead) + _air(cell.parts) for cell, texts in fitted), default=0.0
        )

        def paint(sheet: Sheet) -> None:
            for cell, texts in fitted:
                x, top = sheet.point(cell.x, PAD)
                top -= self._drop(texts, lead)
                foot = top
                for part, text in zip(cell.parts, texts, strict=True):
                    air = _air((part,)) / 2
                    head, foot = foot - air, draw(sheet.canvas, x, foot - air, text)
                    if part.boxed:
                        _box_text(sheet.canvas, (x, head, foot), text)
                    foot -= air
                if cell.frame and texts:
                    high = top - foot + 0.8 * MM
                    sheet.canvas.setLineWidth(1.0)
                    sheet.canvas.rect(x - 1 * MM, foot - 0.4 * MM, cell.width * MM, high)

        return Block(max(least, tallest / MM + 2 * PAD), paint)

    def tick_box(self, x: float, down: float) -> None:
        """A box to tick, its upper left corner so many mm from the left margin and below `y`."""
        self.canvas.setLineWidth(0.8)
        self.canvas.rect(*self.point(x, down + TICK), TICK * MM, TICK * MM, stroke=1, fill=0)

    @staticmethod
    def _drop(texts: Sequence[Fitted], lead: float) -> float:
        """How far smaller letters go down to stand on the same base line, in points."""
        return ASCENT * (lead - texts[0].size) if texts else 0.0

    def _height(self, texts: Sequence[Fitted], lead: float) -> float:
        return self._drop(texts, lead) + sum(text.height for text in texts)

    def blanks(self, names: Sequence[str], height: float = 9.0) -> None:
        """Lines to write on, side by side, each after its name."""
        self.ensure(height)
        share = self.width / len(names)
        for number, name in enumerate(names):
            label = fit(name, (0.4 * share * MM, 20), (9, 7.5), lines=1)
            x, top = self.point(number * share, height - 5)
            draw(self.canvas, x, top, label)
            start = max((width_of(t, label.size) for t in label.lines), default=0.0) + 4
            foot = top - ASCENT * label.size - 1
            self.canvas.setLineWidth(0.8)
            self.canvas.line(x + start, foot, x + (share - 4) * MM, foot)
        self.y += height

    def line(self, weight: float = THINNEST) -> None:
        """A line across at the present height."""
        self.canvas.setLineWidth(weight)
        x, y = self.point(0, 0)
        self.canvas.line(x, y, x + self.width * MM, y)

    def box(self, title: str, texts: Sequence[str | Reason]) -> None:
        """A framed box with a bold title; where the page ends, the rest gets a box of its own."""
        inner = self.width - 6
        parts = [_fit(Part(as_text(text), 9.5, lines=20, smallest=8), inner) for text in texts]
        while parts:
            head = _fit(Part(title, 10.5, bold=True, lines=1), inner)
            self.ensure((head.height + parts[0].height) / MM + 2 * PAD + 2)
            height = head.height / MM + 2 * PAD
            taken = 0
            while taken < len(parts) and height + parts[taken].height / MM + 1 <= self.room:
                height += parts[taken].height / MM
                taken += 1
            self._frame([head, *parts[:taken]], height)
            parts = parts[taken:]

    def _frame(self, parts: Sequence[Fitted], height: float) -> None:
        x, y = self.point(0, height)
        self.canvas.setLineWidth(1.2)
        self.canvas.rect(x, y, self.width * MM, height * MM, stroke=1, fill=0)
        top = y + (height - PAD) * MM
        for part in parts:
            top = draw(self.canvas, x + 3 * MM, top, part)
        self.y += height + 2

    def cautions(self) -> None:
        """The cautions of the work in full, each kept whole on one page."""
        self.repeat = None
        cautions = self.heading.cautions
        if not cautions:
            return
        self.y += 4
        before = self.page
        self.ensure(20)
        self.text(_("CAUTIONS"), 12, bold=True, gap=0.8)
        for caution in cautions:
            title = f"{title_text(caution)} ({places_text(caution)})"
            # That the maker's data decides stands once, on the first page.
            head = _fit(Part(title, self.caution_size, bold=True, lines=3), self.width)
            body = _fit(Part(own_text(caution), self.caution_size, lines=30), self.width)
            self.ensure((head.height + body.height) / MM + 1.5)
            x, top = self.point(0, 0)
            draw(self.canvas, x, draw(self.canvas, x, top, head), body)
            self.y += (head.height + body.height) / MM + 1.5
        self.caution_pages = self.page - before


@at_the_bench()
def render(
    target: BinaryIO, paper: str, heading: Heading, draw_body: Callable[[Sheet], None]
) -> int:
    """Draw a sheet twice, once to count its pages; returns their number.

    Cautions that would take a page of their own are set smaller where that saves it. Raises
    KittingError for an unknown paper.
    """
    size = find_paper(paper)
    title = f"{heading.title} {heading.reference}"

    def drawn(sink: BinaryIO, pages: int, caution_size: float) -> Sheet:
        canvas = new_canvas(sink, *size, title)
        sheet = Sheet(canvas, size, heading, pages, caution_size)
        draw_body(sheet)
        canvas.save()
        return sheet

    best = drawn(BytesIO(), 0, _CAUTION_SIZES[0])
    for caution_size in _CAUTION_SIZES[1:]:
        if best.caution_pages == 0:
            break
        smaller = drawn(BytesIO(), 0, caution_size)
        if smaller.page < best.page:
            best = smaller
    return drawn(target, best.page, best.caution_size).page
