"""A seal on the seal map: its drawing, photo or shape, and the words below it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from kitting.reports.drawings.photos import paint_photo, size_in
from kitting.reports.drawings.rings import (
    GAP,
    SCALES,
    Picture,
    cut_for,
    outer,
    paint_hole,
    paint_ring,
    paint_unknown,
    picture,
)
from kitting.reports.drawings.rubber_hatches import hatch_of
from kitting.reports.sheet import TICK, Block, Cell, Part, Sheet
from kitting.reports.text import MM
from kitting.reports.wording import sign
from kitting.views.kit import DiffersView
from kitting.views.photos import Photograph
from kitting.views.plan import RingView
from kitting.views.seal_map import SealPlaceView
from kitting.wording.figures import format_quantity
from kitting.wording.kit import passed_text
from kitting.wording.language import _, in_figures
from kitting.wording.pick_list import rule_text
from kitting.wording.seal_map import (
    bags_text,
    belongs_text,
    fitted_text,
    match_text,
    size_note,
    stated_rubber,
)

COLUMNS = 3
_PAD, _SHAPE, _PHOTO, _FIGURES = 3.0, 13.0, 26.0, 8.0
# The widest section, the largest ring and the widest hole of a washer on paper (mm).
_THICK, _LARGE, _WIDEST_HOLE = 16.0, 120.0, 40.0


@dataclass(frozen=True, slots=True)
class SealCell:
    """A seal over so many columns, drawn as `made` where its size is stated.

    `other` is set for a ring that does not go here and is drawn beside one it could be taken for,
    with the `bags` that it lies in.
    """

    place: SealPlaceView
    made: Picture | None
    span: int
    photo: Photograph | None = None
    marks: tuple[str, ...] = ()
    other: DiffersView | None = None
    bags: tuple[int, ...] = ()

    @property
    def hole(self) -> float:
        """Diameter of the hole of a washer that finds room at true size (mm); else 0."""
        hole = self.place.hole
        return hole.across if hole is not None and hole.across <= _WIDEST_HOLE else 0.0

    @property
    def high(self) -> float:
        """Height of what is drawn (mm)."""
        if self.made is not None:
            return self.made.height
        if self.hole:
            return self.hole
        return _PHOTO if self.photo is not None else _SHAPE


def drawn_alike(rings: Sequence[RingView], width: float) -> tuple[float, float]:
    """The largest scale and enlargement of sections at which all of some rings find room.

    True size as long as that is possible; 0 where nothing of theirs can be drawn.
    """
    cut = cut_for(rings, _THICK)
    for scale in SCALES:
        if all(_span(ring, scale, cut, width) for ring in rings):
            return scale, cut
    return 0.0, 0.0


def _span(ring: RingView, scale: float, cut: float, width: float) -> int:
    """Over how many columns a ring reaches; 0 where no page is wide enough."""
    across = outer(ring) * scale
    if across > _LARGE or not cut:
        return 0
    wide = across + GAP + ring.section * cut + 2 * _PAD + TICK + 2
    return next((n for n in range(1, COLUMNS + 1) if wide <= n * width / COLUMNS), 0)


def cell_of(
    place: SealPlaceView, alike: tuple[float, float], width: float, photo: Photograph | None
) -> SealCell:
    """A seal at a scale; what has no size, or finds no room, is not drawn."""
    ring, (scale, cut) = place.label.ring, alike
    if ring is None or not scale:
        return SealCell(place, None, 1, photo)
    return SealCell(place, picture(ring, scale, cut), _span(ring, scale, cut, width))


def rows_of(cells: Iterable[SealCell]) -> Iterator[list[SealCell]]:
    """Cells side by side in the order given, as many as find room."""
    row: list[SealCell] = []
    for cell in cells:
        if row and sum(one.span for one in row) + cell.span > COLUMNS:
            yield row
            row = []
        row.append(cell)
    if row:
        yield row


def row_block(cells: Sequence[SealCell], sheet: Sheet) -> Block:
    """Cells side by side: the drawings on one line, the words below them on another.

    A large ring that leaves a column free has its words there.
    """
    column = sheet.width / COLUMNS
    if [cell.span for cell in cells] == [COLUMNS - 1]:
        return _beside(cells[0], sheet)
    lefts = [column * sum(cell.span for cell in cells[:n]) for n in range(len(cells))]
    high = max([*(cell.high for cell in cells), TICK]) + _PAD + 1
    words = sheet.cells([
        Cell(left + _PAD, cell.span * column - 2 * _PAD, tuple(_words(cell)))
        for left, cell in zip(lefts, cells, strict=True)
    ])  # fmt: skip
    return Block(high + words.height + 1, partial(_paint, cells, lefts, high, words))


def _beside(cell: SealCell, sheet: Sheet) -> Block:
    column = sheet.width / COLUMNS
    left = cell.span * column
    words = sheet.cells([Cell(left, column - _PAD, tuple(_words(cell)))])
    high = max(cell.high + 2 * _PAD, words.height)

    def paint(sheet: Sheet) -> None:
        x, y = sheet.point(0, high)
        sheet.canvas.setLineWidth(0.8)
        sheet.canvas.rect(x, y, sheet.width * MM, high * MM)
        _paint_seal(cell, _PAD, high, sheet)
        if cell.other is None:
            sheet.tick_box(left - _PAD - TICK, _PAD)
        words.draw(sheet)

    return Block(high + 1, paint)


def _paint(
    cells: Sequence[SealCell], lefts: Sequence[float], high: float, words: Block, sheet: Sheet
) -> None:
    """Frames round the seals, a box to tick in each that goes here."""
    column = sheet.width / COLUMNS
    for left, cell in zip(lefts, cells, strict=True):
        wide = cell.span * column
        x, y = sheet.point(left, high + words.height)
        sheet.canvas.setLineWidth(0.8)
        sheet.canvas.rect(x, y, wide * MM, (high + words.height) * MM)
        _paint_seal(cell, left + _PAD, high, sheet)
        if cell.other is None:
            sheet.tick_box(left + wide - _PAD - TICK, _PAD)
    sheet.y += high
    words.draw(sheet)
    sheet.y -= high


def _paint_seal(cell: SealCell, left: float, high: float, sheet: Sheet) -> None:
    x, top = sheet.point(left, _PAD + (high - _PAD - 1 - cell.high) / 2)
    label = cell.place.label
    if cell.made is not None and label.ring is not None:
        hatch = hatch_of(label.elastomer)
        paint_ring(sheet.canvas, (x, top), label.ring, cell.made, hatch, _FIGURES)
    elif cell.hole:
        paint_hole(sheet.canvas, x, top, cell.hole * MM)
    elif cell.photo is not None:
        room = sheet.width / COLUMNS - 2 * _PAD - TICK - 2
        paint_photo(sheet.canvas, cell.photo, (x, top), size_in(cell.photo, room * MM, _PHOTO * MM))
    else:
        paint_unknown(sheet.canvas, x, top, _SHAPE * MM)


def _words(cell: SealCell) -> Iterator[Part]:
    place, label = cell.place, cell.place.label
    if cell.other is not None:
        yield Part(_("NOT THIS RING"), 13, bold=True, lines=2)
        yield from _size(cell)
        yield Part(belongs_text(cell.other), 9.5, bold=True, lines=9)
        yield Part(bags_text(cell.bags), 10, bold=True, lines=2)
        return
    yield Part(label.end or label.position, 13, bold=True, lines=4, smallest=9)
    if label.end:
        yield Part(label.position, 9.5, lines=4)
    yield from _size(cell)
    content = label.content
    if content.colour:
        yield Part(_("colour as supplied: {colour}", colour=content.colour), 9, lines=3)
    told, loud = fitted_text(label)
    yield Part(told, 13 if loud else 9.5, bold=loud, lines=6, smallest=9, boxed=loud)
    pieces = in_figures(format_quantity(content.quantity, content.unit))
    fate = passed_text() if content.passed else rule_text(content.rule)
    rule = f"{sign(content.rule)} {fate}".strip()
    yield Part(f"{rule}  {pieces} × {content.item}", 9, lines=4)
    for text in cell.marks:
        yield Part(text, 11, bold=True, lines=12, smallest=9, boxed=True)
    bag = _("BAG {number} · {code}", number=place.bag, code=place.code)
    yield Part(bag, 10, bold=True, lines=2)


def _size(cell: SealCell) -> Iterator[Part]:
    """What a seal is told by: its size and scale, or what to match; then its rubber."""
    place, content = cell.place, cell.place.label.content
    if cell.made is not None:
        yield Part(in_figures(content.size or _("size not stated")), 12, bold=True, lines=2)
        yield Part(cell.made.caption, 8.5, bold=True, lines=3)
    elif place.label.ring is not None:
        yield Part(in_figures(content.size or _("size not stated")), 12, bold=True, lines=2)
        yield Part(_("Too large or too small to be drawn."), 8.5, bold=True, lines=3)
    else:
        yield Part(match_text(place), 11, bold=True, lines=4)
        yield Part(content.name, 10, bold=True, lines=6)
        yield Part(size_note(place), 9, lines=4)
        if cell.hole:
            yield Part(_("The hole is drawn in true size."), 8.5, bold=True, lines=3)
    if place.rubber:
        yield Part(stated_rubber(place.label), 9.5, bold=True, lines=4)
