"""Labels of a kit: one for the kit, one per bag in the order of refitting, one per ring end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, BinaryIO

from kitting.errors import KittingError
from kitting.reports.codes import LEAST_QUIET_128, bars_quiet_zone, code_width, draw_code
from kitting.reports.document import new_canvas
from kitting.reports.drawings.rings import hatchings
from kitting.reports.labels.column import Column
from kitting.reports.labels.fill import Size, Way, fill, place_code
from kitting.reports.labels.label_text import Text, bag_text, end_text, ends_of, kit_text
from kitting.reports.labels.pictures import (
    SIDES,
    Drawing,
    draw_beside,
    photo_drawing,
    ring_drawing,
    under_code,
    under_text,
)
from kitting.reports.labels.priorities import LEAST, Part
from kitting.reports.sheets.ruler import draw_ruler
from kitting.reports.stationery import STOCKS, LabelStock
from kitting.reports.text import MM
from kitting.views.kit import KitView
from kitting.views.photos import NO_PHOTOGRAPHS, Photographs
from kitting.wording.language import _
from kitting.wording.reasons import at_the_bench

Offset = tuple[float, float]
_SHRINK = 7  # how many sizes of text may be given up for a drawing
# Text is squeezed rather than that these are left off: contents and figures, or else figures.
_UNCUT = ((Part.CONTENTS, Part.TIGHTEN), (Part.TIGHTEN,))
_SQUEEZED = 8.5  # points: smaller text is no better than to leave something off


@dataclass(frozen=True, slots=True)
class _Scale:
    """Sizes to try, the largest first, and how large a QR code may be (mm).

    Where not even what must survive finds room at the last of them, `smaller` are tried.
    """

    sizes: tuple[Size, ...]
    smaller: tuple[Size, ...]
    qr: float
    wide: bool


def _scale(head: float, text: float, least_head: float, least: float, qr: float) -> _Scale:
    """Nine sizes from the largest to the smallest, in equal steps; then down to the least."""
    steps = [step / 8 for step in range(9)]
    sizes = tuple(
        Size(head + (least_head - head) * step, text + (least - text) * step) for step in steps
    )
    below = int((least - LEAST) / 0.5)
    smaller = (Size(1.3 * (least - 0.5 * n), least - 0.5 * n) for n in range(1, below + 1))
    return _Scale(sizes, tuple(smaller), qr, least >= 10.0)


_TALL = _scale(38.0, 16.0, 18.0, 10.0, 29.0)
_BENCH = _scale(26.0, 12.0, 15.0, 10.0, 22.0)
_MIDDLE = _scale(20.0, 10.5, 11.0, LEAST, 18.5)
_SMALL = _scale(16.0, 9.0, 8.75, LEAST, 15.0)


def _scale_of(stock: LabelStock) -> _Scale:
    """Bench labels are read at arm's length: 10 pt and more, save where that leaves something off.

    Then text may be a little smaller, and as small as can be read where a must needs it.
    """
    if stock.width >= 99 and stock.height >= 100:
        return _TALL
    if stock.width >= 99 and stock.height >= 67:
        return _BENCH
    if stock.width >= 70 and stock.height >= 45:
        return _MIDDLE
    return _SMALL


@dataclass(frozen=True, slots=True)
class _Label:
    """One label to come; the first of `drawings` that finds room beside the text is drawn."""

    text: Text
    drawings: tuple[Drawing, ...] = ()


@at_the_bench()
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
    many mm. Raises KittingError for a start off the sheet, an offset off the paper, and a stock too
    small for what has to stand on a label.
    """
    stock.require_on_paper(offset)
    title = _("Labels of kit {kit}", kit=kit.reference)
    canvas = new_canvas(target, stock.page_width, stock.page_height, title)
    page = count = 0
    for number, label in enumerate(_labels(kit, stock, photographs)):
        place = stock.place(number, start, offset)
        if place.page > page:
            canvas.showPage()
            page = place.page
        if not _draw(canvas, stock, label, (place.x * MM, place.y * MM)):
            raise _too_small(kit, stock, label)
        count += 1
    canvas.save()
    return count


def _too_small(kit: KitView, stock: LabelStock, label: _Label) -> KittingError:
    """That a stock is too small for a label, with the smallest known that would do for all.

    One on the same paper comes first: who has sheets of one size has no roll.
    """
    known = sorted(
        STOCKS.values(), key=lambda one: (one.paper != stock.paper, one.width * one.height)
    )
    enough = next(
        (one.key for one in known if all(_fits(one, each) for each in _labels(kit, one))), None
    )
    advice = (
        "no known stock is large enough: shorten the names"
        if enough is None
        else f"use {enough} or larger"
    )
    return KittingError(
        "label stock {key} is too small for {called}: {advice}",
        key=stock.key,
        called=label.text.called,
        advice=advice,
    )


