"""The removal count: as many old seals out of each joint as were in it, or no refit."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import BinaryIO

from kitting.facts.reasons import Reason
from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, Fitted, draw, fit, width_of
from kitting.views.counted import RemovalJointView, RemovalPlaceView, RemovalView
from kitting.wording.figures import day
from kitting.wording.language import N_, _
from kitting.wording.reasons import say
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_PRACTICE = N_(
    "Common practice, no source: two seals in one groove leak or come apart. Lay the old ones out"
    " by position, count them twice, look into the bore and on to the part that was drawn out."
    " Plug every open port, and count the plugs out again."
)
# A joint that is not higher than this, in mm, is not divided.
_WHOLE = 120.0
# Widths and heights in mm: bag number, expected, the box to write the count in.
_BAG, _EXPECTED, _COUNT_WIDE, _COUNT_HIGH = 20.0, 26.0, 30.0, 16.0
_BAND, _ROW = 18.0, 9.5
# More old seals than these at one position share a box.
_MOST_BOXES = 4


def draw_removal(view: RemovalView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a removal count as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    heading = Heading(
        _("Removal count"), _reference(view), _about(view), view.cautions, jobs=view.jobs
    )
    return render(target, paper, heading, partial(_body, view))


def _reference(view: RemovalView) -> str:
    return _("{booking} · kit {kit}", booking=view.booking, kit=view.reference)


def _about(view: RemovalView) -> str:
    when = f"{day(view.on)}{when_text(view.slot)}"
    return _("{vehicle} · fitting date {when}", vehicle=view.vehicle, when=when)


def _body(view: RemovalView, sheet: Sheet) -> None:
    sheet.text(_("REMOVAL COUNT  {kit}", kit=_reference(view)), 18, bold=True, lines=1)
    sheet.text(_about(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    seals = sum(joint.expected for joint in view.joints)
    told = _("Old seals to come out: {seals}. Joints: {joints}. What comes off first stands first.",
             seals=seals, joints=len(view.joints))  # fmt: skip
    sheet.text(told, 10, gap=0.3)
    sheet.text(_(_PRACTICE), 9, lines=6, gap=2)
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, view.doubts)))
    if view.withheld:
        sheet.box(_("REFIT WITHHELD"), [*map(say, view.withheld), *_places(view)])
    sheet.blanks((_("counted by"), _("date"), _("checked by")))
    sheet.y += 2
    for joint in view.joints:
        _joint(joint, sheet)
    if not view.joints:
        sheet.text(_("No old seal is expected."), 10)
    sheet.cautions()


def _places(view: RemovalView) -> list[str]:
    """Where to look of each joint that differs: the positions that its reason does not name."""
    reasons = {reason["joint"]: reason for reason in view.withheld}
    told = []
    for joint in view.joints:
        named = _named(reasons.get(joint.joint))
        left = "; ".join(place for place in joint.positions if place not in named)
        if joint.differs and left:
            where = {"bag": _bag(joint), "joint": joint.joint_name, "positions": left}
            told.append(
                _("{bag}, {joint}: then look at {positions}", **where)
                if named
                else _("{bag}, {joint}: look at {positions}", **where)
            )
    return told


def _bag(joint: RemovalJointView) -> str:
    if joint.bags:
        return _("BAGS {numbers}", numbers=", ".join(map(str, sorted(joint.bags))))
    return _("NO BAG") if joint.bag is None else _("BAG {number}", number=joint.bag)


def _named(reason: Reason | None) -> Sequence[str]:
    named = None if reason is None else dict(reason.values).get("positions")
    return tuple(map(str, named)) if isinstance(named, tuple) else ()


def _joint(joint: RemovalJointView, sheet: Sheet) -> None:
    """A joint whole where a page can hold it; what runs over names the joint again."""
    sheet.repeat = None
    rows = _rows(joint, sheet)
    blocks = [_band(joint, sheet), Block(TICK + 4, _paint_pairs), *rows]
    if sum(block.height for block in blocks) <= _WHOLE:
        sheet.keep(blocks)
    else:
        sheet.keep(blocks[:3])
        sheet.repeat = partial(_again, joint)
        for block in blocks[3:]:
            sheet.keep([block])
    sheet.repeat = None
    sheet.y += 5


def _again(joint: RemovalJointView, sheet: Sheet) -> None:
    name = _("{bag} {joint} · continued", bag=_bag(joint), joint=joint.joint_name)
    sheet.text(name, 11, bold=True, lines=2, gap=1)


def _band(joint: RemovalJointView, sheet: Sheet) -> Block:
    """Number of the bag, name, seals expected, and the box to write the count in."""
    name = joint.joint_name
    if joint.joint and joint.joint != name:
        name += f" ({joint.joint})"
    parts = [Part(name, 13, bold=True, lines=3, smallest=10)]
    if joint.bags:
        told = " · ".join(
            _("BAG {number}: {count} new", number=bag, count=count)
            for bag, count in sorted(joint.bags.items())
        )
        parts.append(Part(told, 11, bold=True, lines=2))
    if joint.counted is not None:
        same = joint.counted == joint.expected
        told = N_("counted {count}: as expected") if same else N_("counted {count}: DIFFERS")
        parts.append(Part(_(told, count=joint.counted), 11, bold=not same, lines=1))
    room = sheet.width - _BAG - 3 - _EXPECTED - _COUNT_WIDE - 5
    words = sheet.cells([Cell(_BAG + 3, room, tuple(parts))], _BAND)
    return Block(words.height + 1.5, partial(_paint_band, joint, words))


def _paint_band(joint: RemovalJointView, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height
    x, y = sheet.point(0, high)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high * MM)
    canvas.rect(x, y, _BAG * MM, high * MM, stroke=1, fill=1)
    canvas.saveState()
    canvas.setFillGray(1)
    _middle(sheet, fit(_bag(joint), ((_BAG - 2) * MM, 30), (13, 7), bold=True, lines=1),
            0, _BAG, (high - 5) / 2)  # fmt: skip
    canvas.restoreState()
    left = sheet.width - _EXPECTED - _COUNT_WIDE - 1
    _middle(sheet, fit(_("expected"), (_EXPECTED * MM, 12), (8.5, 7), lines=1), left, _EXPECTED, 1)
    figure = fit(str(joint.expected), (_EXPECTED * MM, 40), (24, 9), bold=True, lines=1)
    _middle(sheet, figure, left, _EXPECTED, 5.5)
    left += _EXPECTED
    x, y = sheet.point(left, 1 + _COUNT_HIGH)
    canvas.setLineWidth(1.6)
    canvas.rect(x, y, _COUNT_WIDE * MM, _COUNT_HIGH * MM)
    draw(canvas, x + 1 * MM, y + (_COUNT_HIGH - 0.6) * MM,
         fit(_("count OLD out"), ((_COUNT_WIDE - 2) * MM, 12), (8, 7), lines=1))  # fmt: skip
    words.draw(sheet)


def _middle(sheet: Sheet, text: Fitted, left: float, wide: float, down: float) -> None:
    """A line in the middle of so many mm."""
    across = max((width_of(line, text.size, text.bold) for line in text.lines), default=0.0)
    x, top = sheet.point(left + wide / 2, down)
    draw(sheet.canvas, x - across / 2, top, text)


def _paint_pairs(sheet: Sheet) -> None:
    """Two boxes that belong together: ports plugged on taking apart, unplugged on refitting."""
    third = sheet.width / 3
    names = (_("ports that stay open: plugged"), _("unplugged before refit"))
    for number, name in enumerate(names):
        left = 2.0 + number * third
        sheet.tick_box(left, 1.5)
        room = third - TICK - 6
        label = fit(name, (room * MM, 24), (9.5, 8), bold=True, lines=2)
        down = 1.5 + (TICK - label.height / MM) / 2
        draw(sheet.canvas, *sheet.point(left + TICK + 1.5, down), label)
    _blank_after(_("how many plugs"), 2 * third, sheet)


def _blank_after(name: str, left: float, sheet: Sheet) -> None:
    """A name and a line to write a figure on, up to the right margin."""
    label = fit(name, ((sheet.width - left - 20) * MM, 14), (9.5, 7.5), lines=1)
    x, top = sheet.point(left, 3.2)
    draw(sheet.canvas, x, top, label)
    across = max((width_of(line, label.size) for line in label.lines), default=0.0)
    end, foot = sheet.point(sheet.width - 2, TICK + 1.5)
    sheet.canvas.setLineWidth(0.8)
    sheet.canvas.line(x + across + 4, foot, end, foot)


def _rows(joint: RemovalJointView, sheet: Sheet) -> list[Block]:
    """Positions two to a row, each with a box to tick for every old seal that is out."""
    half = sheet.width / 2
    places = joint.places or tuple(map(RemovalPlaceView, joint.positions))
    rows = []
    for first in range(0, len(places), 2):
        pair = places[first : first + 2]
        cells = []
        for number, place in enumerate(pair):
            left = number * half + 2 + _boxes(place) * (TICK + 2)
            room = (number + 1) * half - 4 - left
            cells.append(Cell(left, room, (Part(_place_text(joint, place), 10, lines=5),)))
        block = sheet.cells(cells, _ROW)
        boxes = tuple(map(_boxes, pair))
        rows.append(Block(block.height, partial(_paint_positions, block, boxes)))
    return rows


def _boxes(place: RemovalPlaceView) -> int:
    """A box for each piece, one for all of them where there are very many."""
    return place.pieces if place.pieces <= _MOST_BOXES else 1


def _place_text(joint: RemovalJointView, place: RemovalPlaceView) -> str:
    text = place.position
    if place.pieces > 1:
        text = _("{count} × {position}", count=place.pieces, position=text)
    if joint.bags and place.bag is not None:
        text = _("{position} · BAG {number}", position=text, number=place.bag)
    return text


def _paint_positions(block: Block, boxes: Sequence[int], sheet: Sheet) -> None:
    # One line stands in the middle beside its box, several begin at its top.
    down = 1.2 if block.height <= _ROW else 0.0
    sheet.y += down
    block.draw(sheet)
    sheet.y -= down
    for number, count in enumerate(boxes):
        for box in range(count):
            sheet.tick_box(number * sheet.width / 2 + 2 + box * (TICK + 2), 1)
