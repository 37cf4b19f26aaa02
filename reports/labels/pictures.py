"""What is drawn beside the text of a label: a ring in true size, or the photo of a joint."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from kitting.reports.drawings.photos import paint_photo, size_in
from kitting.reports.drawings.rings import label_picture, paint_ring
from kitting.reports.drawings.rubber_hatches import Hatch
from kitting.reports.labels.column import Column
from kitting.reports.labels.fill import Way, fill
from kitting.reports.labels.label_text import Text
from kitting.reports.labels.priorities import LEAST, Part
from kitting.reports.text import MM, draw, fit
from kitting.views.photos import Photograph
from kitting.views.plan import RingView

# How much of the width of a label a drawing may take, and the air round it (points).
_WIDEST, _AIR = 0.38, 1.5 * MM
# The longer side of a photo on a label, the largest that is tried first (mm).
SIDES = (34.0, 26.0, 20.0)


@dataclass(frozen=True, slots=True)
class Drawing:
    """Something drawn beside the text: so large (mm), by a painter of its upper left corner."""

    width: float
    height: float
    caption: str
    paint: Callable[[Any, tuple[float, float]], None]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a drawing goes: its upper left corner, and the width for its caption (points)."""

    x: float
    top: float
    width: float


def ring_drawing(ring: RingView, hatch: Hatch | None) -> Drawing:
    """A ring in true size with its section."""
    made = label_picture(ring)

    def paint(canvas: Any, corner: tuple[float, float]) -> None:
        paint_ring(canvas, corner, ring, made, hatch)

    return Drawing(made.width, made.height, made.caption, paint)


def photo_drawing(photo: Photograph, side: float) -> Drawing:
    """A photo, its longer side as given (mm)."""
    size = size_in(photo, side, side)
    across, high = size[0] * MM, size[1] * MM

    def paint(canvas: Any, corner: tuple[float, float]) -> None:
        paint_photo(canvas, photo, corner, (across, high))

    return Drawing(*size, photo.caption, paint)


def draw_beside(column: Column, spot: Spot, made: Drawing) -> None:
    """Draw it at its spot, with its caption below."""
    if column.canvas is None:
        return
    made.paint(column.canvas, (spot.x, spot.top))
    caption = fit(made.caption, (spot.width, 4 * LEAST), (LEAST, LEAST), lines=2, squeeze=1.0)
    draw(column.canvas, spot.x, spot.top - made.height * MM, caption)


def under_code(column: Column, text: Text, way: Way, made: Drawing) -> Spot | None:
    """A spot in the notch, which reaches further down for it: the column is left so.

    None, and the column as it was, where the text does not find room beside it.
    """
    wide = max(column.notch_width - _AIR, made.width * MM)
    if not column.notch_width or wide > _WIDEST * column.full_width:
        return None
    trial, top = column.trial(), column.notch_bottom - _AIR
    caption = fit(made.caption, (wide, 99), (LEAST, LEAST), lines=2, squeeze=1.0)
    trial.notch_width, trial.notch_bottom = wide + _AIR, top - made.height * MM - caption.height
    notch = trial.notch_width, trial.notch_bottom
    foot = column.bottom + (1.25 * way.size.text if Part.COUNT in text.blocks else 0.0)
    if caption.cut or trial.notch_bottom < foot or not fill(trial, text, way):
        return None
    column.notch_width, column.notch_bottom = notch
    return Spot(column.x + column.full_width - wide, top, wide)


def under_text(column: Column, text: Text, way: Way, made: Drawing) -> Spot | None:
    """A spot in what the text leaves at the foot; None where there is none."""
    trial = column.trial()
    if not fill(trial, text, way):
        return None
    top, width = min(trial.top, column.notch_bottom) - _AIR, trial.full_width
    caption = fit(made.caption, (width, 99), (LEAST, LEAST), lines=2, squeeze=1.0)
    high = made.height * MM + caption.height
    if caption.cut or made.width * MM > width or high > top - trial.bottom:
        return None
    return Spot(column.x, top, width)