def _fits(stock: LabelStock, label: _Label) -> bool:
    return _draw(None, stock, label, (0.0, 0.0))


def _labels(
    kit: KitView, stock: LabelStock, photographs: Photographs = NO_PHOTOGRAPHS
) -> Iterator[_Label]:
    hatches, wide = hatchings(kit), _scale_of(stock).wide
    yield _Label(kit_text(kit))
    for bag in kit.bags:
        photo = photographs.places.get((bag.joint, None))
        drawn = tuple(photo_drawing(photo, side) for side in SIDES) if photo else ()
        yield _Label(bag_text(kit, bag, wide), drawn)
        for ends in ends_of(bag):
            ring, rubber = ends[0].ring, ends[0].elastomer or ""
            rings = (ring_drawing(ring, hatches.get(rubber)),) if ring else ()
            yield _Label(end_text(kit, bag, ends), rings)


def _ways(stock: LabelStock, text: Text) -> Iterator[Way]:
    """How a label is tried, the best first: all of it as large as it goes, then with what must."""
    scale = _scale_of(stock)
    bars = _bars(text.code, stock) is not None
    for qr in (True, False):
        for barred in (True, False) if bars else (False,):
            for size in scale.sizes:
                yield Way(size, qr, scale.qr, bars=barred)
        squeezed = [size for size in scale.smaller if size.text >= _SQUEEZED]
        for size in squeezed:
            yield Way(size, qr, scale.qr)
        for uncut, size in product(_UNCUT, (scale.sizes[-1], *squeezed)):
            yield Way(size, qr, scale.qr, whole=False, uncut=uncut)
        part = Way(scale.sizes[-1], qr, scale.qr, whole=False)
        ever_shorter = ((False, False), (True, False), (True, True))
        for (short, runs_on), size in product(ever_shorter, (part.size, *scale.smaller)):
            yield replace(part, size=size, shortest=short, runs_on=runs_on)


def _draw(canvas: Any, stock: LabelStock, label: _Label, corner: tuple[float, float]) -> bool:
    """Draw a label the best way it can be; False, and nothing drawn, where there is none.

    The QR code takes the upper right corner, the bars the foot, the text the rest.
    """
    ways = list(_ways(stock, label.text))
    for number, way in enumerate(ways):
        column = _column(None, stock, corner)
        if not _open(column, stock, label.text, way) or not fill(column, label.text, way):
            continue
        alike = (one for one in ways[number:] if one.whole and one.bars == way.bars)
        smaller = [one for one in alike if one.qr == way.qr][:_SHRINK] if way.whole else []
        for made, tried in product(label.drawings, smaller):
            if _draw_with(canvas, stock, label.text, (tried, made), corner):
                return True
        column = _column(canvas, stock, corner)
        _open(column, stock, label.text, way)
        return fill(column, label.text, way)
    return False


def _draw_with(
    canvas: Any,
    stock: LabelStock,
    text: Text,
    how: tuple[Way, Drawing],
    corner: tuple[float, float],
) -> bool:
    """Draw a label with a drawing, if all the text finds room beside or above it."""
    way, made = how
    for place in (under_code, under_text):
        trial = _column(None, stock, corner)
        if not _open(trial, stock, text, way):
            return False
        spot = place(trial, text, way, made)
        if spot is None:
            continue
        column = _column(canvas, stock, corner)
        _open(column, stock, text, way)
        column.notch_width, column.notch_bottom = trial.notch_width, trial.notch_bottom
        fill(column, text, way)
        draw_beside(column, spot, made)
        return True
    return False


def _column(canvas: Any, stock: LabelStock, corner: tuple[float, float]) -> Column:
    """What of a label may be printed on; its lower left corner at a point (points)."""
    area, (x, y) = stock.area, corner
    left, width = x + area.left * MM, (area.right - area.left) * MM
    return Column(canvas, left, y + area.top * MM, width, y + area.bottom * MM, LEAST)


def _open(column: Column, stock: LabelStock, text: Text, way: Way) -> bool:
    """Draw the codes of a label; False where they find no room."""
    if way.bars and (bars := _bars(text.code, stock)):
        if column.canvas is not None:
            bars.draw(column.canvas, column.x, column.bottom)
        column.bottom += bars.high
    return place_code(column, text.code, way, stock.margin * MM)


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


def _bars(code: str, stock: LabelStock) -> _Bars | None:
    """Bars for a label that is high enough, None for others."""
    if stock.height < 60:
        return None
    margin = stock.margin * MM
    room = (stock.area.right - stock.area.left) * MM + 2 * min(margin, LEAST_QUIET_128)
    width = code_width(code, room)
    if width is None:
        return None
    high = (min(12.0, 0.1 * stock.height + 1) + 1.5) * MM
    return _Bars(code, width, high, min(margin, bars_quiet_zone(code, width)))


__all__ = ["draw_kit_labels", "draw_ruler"]
