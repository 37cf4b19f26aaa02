"""Labels of a kit: one for the kit, one per bag in the order of refitting, one per ring end."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, BinaryIO

from kitting.facts.units import format_quantity
from kitting.reports.codes import (
    LEAST_QUIET_128,
    bars_quiet_zone,
    code_width,
    draw_code,
    draw_qr,
    qr_side,
    quiet_zone,
)
from kitting.reports.document import new_canvas
from kitting.reports.drawings.photos import paint_photo, size_in
from kitting.reports.drawings.rings import hatchings, label_picture, paint_ring
from kitting.reports.drawings.rubber_hatches import Hatch
from kitting.reports.labels.column import Column
from kitting.reports.labels.label_text import Size, Writer, write_bag, write_end, write_kit
from kitting.reports.sheets.ruler import draw_ruler
from kitting.reports.stationery import LabelStock
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.kit import KitView
from kitting.views.photos import NO_PHOTOGRAPHS, Photograph, Photographs
from kitting.views.plan import RingView

Offset = tuple[float, float]
# How many sizes of text may be given up for the drawing of a ring, how much of the width of a
# label it may take, and the air round it (points).
_SHRINK, _WIDEST, _AIR = 4, 0.36, 1.5 * MM
# The longer side of a photo on a label, the largest that is tried first (mm).
_SIDES = (34.0, 26.0, 20.0)
_COUNT = "count OLD out: ____"
_PICKED = "picked by ____________  date ________"


@dataclass(frozen=True, slots=True)
class _Scale:
    """Sizes to try, the largest first, and how large a QR code may be (mm)."""

    sizes: tuple[Size, ...]
    qr: float
    wide: bool

    @property
    def smallest(self) -> float:
        return min(size.text for size in self.sizes)


def _scale(head: float, text: float, least_head: float, least: float, qr: float) -> _Scale:
    """Nine sizes from the largest to the smallest, in equal steps."""
    steps = [step / 8 for step in range(9)]
    sizes = tuple(
        Size(head + (least_head - head) * step, text + (least - text) * step) for step in steps
    )
    return _Scale(sizes, qr, least >= 10.0)


_TALL = _scale(36.0, 16.0, 16.0, 10.0, 29.0)
_BENCH = _scale(22.0, 11.5, 14.0, 10.0, 22.0)
_MIDDLE = _scale(18.0, 10.0, 10.0, 7.0, 18.5)
_SMALL = _scale(14.0, 8.5, 7.0, 6.0, 15.0)


def _scale_of(stock: LabelStock) -> _Scale:
    """Bench labels are read at arm's length: nothing on them is smaller than 10 pt."""
    if stock.width >= 99 and stock.height >= 100:
        return _TALL
    if stock.width >= 99 and stock.height >= 67:
        return _BENCH
    if stock.width >= 70 and stock.height >= 45:
        return _MIDDLE
    return _SMALL


@dataclass(frozen=True, slots=True)
class _Drawing:
    """Something drawn beside the text: so large (mm), by a painter of its upper left corner."""

    width: float
    height: float
    caption: str
    paint: Callable[[Any, tuple[float, float]], None]


def _ring_drawing(ring: RingView, hatch: Hatch | None) -> _Drawing:
    made = label_picture(ring)

    def paint(canvas: Any, corner: tuple[float, float]) -> None:
        paint_ring(canvas, corner, ring, made, hatch)

    return _Drawing(made.width, made.height, made.caption, paint)


def _photo_drawing(photo: Photograph, side: float) -> _Drawing:
    size = size_in(photo, side, side)
    across, high = size[0] * MM, size[1] * MM

    def paint(canvas: Any, corner: tuple[float, float]) -> None:
        paint_photo(canvas, photo, corner, (across, high))

    return _Drawing(*size, photo.caption, paint)


@dataclass(frozen=True, slots=True)
class _Label:
    """One label to come: the code it bears, what is written on it, and the line at its foot.

    `briefer` says the same in fewer words, `see` where all of it stands. The first of `drawings`
    that finds room beside the text is drawn.
    """

    code: str
    write: Writer
    foot: str | None
    briefer: Writer | None = None
    see: str = "plan"
    drawings: tuple[_Drawing, ...] = ()


