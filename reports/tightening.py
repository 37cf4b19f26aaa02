"""The tightening sheet: joint by joint, every stage of every fastener with boxes to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import BinaryIO

from kitting.reports.drawing import holes_of_rows, in_order
from kitting.reports.patternview import pattern_block
from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views import TightenJointView, TightenRowView, TightenStageView, TightenView

NO_FIGURE = "NO FIGURE: LOOK IT UP"
_PRACTICE = (
    "General practice, no source: start every fastener by hand, 2 to 3 turns; loosen in the"
    " reverse of the order of tightening."
)
# Columns in mm from the left margin: figure, wrench, boxes to tick.
_FIGURE, _WRENCH, _TICKS = 7.0, 44.0, 101.0
_STATE, _BOLT = 49.0, 31.0
_PITCH, _NUMBER, _LINE = TICK + 1.5, 3.6, TICK + 3.6 + 1.2
# No stage is higher than so many lines of boxes; the rest follows as a stage continued.
_MOST_LINES = 8
# A row that is not higher than this is not divided.
_WHOLE = 95.0


def draw_tightening(view: TightenView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a tightening sheet as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    about = f"{view.vehicle} · fitting date {view.on}"
    heading = Heading("Tightening", view.reference, about, view.cautions)
    return render(target, paper, heading, partial(_body, view))


def _body(view: TightenView, sheet: Sheet) -> None:
    sheet.text(f"TIGHTENING  kit {view.reference}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(f"{view.vehicle} · fitting date {view.on}", 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    boxes = ", ".join(view.boxes)
    chosen = f"Wrenches from: {boxes}" if boxes else "No toolbox is described: no wrench is chosen"
    sheet.text(f"{chosen}. Joints in the order of refitting.", 10, gap=0.3)
    sheet.text(_PRACTICE, 9, gap=1.5)
    sheet.box("LEFT OFF THIS SHEET", view.stopped)
    sheet.blanks(("tightened by", "date", "checked by"))
    sheet.y += 1
    for joint in view.joints:
        _joint(joint, sheet)
    if not view.joints:
        sheet.text("Nothing has to be tightened.", 10)
    sheet.cautions()


def _joint(joint: TightenJointView, sheet: Sheet) -> None:
    """Heading, drawing and first row stay together; what follows names the joint again."""
    sheet.repeat = None
    opening = [_heading(joint, sheet, "")]
    if joint.drawing is not None:
        opening.append(pattern_block(joint.drawing, sheet))
        opening.append(Block(2.0, _nothing))
    numbers = _numbers(joint)
    for row, boxes in zip(joint.rows, numbers, strict=True):
        blocks = list(_row(joint, row, boxes, sheet))
        whole = sum(block.height for block in blocks) <= _WHOLE
        first, rest = (blocks, []) if whole else (blocks[:2], blocks[2:])
        sheet.keep([*opening, *first])
        sheet.repeat = partial(_again, joint, row)
        # The source stays with the last stage.
        for block in rest[:-2]:
            sheet.keep([block])
        sheet.keep(rest[-2:])
        sheet.repeat = partial(_again, joint, None)
        opening = []
    if opening:
        sheet.keep(opening)
    sheet.repeat = None
    sheet.y += 4


def _nothing(sheet: Sheet) -> None:
    """Air."""


def _heading(joint: TightenJointView, sheet: Sheet, after: str) -> Block:
    """The number of the bag white on black, the joint beside it."""
    name = joint.joint_name if joint.joint_name == joint.joint else (
        f"{joint.joint_name} ({joint.joint})"
    )  # fmt: skip
    cell = Cell(23, sheet.width - 25, (Part(name + after, 13, bold=True, lines=3, smallest=10),))
    text = sheet.cells([cell], 9.0)

    def paint(sheet: Sheet) -> None:
        x, y = sheet.point(0, text.height)
        canvas = sheet.canvas
        canvas.setLineWidth(1.2)
        canvas.rect(x, y, sheet.width * MM, text.height * MM)
        canvas.rect(x, y, 20 * MM, text.height * MM, stroke=1, fill=1)
        bag = fit(f"BAG {joint.bag}", 18 * MM, 9 * MM, 13, 8, bold=True, lines=1)
        canvas.saveState()
        canvas.setFillGray(1)
        width = width_of("".join(bag.lines), bag.size, bag.bold)
        draw(canvas, x + 10 * MM - width / 2, y + (text.height * MM + bag.height) / 2, bag)
        canvas.restoreState()
        text.draw(sheet)

    return Block(text.height + 2, paint_at(paint))
