"""A joint on the strip sheet: its bag, what comes off, in which order, the old seals to count."""

from __future__ import annotations

from functools import partial

from kitting.facts.words import Rule
from kitting.reports.drawings.photos import photo_row
from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.text import MM, THINNEST, Fitted, draw, fit, width_of
from kitting.reports.wording import sign
from kitting.views.photos import Photograph, Photographs
from kitting.views.strip import ComesOffView, StripJointView
from kitting.wording.language import _, n_
from kitting.wording.strip import (
    before_text,
    fate_text,
    off_text,
    only_text,
    opened_text,
    seals_text,
    turning_text,
    undo_text,
    unknown_text,
)

# Widths and heights in mm: the number of the bag, the box for the old seals, a row.
_BAG, _COUNT, _BAND, _INSET = 26.0, 52.0, 13.0, 3.0

_PHOTOS = 4  # side by side


def joint_groups(
    joint: StripJointView, photographs: Photographs, sheet: Sheet
) -> list[list[Block]]:
    """The band of a joint with how it is loosened and its first row; row by row; its photos."""
    opening = [Block(1.5, _nothing), _band(joint, sheet)]
    unknown = unknown_text(joint)
    if unknown is not None:
        opening.append(_line(Part(unknown, 10, bold=True, lines=4), sheet))
    if joint.undo is not None:
        opening.append(_line(Part(undo_text(joint.undo), 9.5, bold=True, lines=10), sheet))
    if joint.before is None and not joint.off:
        none = Part(_("What comes off here is NOT STATED."), 10, bold=True, lines=3)
        opening.append(_line(none, sheet))
    rows = [_row(off, sheet) for off in joint.off]
    photos = [] if joint.before is not None else place_photos(joint.joint, photographs)
    shown = [
        photo_row(photos[first : first + _PHOTOS], sheet)
        for first in range(0, len(photos), _PHOTOS)
    ]
    return [[*opening, *rows[:1]], *([block] for block in (*rows[1:], *shown))]


def place_photos(joint: str, photographs: Photographs) -> list[Photograph]:
    """The photos of a joint: of the whole, then of its positions."""
    here = [place for place in photographs.places if place[0] == joint]
    return [photographs.places[one] for one in sorted(here, key=lambda place: place[1] or "")]


def _nothing(_sheet: Sheet) -> None:
    """A gap."""


def _line(part: Part, sheet: Sheet) -> Block:
    return sheet.cells([Cell(_INSET, sheet.width - 2 * _INSET, (part,))])


def _band(joint: StripJointView, sheet: Sheet) -> Block:
    """The bag white on black, the joint beside it, and the box for its old seals."""
    name = joint.name if joint.joint == joint.name else f"{joint.name} ({joint.joint})"
    parts = [Part(name, 12, bold=True, lines=4, smallest=9)]
    notes = [before_text(joint) if joint.before is not None else None, opened_text(joint)]
    notes += [_tag(joint)]
    parts += [Part(note, 9, lines=4) for note in notes if note]
    room = sheet.width - _BAG - 5 - (_COUNT + 2 if joint.seals else 0)
    words = sheet.cells([Cell(_BAG + 3, room, tuple(parts))], _BAND)
    return Block(words.height + 1, partial(_paint_band, joint, words))


def _tag(joint: StripJointView) -> str | None:
    """What stands on the bags of a joint; None where nothing goes in."""
    if not joint.bags:
        return None
    codes = ", ".join(bag.code for bag in joint.bags)
    return n_("tag what goes back with {codes}", "tag what goes back with one of {codes}",
              len(joint.bags), codes=codes)  # fmt: skip


def bag_text(joint: StripJointView) -> str:
    """The numbers of the bags of a joint, or that it has none."""
    if not joint.bags:
        return _("NO BAG")
    numbers = " + ".join(str(bag.number) for bag in joint.bags)
    return n_("BAG {numbers}", "BAGS {numbers}", len(joint.bags), numbers=numbers)


def _paint_band(joint: StripJointView, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height
    x, y = sheet.point(0, high)
    canvas.setLineWidth(1.0)
    canvas.rect(x, y, sheet.width * MM, high * MM)
    canvas.rect(x, y, _BAG * MM, high * MM, stroke=1, fill=1)
    number = fit(bag_text(joint), ((_BAG - 2) * MM, (high - 1) * MM), (13, 7), bold=True, lines=3)
    canvas.saveState()
    canvas.setFillGray(1)
    _middle(sheet, number, 0, _BAG, (high - number.height / MM) / 2)
    canvas.restoreState()
    words.draw(sheet)
    if joint.seals:
        _paint_count(joint, sheet)


def _paint_count(joint: StripJointView, sheet: Sheet) -> None:
    """How many old seals to expect, and a box for those that came out."""
    counted = joint.counted
    note = _("then: removal count") if counted is None else _("counted {count}", count=counted)
    room = (_COUNT - 18) * MM
    x, top = sheet.point(sheet.width - _COUNT, 1.2)
    foot = draw(sheet.canvas, x, top, fit(seals_text(joint), (room, 24), (9.5, 7.5), bold=True,
                                          lines=2))  # fmt: skip
    draw(sheet.canvas, x, foot, fit(note, (room, 20), (8, 7), lines=2))
    sheet.canvas.setLineWidth(1.4)
    corner = sheet.point(sheet.width - 16, 11)
    sheet.canvas.rect(*corner, 14 * MM, 9.5 * MM, stroke=1, fill=0)


def _middle(sheet: Sheet, text: Fitted, left: float, wide: float, down: float) -> None:
    """Lines in the middle of so many mm."""
    for number, line in enumerate(text.lines):
        one = Fitted((line,), text.size, text.bold)
        across = width_of(line, text.size, text.bold)
        x, top = sheet.point(left + wide / 2, down)
        draw(sheet.canvas, x - across / 2, top - number * text.size * 1.17, one)


def _row(off: ComesOffView, sheet: Sheet) -> Block:
    """What comes off at a position, on the right what becomes of it."""
    half = 0.62 * sheet.width
    what = [Part(off_text(off), 9.5, lines=4)]
    turning = turning_text(off)
    if turning is not None:
        what.append(Part(turning, 10.5, bold=True, lines=3))
    only = only_text(off)
    if only is not None:
        what.append(Part(only, 9.5, bold=True, lines=4))
    position = Part("; ".join(off.positions), 10.5, bold=True, lines=4)
    fate = Part(f"{sign(off.rule)} {fate_text(off)}", 9.5, bold=off.rule is Rule.RENEW, lines=4)
    cells = [
        Cell(_INSET, half - _INSET - 2, (position, *what)),
        Cell(half, sheet.width - half - 2, (fate,)),
    ]
    block = sheet.cells(cells, 9.0)
    return Block(block.height, partial(_paint_row, block))


def _paint_row(block: Block, sheet: Sheet) -> None:
    block.draw(sheet)
    sheet.canvas.setLineWidth(THINNEST)
    x, y = sheet.point(_INSET, block.height)
    sheet.canvas.line(x, y, x + (sheet.width - 2 * _INSET) * MM, y)