def draw_kit_labels(
    kit: KitView,
    stock: LabelStock,
    target: BinaryIO,
    *,
    start: int = 1,
    offset: Offset = (0.0, 0.0),
    photographs: Photographs = NO_PHOTOGRAPHS,
) -> int:
    """Write the labels of a kit as PDF; returns how many labels there are.

    The photo of its joint stands on the label of a bag where the text leaves room. `start` is the
    first free label of a begun sheet, counted from 1; `offset` moves everything right and up by so
    many mm. Raises KittingError for a start off the sheet.
    """
    title = f"Labels of kit {kit.reference}"
    canvas = new_canvas(target, stock.page_width, stock.page_height, title)
    page = count = 0
    for number, label in enumerate(_labels(kit, photographs)):
        place = stock.place(number, start, offset)
        if place.page > page:
            canvas.showPage()
            page = place.page
        _draw(canvas, stock, label, place.x * MM, place.y * MM)
        count += 1
    canvas.save()
    return count


def _labels(kit: KitView, photographs: Photographs) -> Iterator[_Label]:
    hatches = hatchings(kit)
    yield _Label(kit.reference, write_kit(kit), _PICKED, write_kit(kit, brief=True))
    for bag in kit.bags:
        count = f"{_COUNT} of {bag.count_out}" if bag.count_out else None
        photo = photographs.places.get((bag.joint, None))
        drawings = tuple(_photo_drawing(photo, side) for side in _SIDES) if photo else ()
        brief_bag = write_bag(kit, bag, brief=True)
        yield _Label(bag.code, write_bag(kit, bag), count, brief_bag, drawings=drawings)
        for end in bag.ends:
            pieces = format_quantity(end.content.quantity, end.content.unit)
            foot = f"bag {bag.number} · {_COUNT} of {pieces}"
            rings = [end.ring] if end.ring else []
            drawn = tuple(_ring_drawing(one, hatches.get(end.elastomer or "")) for one in rings)
            brief = write_end(kit, bag, end, 1) if len(end.differs) > 1 else None
            write = write_end(kit, bag, end)
            yield _Label(bag.code, write, foot, brief, "seal map", drawn)


def _draw(canvas: Any, stock: LabelStock, label: _Label, x: float, y: float) -> None:
    """The QR code takes the upper right corner, the bars the foot, the text the rest.

    Bars are only drawn where all the text finds room above them.
    """
    scale, margin = _scale_of(stock), stock.margin * MM
    width, height = stock.width * MM - 2 * margin, stock.height * MM - 2 * margin
    column = Column(canvas, x + margin, y + margin + height, width, y + margin, scale.smallest)
    if not _place_qr(column, label.code, scale, margin):
        column.put_foot(label.code, scale.smallest)
    bars = _bars(label.code, stock, margin)
    briefer = label if label.briefer is None else replace(label, write=label.briefer)
    for worded in dict.fromkeys((label, briefer)):
        for high in (bars.high, 0.0) if bars else (0.0,):
            column.bottom += high
            if _fill_at_best(column, worded, scale):
                if bars and high:
                    bars.draw(canvas, column.x, y + margin)
                return
            column.bottom -= high
    _fill_what_fits(column, briefer, scale)


def _fill_at_best(column: Column, label: _Label, scale: _Scale) -> bool:
    """Write a label at the largest size at which all of it finds room; False if it never does."""
    for number, size in enumerate(scale.sizes):
        if _fill(column.trial(), label, scale, size):
            if not _fill_round_a_drawing(column, label, scale, number):
                _fill(column, label, scale, size)
            return True
    return False


def _fill_round_a_drawing(column: Column, label: _Label, scale: _Scale, largest: int) -> bool:
    """Write a label with a drawing, if all the text finds room beside or above it.

    The text may become a little smaller for it.
    """
    least, sizes = scale.smallest, scale.sizes[largest : largest + _SHRINK]
    for made, size in product(label.drawings, sizes):
        for place in (_under_code, _under_text):
            spot = place(column, label, scale, size, made)
            if spot is None:
                continue
            x, top, width = spot
            _fill(column, label, scale, size)
            if column.canvas is not None:
                made.paint(column.canvas, (x, top))
                caption = fit(
                    made.caption, (width, 4 * least), (least, least), lines=2, squeeze=1.0
                )
                draw(column.canvas, x, top - made.height * MM, caption)
            return True
    return False


_Spot = tuple[float, float, float]


