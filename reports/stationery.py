"""Paper and label stock, described by its dimensions in millimetres."""

from __future__ import annotations

import re
from dataclasses import dataclass

from kitting.errors import KittingError
from kitting.facts.names import nearest

PAPERS: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
_SMALLEST, _LARGEST = 20.0, 300.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where a label lies: page from 0, and its lower left corner in mm from the page's."""

    page: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class LabelStock:
    """A sheet of labels, or a roll (a page of one label). All lengths in mm.

    `margin` is kept free inside each label; it is larger where labels reach the edge of the
    paper, which no printer reaches.
    """

    key: str
    name: str
    page_width: float
    page_height: float
    width: float
    height: float
    columns: int = 1
    rows: int = 1
    left: float = 0.0
    top: float = 0.0
    gap_x: float = 0.0
    gap_y: float = 0.0
    margin: float = 2.0

    def __post_init__(self) -> None:
        across = self.left + self.columns * self.width + (self.columns - 1) * self.gap_x
        down = self.top + self.rows * self.height + (self.rows - 1) * self.gap_y
        if across > self.page_width + 0.01 or down > self.page_height + 0.01:
            raise KittingError(
                f"label stock {self.key}: {self.columns} × {self.rows} labels need"
                f" {across:.1f} × {down:.1f} mm, the page has {self.page_width:.1f} ×"
                f" {self.page_height:.1f} mm. Check the dimensions"
            )

    @property
    def per_page(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    def place(self, number: int, start: int = 1, offset: tuple[float, float] = (0.0, 0.0)) -> Place:
        """Where the label with a number (from 0) lies when the first one goes on label `start`.

        Labels are counted from 1, row by row; `offset` moves the label right and up by so many mm.
        Raises KittingError for a start off the sheet.
        """
        if not 1 <= start <= self.per_page:
            raise KittingError(
                f"label {start} is not on the sheet: {self.key} has labels 1 to {self.per_page}"
            )
        page, cell = divmod(start - 1 + number, self.per_page)
        row, column = divmod(cell, self.columns)
        x = self.left + column * (self.width + self.gap_x)
        y = self.page_height - self.top - (row + 1) * self.height - row * self.gap_y
        return Place(page, x + offset[0], y + offset[1])


def _sheet(
    key: str,
    label: tuple[float, float],
    grid: tuple[int, int],
    gap_x: float = 0.0,
    corner: tuple[float, float] | None = None,
    margin: float = 2.0,
) -> LabelStock:
    """An A4 sheet of labels (width, height) in a grid (columns, rows).

    `corner` is left and top of the first label; without it the grid is centred on the paper.
    """
    (width, height), (columns, rows) = label, grid
    page_width, page_height = PAPERS["A4"]
    centred = (
        (page_width - columns * width - (columns - 1) * gap_x) / 2,
        (page_height - rows * height) / 2,
    )
    left, top = centred if corner is None else corner
    return LabelStock(
        key=key,
        name=f"A4, {columns * rows} labels of {width:g} × {height:g} mm",
        page_width=page_width,
        page_height=page_height,
        width=width,
        height=height,
        columns=columns,
        rows=rows,
        left=left,
        top=top,
        gap_x=gap_x,
        margin=margin,
    )


def _roll(key: str, width: float, height: float, name: str | None = None) -> LabelStock:
    label = name or f"roll, {width:g} × {height:g} mm"
    return LabelStock(key, label, width, height, width, height, margin=1.5)


STOCKS: dict[str, LabelStock] = {
    stock.key: stock
    for stock in (
        _sheet("63x38-21", (63.5, 38.1), (3, 7), 2.5, corner=(7.2, 15.15)),
        _sheet("99x38-14", (99.1, 38.1), (2, 7), 2.5),
        _sheet("99x67-8", (99.1, 67.7), (2, 4), 2.5),
        _sheet("105x74-8", (105.0, 74.0), (2, 4), margin=5.0),
        _sheet("70x37-24", (70.0, 37.0), (3, 8), margin=5.0),
        _roll("102x152", 102.0, 152.0),
        _roll("102x76", 102.0, 76.0),
        _roll("76x51", 76.0, 51.0),
        _roll("57x32", 57.0, 32.0),
        _roll("50x25", 50.0, 25.0),
        _roll("62-continuous", 62.0, 90.0, "continuous roll of 62 mm, cut at 90 mm"),
        _roll("120x60-tag", 120.0, 60.0, "tie-on tag, 120 × 60 mm"),
    )
}


def find_stock(text: str) -> LabelStock:
    """A stock by name, or a roll of the size "WxH" in mm.

    Raises KittingError naming the known stock.
    """
    if text in STOCKS:
        return STOCKS[text]
    size = re.fullmatch(r"(\d{1,3}(?:\.\d)?)\s*[x×]\s*(\d{1,3}(?:\.\d)?)(?:\s*mm)?", text)
    if size is not None:
        width, height = float(size[1]), float(size[2])
        if min(width, height) < _SMALLEST or max(width, height) > _LARGEST:
            raise KittingError(
                f"a label of {width:g} × {height:g} mm cannot be laid out: each side must be"
                f" {_SMALLEST:g} to {_LARGEST:g} mm"
            )
        return _roll(f"{width:g}x{height:g}", width, height)
    near = nearest(text, STOCKS)
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    raise KittingError(
        f"no label stock {text[:40]!r}. {hint}Known: {', '.join(STOCKS)}; or a size such as 60x40"
    )


def find_paper(name: str) -> tuple[float, float]:
    """Width and height of a paper in mm; raises KittingError naming the known ones."""
    for known, size in PAPERS.items():
        if known.casefold() == name.casefold():
            return size
    raise KittingError(f"no paper {name[:40]!r}. Known: {', '.join(PAPERS)}")
