"""Paper and label stock, described by its dimensions in millimetres.

Margins, gaps and eyelets of the stock: common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from kitting.errors import KittingError
from kitting.facts.names import nearest
from kitting.wording.language import N_, _

PAPERS: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
_SMALLEST, _LARGEST = 20.0, 300.0
# So near (mm) is a size to a sheet's labels that they may be meant.
_NEAR, _EDGE = 1.0, 1e-6
_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Place:
    """Where a label lies: page from 0, and its lower left corner in mm from the page's."""

    page: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Eyelet:
    """A hole through a label, ring of metal or card included; its middle from the lower left."""

    x: float
    y: float
    diameter: float


@dataclass(frozen=True, slots=True)
class Area:
    """A part of a label, its sides in mm from the lower left corner of the label."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True, slots=True)
class Form:
    """What a stock is in words: a marked text, and the sizes that fill it in."""

    text: str
    sizes: tuple[tuple[str, float | str], ...]


@dataclass(frozen=True, slots=True)
class LabelStock:
    """A sheet of labels, or a roll (a page of one label). All lengths in mm.

    `margin` is kept free inside each label; it is larger where labels reach the edge of the
    paper, which no printer reaches. `eyelets` lie near the left or right end.
    """

    key: str
    form: Form
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
    eyelets: tuple[Eyelet, ...] = ()

    def __post_init__(self) -> None:
        across = self.left + self.columns * self.width + (self.columns - 1) * self.gap_x
        down = self.top + self.rows * self.height + (self.rows - 1) * self.gap_y
        if across > self.page_width + 0.01 or down > self.page_height + 0.01:
            raise KittingError(
                "label stock {key}: {columns} × {rows} labels need {across:.1f} × {down:.1f} mm,"
                " the page has {page_width:.1f} × {page_height:.1f} mm. Check the dimensions",
                key=self.key,
                columns=self.columns,
                rows=self.rows,
                across=across,
                down=down,
                page_width=self.page_width,
                page_height=self.page_height,
            )

    @property
    def name(self) -> str:
        """What it is: "A4, 8 labels of 99.1 × 67.7 mm"."""
        return _(self.form.text, **dict(self.form.sizes))

    @property
    def paper(self) -> str | None:
        """The paper that its sheets have, by name; None of a roll."""
        size = (self.page_width, self.page_height)
        return next((name for name, known in PAPERS.items() if known == size), None)

    @property
    def per_page(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    @property
    def area(self) -> Area:
        """What of a label may be printed on: clear of its margin and of its eyelets."""
        left, right = self.margin, self.width - self.margin
        for eyelet in self.eyelets:
            reach = eyelet.diameter / 2 + self.margin
            if eyelet.x < self.width / 2:
                left = max(left, eyelet.x + reach)
            else:
                right = min(right, eyelet.x - reach)
        return Area(left, self.margin, right, self.height - self.margin)

    def require_on_paper(self, offset: tuple[float, float]) -> None:
        """Raise KittingError where an offset moves what is printed beyond the edge of the paper."""
        area = self.area
        across = (self.columns - 1) * (self.width + self.gap_x)
        down = self.top + self.rows * self.height + (self.rows - 1) * self.gap_y
        most = (
            (self.left + area.left, self.page_width - self.left - across - area.right),
            (self.page_height - down + area.bottom, self.top + self.height - area.top),
        )
        works = [
            min(max(moved, -back), ahead) for moved, (back, ahead) in zip(offset, most, strict=True)
        ]
        if any(abs(moved - kept) > _EDGE for moved, kept in zip(offset, works, strict=True)):
            # Cut to tenths, never rounded up to what would not work.
            shown = ",".join(
                f"{int(10 * kept + (_EDGE if kept > 0 else -_EDGE)) / 10:g}" for kept in works
            )
            raise KittingError(
                "offset {offset:g},{up:g} moves what is printed on {key} off the paper: the"
                " largest offset that way is {shown}. If the printer is off by more, move its"
                " paper guide",
                offset=offset[0],
                up=offset[1],
                key=self.key,
                shown=shown,
            )

    def place(self, number: int, start: int = 1, offset: tuple[float, float] = (0.0, 0.0)) -> Place:
        """Where the label with a number (from 0) lies when the first one goes on label `start`.

        Labels are counted from 1, row by row; `offset` moves the label right and up by so many mm.
        Raises KittingError for a start off the sheet.
        """
        if not 1 <= start <= self.per_page:
            raise KittingError(
                "label {start} is not on the sheet: {key} has labels 1 to {per_page}",
                start=start,
                key=self.key,
                per_page=self.per_page,
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
    """An A4 sheet of labels."""
    form = Form(
        N_("A4, {count} labels of {width:g} × {height:g} mm"),
        (("count", grid[0] * grid[1]), ("width", label[0]), ("height", label[1])),
    )
    return _on_paper("A4", (key, form), label, grid, (gap_x, corner, margin))


def _letter(key: str, label: tuple[str, str], grid: tuple[int, int], gap: float) -> LabelStock:
    """A US Letter sheet of labels, their sides in inches as they are sold; `gap` across."""
    width, height = (round(float(Fraction(side)) * _INCH, 2) for side in label)
    inches = " × ".join(f"{float(Fraction(side)):.4g}" for side in label)
    form = Form(
        N_("Letter, {count} labels of {width:.1f} × {height:.1f} mm ({inches} in)"),
        (("count", grid[0] * grid[1]), ("width", width), ("height", height), ("inches", inches)),
    )
    return _on_paper("Letter", (key, form), (width, height), grid, (gap * _INCH, None, 2.0))


def _on_paper(
    paper: str,
    called: tuple[str, Form],
    label: tuple[float, float],
    grid: tuple[int, int],
    laid: tuple[float, tuple[float, float] | None, float],
) -> LabelStock:
    """Labels (width, height) in a grid (columns, rows) with gap, corner and margin of `laid`.

    `corner` is left and top of the first label; without it the grid is centred on the paper.
    """
    (width, height), (columns, rows), (gap_x, corner, margin) = label, grid, laid
    page_width, page_height = PAPERS[paper]
    centred = (
        (page_width - columns * width - (columns - 1) * gap_x) / 2,
        (page_height - rows * height) / 2,
    )
    left, top = centred if corner is None else corner
    return LabelStock(
        key=called[0],
        form=called[1],
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


def _roll(
    key: str,
    width: float,
    height: float,
    name: str | None = None,
    eyelets: tuple[Eyelet, ...] = (),
) -> LabelStock:
    form = Form(
        name or N_("roll, {width:g} × {height:g} mm"), (("width", width), ("height", height))
    )
    return LabelStock(key, form, width, height, width, height, margin=1.5, eyelets=eyelets)


STOCKS: dict[str, LabelStock] = {
    stock.key: stock
    for stock in (
        _sheet("63x38-21", (63.5, 38.1), (3, 7), 2.5, corner=(7.2, 15.15)),
        _sheet("99x38-14", (99.1, 38.1), (2, 7), 2.5),
        _sheet("99x67-8", (99.1, 67.7), (2, 4), 2.5),
        _sheet("105x74-8", (105.0, 74.0), (2, 4), margin=5.0),
        _sheet("70x37-24", (70.0, 37.0), (3, 8), margin=5.0),
        _letter("67x25-30", ("2.625", "1"), (3, 10), 0.125),
        _letter("102x34-14", ("4", "4/3"), (2, 7), 0.1875),
        _letter("102x51-10", ("4", "2"), (2, 5), 0.1875),
        _letter("102x85-6", ("4", "10/3"), (2, 3), 0.1875),
        _roll("102x152", 102.0, 152.0),
        _roll("102x76", 102.0, 76.0),
        _roll("76x51", 76.0, 51.0),
        _roll("57x32", 57.0, 32.0),
        _roll("50x25", 50.0, 25.0),
        _roll(
            "62-continuous", 62.0, 90.0, N_("continuous roll of {width:g} mm, cut at {height:g} mm")
        ),
        _roll(
            "120x60-tag",
            120.0,
            60.0,
            N_("tie-on tag, {width:g} × {height:g} mm, eyelet at the left end"),
            (Eyelet(x=10.0, y=30.0, diameter=12.0),),
        ),
    )
}


_SIZE = re.compile(
    r"(\d{1,3}(?:\.\d{1,3})?)\s*[x×]\s*(\d{1,3}(?:\.\d{1,3})?)(?:\s*(mm|in))?(?:\s+(roll))?"
)


def find_stock(text: str) -> LabelStock:
    """A stock by name, or a roll of the size "WxH" in mm (or "WxH in").

    Raises KittingError naming the known stock, and for a size that a sheet has too: "WxH roll" is
    never taken for a sheet.
    """
    if text in STOCKS:
        return STOCKS[text]
    size = _SIZE.fullmatch(text)
    if size is not None:
        scale = _INCH if size[3] == "in" else 1.0
        width, height = (round(float(side) * scale, 1) for side in size.group(1, 2))
        sheets = [] if size[4] else [one for one in STOCKS.values() if _is_near(one, width, height)]
        if sheets:
            known = " or ".join(f"{one.key} ({one.name})" for one in sheets)
            raise KittingError(
                "label stock {text!r} may be a sheet or a roll. Of a sheet write {known}; of a"
                " roll write '{width:g}x{height:g} roll'",
                text=text,
                known=known,
                width=width,
                height=height,
            )
        if min(width, height) < _SMALLEST or max(width, height) > _LARGEST:
            raise KittingError(
                f"a label of {width:g} × {height:g} mm cannot be laid out: each side must be"
                f" {_SMALLEST:g} to {_LARGEST:g} mm"
            )
        return _roll(f"{width:g}x{height:g}", width, height)
    near = nearest(text, STOCKS)
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    raise KittingError(
        "no label stock {text!r}. {hint}Known: {known}; or a size such as 60x40",
        text=text[:40],
        hint=hint,
        known=", ".join(STOCKS),
    )


def _is_near(stock: LabelStock, width: float, height: float) -> bool:
    """Whether a size is that of the labels of a sheet, give or take a millimetre."""
    off = max(abs(stock.width - width), abs(stock.height - height))
    return stock.per_page > 1 and off <= _NEAR + _EDGE


def find_paper(name: str) -> tuple[float, float]:
    """Width and height of a paper in mm; raises KittingError naming the known ones."""
    for known, size in PAPERS.items():
        if known.casefold() == name.casefold():
            return size
    raise KittingError("no paper {name!r}. Known: {known}", name=name[:40], known=", ".join(PAPERS))