def _under_code(
    column: Column, label: _Label, scale: _Scale, size: Size, made: _Drawing
) -> _Spot | None:
    """A place for a drawing in the notch, which reaches further down for it (points).

    Where it is found, the column is left with the larger notch.
    """
    wide = max(column.notch_width - _AIR, made.width * MM)
    if not column.notch_width or wide > _WIDEST * column.full_width:
        return None
    trial, top = column.trial(), column.notch_bottom - _AIR
    caption = fit(made.caption, (wide, 99), (scale.smallest, scale.smallest), lines=2, squeeze=1.0)
    trial.notch_width, trial.notch_bottom = wide + _AIR, top - made.height * MM - caption.height
    foot = column.bottom + (1.25 * size.text if label.foot else 0.0)
    if caption.cut or trial.notch_bottom < foot or not _fill(trial, label, scale, size):
        return None
    column.notch_width, column.notch_bottom = trial.notch_width, trial.notch_bottom
    return column.x + column.full_width - wide, top, wide


def _under_text(
    column: Column, label: _Label, scale: _Scale, size: Size, made: _Drawing
) -> _Spot | None:
    """A place for a drawing in what the text leaves at the foot (points)."""
    trial = column.trial()
    if not _fill(trial, label, scale, size):
        return None
    top, width, least = trial.top - _AIR, trial.width, scale.smallest
    caption = fit(made.caption, (width, 99), (least, least), lines=2, squeeze=1.0)
    high = made.height * MM + caption.height
    if caption.cut or made.width * MM > width or high > top - trial.bottom:
        return None
    return column.x, top, width


@dataclass(frozen=True, slots=True)
class _Bars:
    """A Code 128 at the foot; lengths in points, `high` with the air above it.

    `quiet` is how much of its quiet zone lies in the margin of the label, which is white.
    """

    code: str
    width: float
    high: float
    quiet: float

    def draw(self, canvas: Any, x: float, y: float) -> None:
        """Draw it with its lower left corner at the text's."""
        draw_code(canvas, self.code, x - self.quiet, y, self.width, self.high - 1.5 * MM)


def _bars(code: str, stock: LabelStock, margin: float) -> _Bars | None:
    """Bars for a label that is high enough, None for others."""
    if stock.height < 60:
        return None
    width = code_width(code, stock.width * MM - 2 * margin + 2 * min(margin, LEAST_QUIET_128))
    if width is None:
        return None
    high = (min(12.0, 0.1 * stock.height + 1) + 1.5) * MM
    return _Bars(code, width, high, min(margin, bars_quiet_zone(code, width)))


def _place_qr(column: Column, code: str, scale: _Scale, margin: float) -> bool:
    """The QR code with the code in letters below it; False where the label is too small.

    Part of its quiet zone may lie in the margin of the label, which is white.
    """
    most = 0.36 * column.full_width
    side = qr_side(code, min(scale.qr * MM, most + margin, 0.75 * column.room + margin))
    if side is None:
        return False
    quiet = min(margin, quiet_zone(code, side))
    wide = max(side - quiet, min(width_of(code, scale.smallest, bold=True) + 1, most))
    right, foot = column.x + column.full_width, column.top + quiet - side
    draw_qr(column.canvas, code, right + quiet - side, foot, side)
    size, high = scale.smallest, 2.5 * scale.smallest
    below = Column(column.canvas, right - wide, foot, wide, foot - high, size)
    lines = below.measure(code, size, bold=True, lines=2).lines
    below.x += wide - max((width_of(line, size, bold=True) for line in lines), default=0.0)
    below.put(code, size, bold=True, lines=2)
    column.notch_width, column.notch_bottom = wide + 1.5 * MM, below.top
    return True


def _fill(column: Column, label: _Label, scale: _Scale, size: Size) -> bool:
    """Write a label at one size; whether everything found room."""
    if label.foot:
        column.put_foot(label.foot, size.text)
    label.write(column, size, scale.wide)
    return column.complete


def _fill_what_fits(column: Column, label: _Label, scale: _Scale) -> None:
    """Write a label at its smallest size and say in a line kept for it how much is left off.

    Long entries keep their length if all of them find room, else they are shortened.
    """
    size = scale.sizes[-1]
    if label.foot:
        column.put_foot(label.foot, size.text)
    end = column.bottom
    room = min(end + size.text * 1.25, column.top)
    for kept, column.entry_lines in ((end, 8), (room, 8), (room, 3)):
        trial = column.trial()
        trial.bottom = kept
        label.write(trial, size, scale.wide)
        if not trial.left_off:
            break
    column.bottom = kept
    label.write(column, size, scale.wide)
    column.bottom = end
    if column.left_off:
        column.put(f"+{column.left_off} more: see the {label.see}", size.text, bold=True)


__all__ = ["draw_kit_labels", "draw_ruler"]
