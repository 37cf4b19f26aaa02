"""Photos on paper: as large as their room, never out of shape, with what they show below."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from io import BytesIO
from typing import Any

from reportlab.lib.utils import ImageReader

from kitting.reports.sheet import Block, Sheet
from kitting.reports.text import LEADING, MM, THINNEST, draw, fit
from kitting.views.photos import Photograph
from kitting.wording.language import _

# How high photos are in a row of a sheet (mm), and their caption (points).
_HIGH, _CAPTION, _GAP = 32.0, 8.0, 3.0


def size_in(photo: Photograph, width: float, height: float) -> tuple[float, float]:
    """The largest size of a photo that finds room, in its own shape."""
    scale = min(width / photo.width, height / photo.height)
    return photo.width * scale, photo.height * scale


def paint_photo(
    canvas: Any, photo: Photograph, corner: tuple[float, float], size: tuple[float, float]
) -> None:
    """Draw a photo with its upper left `corner` at a point, so large (points)."""
    x, top = corner
    wide, high = size
    image = ImageReader(BytesIO(photo.jpeg))
    canvas.drawImage(image, x, top - high, wide, high)
    canvas.setLineWidth(THINNEST)
    canvas.rect(x, top - high, wide, high)


def photo_row(photos: Sequence[Photograph], sheet: Sheet, left: float = 0.0) -> Block:
    """Photos side by side from so many mm on, as many columns as there are; captions below."""
    columns = max(2, len(photos))
    wide = (sheet.width - left) / columns - _GAP
    places = [(left + number * (wide + _GAP), photo) for number, photo in enumerate(photos)]
    lines = 2 * LEADING * _CAPTION / MM
    return Block(_HIGH + lines + 2, partial(_paint_row, places, wide))


def _paint_row(places: Sequence[tuple[float, Photograph]], wide: float, sheet: Sheet) -> None:
    for left, photo in places:
        x, top = sheet.point(left, 1)
        across, high = size_in(photo, wide * MM, _HIGH * MM)
        paint_photo(sheet.canvas, photo, (x, top), (across, high))
        words = fit(
            _("Photo: {caption}", caption=photo.caption), (wide * MM, 99), (_CAPTION, 7.0), lines=2
        )
        draw(sheet.canvas, x, top - high - 1, words)
