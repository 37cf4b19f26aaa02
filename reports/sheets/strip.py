"""The strip sheet: step by step what is opened, what comes off, what is closed and kept."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import BinaryIO

from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.strip_joint import bag_text, joint_groups
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.photos import NO_PHOTOGRAPHS, Photographs
from kitting.views.plan import CautionView
from kitting.views.strip import StripStepView, StripView
from kitting.wording.cautions import titled_text
from kitting.wording.language import _, n_
from kitting.wording.reasons import say
from kitting.wording.strip import (
    PRACTICE,
    about_text,
    closers_text,
    fluid_text,
    how_much_text,
    kit_text,
    step_notes,
    step_text,
    waits_text,
)
from kitting.wording.verdicts import NOT_FINE, doubt_text

# A step that is not higher than this, in mm, is not divided.
_WHOLE = 130.0
# Boxes for open ends: how far apart in mm, and how many are drawn at most.
_APART, _MOST = 15.0, 36
_INSET = 3.0


def draw_strip(
    view: StripView, target: BinaryIO, paper: str = "A4", photographs: Photographs = NO_PHOTOGRAPHS
) -> int:
    """Write a strip sheet as PDF, with photos of its joints; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    code = view.booking or view.reference
    heading = Heading(
        _("Strip-down"), kit_text(view), about_text(view), view.cautions, code, view.jobs
    )
    return render(target, paper, heading, partial(_body, view, photographs))


