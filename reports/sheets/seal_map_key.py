"""The head of a seal map: a bar to measure the print by, and what the hatches mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from kitting.reports.drawings.rings import paint_swatch
from kitting.reports.drawings.rubber_hatches import Hatch, hatch_of
from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.text import MM, draw, fit
from kitting.views.seal_map import SealMapView
from kitting.wording.elastomers import rubber_name
from kitting.wording.language import N_, _

_TRUE = N_("Print at 100 %: this bar is 50 mm. Where it is not, no drawing is of true size.")
_BAR = 50.0
_Entry = tuple[str, str, Hatch | None]


def paint_bar(sheet: Sheet) -> None:
    """A bar to measure, with a tick every 10 mm."""
    x, y = sheet.point(0, 7)
    sheet.canvas.setLineWidth(0.9)
    sheet.canvas.line(x, y, x + _BAR * MM, y)
    for tick in range(6):
        high = 3.0 if tick in (0, 5) else 1.8
        sheet.canvas.line(x + tick * 10 * MM, y, x + tick * 10 * MM, y + high * MM)
    words = fit(_(_TRUE), ((sheet.width - _BAR - 5) * MM, 8 * MM), (9, 7.5), bold=True, lines=2)
    draw(sheet.canvas, x + (_BAR + 5) * MM, y + words.height - 1, words)


def key(view: SealMapView, sheet: Sheet) -> Iterator[Block]:
    """A field for each rubber of which something is drawn, with the words for it."""
    half, wide = sheet.width / 2, 12.0
    listed = list(_entries(view))
    for first in range(0, len(listed), 2):
        pair = listed[first : first + 2]
        cells = [
            Cell(
                number * half + wide + 3,
                half - wide - 6,
                (Part(title, 9.5, bold=True, lines=3), Part(name, 8.5, lines=2)),
            )
            for number, (title, name, _hatch) in enumerate(pair)
        ]
        block = sheet.cells(cells, 9.0)
        yield Block(block.height, partial(_paint_key, [hatch for *_words, hatch in pair], block))


def _entries(view: SealMapView) -> Iterator[_Entry]:
    drawn = [
        place.label.elastomer
        for joint in view.joints
        for place in joint.places
        if place.label.ring is not None
    ]
    for rubber in dict.fromkeys(drawn):
        hatch = hatch_of(rubber)
        if rubber is None or hatch is None:
            title = rubber or _("RUBBER NOT STATED")
            yield _("{rubber}: no hatch", rubber=title), "", None
        else:
            told = _("{rubber}: {hatch}", rubber=rubber, hatch=hatch.told)
            yield told, rubber_name(rubber), hatch


def _paint_key(hatches: Sequence[Hatch | None], words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    for number, hatch in enumerate(hatches):
        x, y = sheet.point(number * sheet.width / 2, 8)
        paint_swatch(sheet.canvas, x, y, 12 * MM, 6.5 * MM, hatch)