def _body(view: StripView, photographs: Photographs, sheet: Sheet) -> None:
    sheet.text(_("STRIP-DOWN  {kit}", kit=kit_text(view)), 18, bold=True, lines=1, gap=0.5)
    sheet.text(about_text(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    sheet.text(_("Steps in the order in which things come off."), 10, gap=0.3)
    sheet.text(_(PRACTICE), 9, lines=6, gap=2)
    sheet.box(_(NOT_FINE), _doubts(view))
    sheet.blanks((_("stripped by"), _("date")))
    sheet.y += 2
    for step in view.steps:
        _step(step, len(view.steps), photographs, sheet)
    if not view.steps:
        sheet.text(_("Nothing comes off."), 10)
    sheet.cautions()


def _doubts(view: StripView) -> list[str]:
    """What has to be known before anything comes off; of the rest, that there is more."""
    told = [doubt_text(doubt) for doubt in view.doubts]
    others = len(view.other_doubts)
    if others and told:
        more = n_(
            "{count} more doubt of what goes in, not of what comes off: see the plan",
            "{count} more doubts of what goes in, not of what comes off: see the plan",
            others,
        )
        return [*told, more]
    if others:
        only = n_(
            "{count} doubt of what goes in, not of what comes off: see the plan",
            "{count} doubts of what goes in, not of what comes off: see the plan",
            others,
        )
        return [only]
    return told


def _step(step: StripStepView, count: int, photographs: Photographs, sheet: Sheet) -> None:
    """A step whole where it finds room; what runs over names the step and the bag again."""
    sheet.repeat = None
    opening = [*_cautions(step.cautions, sheet), _band(step, count, sheet)]
    opening += [_bold(text, sheet) for text in _unproven(step)]
    alone, *more = [*_fluids(step, sheet), *_photos(step, sheet)]
    groups: list[tuple[str, list[Block]]] = [("", [*opening, alone])]
    groups += [("", [block]) for block in more]
    for joint in step.joints:
        bag = f"{bag_text(joint)}, {joint.name}"
        first, *rest = joint_groups(joint, photographs, sheet)
        groups += [("", first), *((bag, group) for group in rest)]
    closers = _closers(step, sheet)
    groups += [("", closers[:2]), *(("", [block]) for block in closers[2:])]
    groups.append(("", [_found(sheet)]))
    if sum(block.height for _bag, group in groups for block in group) <= _WHOLE:
        sheet.keep([block for _bag, group in groups for block in group])
    else:
        for number, (bag, group) in enumerate(groups):
            if number:
                sheet.repeat = partial(_again, step_text(step, count), bag or step.name)
            sheet.keep(group)
    sheet.repeat = None
    sheet.y += 4


def _again(step: str, name: str, sheet: Sheet) -> None:
    told = _("{step} {name} · continued", step=step, name=name)
    sheet.text(told, 11, bold=True, lines=3, gap=1)


def _cautions(cautions: Sequence[CautionView], sheet: Sheet) -> list[Block]:
    """The cautions of a step in a frame before it, each by its title and its word."""
    if not cautions:
        return []
    told = "; ".join(map(titled_text, cautions))
    text = _("CAUTION BEFORE THIS STEP: {cautions}. In full at the end.", cautions=told)
    words = sheet.cells([Cell(_INSET, sheet.width - 2 * _INSET, (Part(text, 10.5, bold=True,
                                                                      lines=12),))])  # fmt: skip
    return [Block(words.height + 1.5, partial(_paint_frame, words))]


def _paint_frame(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.canvas.setLineWidth(1.6)
    corner = sheet.point(0, words.height)
    sheet.canvas.rect(*corner, sheet.width * MM, words.height * MM, stroke=1, fill=0)


def _band(step: StripStepView, count: int, sheet: Sheet) -> Block:
    """The box to tick of a step, its number and code, its name, who asks for it, with what."""
    parts = [
        Part(step_text(step, count), 10, bold=True, lines=2),
        Part(step.name, 14, bold=True, lines=4, smallest=11),
    ]
    parts += [Part(note, 9.5, lines=6) for note in step_notes(step)]
    left = TICK + 5
    words = sheet.cells([Cell(left, sheet.width - left - 2, tuple(parts))], TICK + 3)
    return Block(words.height + 1, partial(_paint_band, words))


def _paint_band(words: Block, sheet: Sheet) -> None:
    canvas = sheet.canvas
    x, y = sheet.point(0, words.height)
    canvas.setFillGray(0.88)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, words.height * MM, stroke=1, fill=1)
    canvas.setFillGray(1)
    canvas.setLineWidth(0.8)
    canvas.rect(*sheet.point(2, 1.5 + TICK), TICK * MM, TICK * MM, stroke=1, fill=1)
    canvas.setFillGray(0)
    words.draw(sheet)


def _unproven(step: StripStepView) -> list[str]:
    waits = [waits_text(step)] if step.waits_for else []
    return [*waits, *map(doubt_text, step.doubts)]


def _bold(text: str, sheet: Sheet) -> Block:
    return sheet.cells([Cell(_INSET, sheet.width - 2 * _INSET, (Part(text, 10, bold=True,
                                                                     lines=12),))])  # fmt: skip


def _fluids(step: StripStepView, sheet: Sheet) -> list[Block]:
    return [
        sheet.cells(
            [
                Cell(
                    _INSET,
                    sheet.width - 2 * _INSET,
                    (
                        Part(fluid_text(out), 11, bold=True, lines=6),
                        Part(how_much_text(out), 9.5, lines=6),
                    ),
                )
            ]
        )
        for out in step.fluids
    ]


def _photos(step: StripStepView, sheet: Sheet) -> list[Block]:
    """A box to tick for each photo; where nothing is known a blank to fill in."""
    if not step.photos:
        return [_ticked_blank(_("photo of"), sheet)]
    return [_ticked(_("PHOTO: {what}", what=say(photo)), sheet) for photo in step.photos]


def _ticked(text: str, sheet: Sheet) -> Block:
    left = _INSET + TICK + 2
    part = Part(text, 10, lines=10)
    words = sheet.cells([Cell(left, sheet.width - left - 2, (part,))], TICK + 2)
    return Block(words.height, partial(_paint_ticked, words))


def _paint_ticked(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.tick_box(_INSET, 1)


def _ticked_blank(name: str, sheet: Sheet) -> Block:
    return Block(TICK + 2, partial(_paint_ticked_blank, name))


def _paint_ticked_blank(name: str, sheet: Sheet) -> None:
    sheet.tick_box(_INSET, 1)
    _paint_line(name, _INSET + TICK + 2, sheet)


def _found(sheet: Sheet) -> Block:
    """Two lines for what was found on this car."""
    return Block(18.0, _paint_found)


def _paint_found(sheet: Sheet) -> None:
    _paint_line(_("found on this car"), _INSET, sheet)
    x, y = sheet.point(_INSET, 17)
    sheet.canvas.setLineWidth(0.8)
    sheet.canvas.line(x, y, x + (sheet.width - 2 * _INSET) * MM, y)


def _paint_line(name: str, left: float, sheet: Sheet) -> None:
    """A name and a line to write on, up to the right margin."""
    label = fit(name, (0.4 * sheet.width * MM, 14), (9.5, 7.5), bold=True, lines=1)
    x, top = sheet.point(left, 4)
    draw(sheet.canvas, x, top, label)
    across = max((width_of(line, label.size, True) for line in label.lines), default=0.0)
    end, foot = sheet.point(sheet.width - _INSET, TICK + 1)
    sheet.canvas.setLineWidth(0.8)
    sheet.canvas.line(x + across + 4, foot, end, foot)


def _closers(step: StripStepView, sheet: Sheet) -> list[Block]:
    """A box for each cap or plug; a line for their number where nobody states it."""
    if step.closers is None:
        if not step.open_ends:
            return []
        return [_bold(closers_text(step), sheet), Block(TICK + 2, _paint_counted)]
    blocks = [_bold(closers_text(step), sheet)]
    drawn, row = min(step.closers, _MOST), int((sheet.width - 2 * _INSET) // _APART)
    for first in range(0, drawn, row):
        numbers = range(first + 1, min(first + row, drawn) + 1)
        blocks.append(Block(TICK + 2, partial(_paint_ports, numbers)))
    if step.closers > drawn:
        blocks.append(Block(TICK + 2, _paint_counted))
    return blocks


def _paint_ports(numbers: range, sheet: Sheet) -> None:
    for place, number in enumerate(numbers):
        left = _INSET + place * _APART
        sheet.tick_box(left, 1)
        label = fit(str(number), (6 * MM, 14), (9, 7), lines=1)
        draw(sheet.canvas, *sheet.point(left + TICK + 1, 3), label)


def _paint_counted(sheet: Sheet) -> None:
    _paint_line(_("open ends closed, counted"), _INSET, sheet)
