"""The tightening sheet: joint by joint, every stage of every fastener with boxes to tick."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.reports.drawings.pattern import pattern_blocks
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.tightening_row import Boxes, Piece, boxes_of, pieces_of
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tightening import (
    PutOnView,
    TightenJointView,
    TightenRowView,
    TightenView,
)
from kitting.wording.reasons import say
from kitting.wording.tightening import LEFT_HAND, TIMES_REMARK, amount_text, put_on_text, times_text
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_PRACTICE = (
    "General practice, no source: start every fastener by hand, 2 to 3 turns; loosen in the"
    " reverse of the order of tightening, unless the maker says otherwise."
)
_BAG = 20.0


def draw_tightening(view: TightenView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a tightening sheet as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    about = f"{view.vehicle} · fitting date {view.on}{when_text(view.slot)}"
    heading = Heading("Tightening", view.reference, about, view.cautions)
    return render(target, paper, heading, partial(_body, view))


def _body(view: TightenView, sheet: Sheet) -> None:
    sheet.text(f"TIGHTENING  kit {view.reference}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(
        f"{view.vehicle} · fitting date {view.on}{when_text(view.slot)}", 11, bold=True, gap=1.2
    )
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    boxes = ", ".join(view.boxes)
    chosen = f"Wrenches from: {boxes}" if boxes else "No toolbox is described: no wrench is chosen"
    sheet.text(f"{chosen}. Joints in the order of refitting.", 10, gap=0.3)
    sheet.text(_PRACTICE, 9, gap=0.3 if view.sets else 2)
    if view.sets:
        sheet.text(TIMES_REMARK, 9, lines=4, gap=2)
    sheet.box(NOT_FINE, tuple(map(doubt_text, view.doubts)))
    sheet.box("PUT ON WHERE NOTHING IS TIGHTENED", tuple(map(put_on_text, view.put_on)))
    sheet.blanks(("tightened by", "date", "checked by"))
    sheet.y += 2
    for joint in view.joints:
        _joint(joint, sheet)
    if not view.joints:
        sheet.text("Nothing has to be tightened.", 10)
    sheet.cautions()


def _joint(joint: TightenJointView, sheet: Sheet) -> None:
    """Heading, drawing and first row stay together; what follows names the joint again."""
    sheet.repeat = None
    opening = [_heading(joint, "", sheet), *(_put_on(laid, sheet) for laid in joint.put_on)]
    if joint.drawing is not None:
        opening += pattern_blocks(joint.drawing, sheet)
    for row, boxes in zip(joint.rows, boxes_of(joint), strict=True):
        _row(joint, row, boxes, opening, sheet)
        opening = []
    sheet.keep(opening)
    sheet.repeat = None
    sheet.y += 5


def _row(
    joint: TightenJointView, row: TightenRowView, boxes: Boxes, opening: list[Block], sheet: Sheet
) -> None:
    """A row whole where a page holds it, or else stage by stage, with a sign at every break."""
    pieces = list(pieces_of(row, boxes, sheet))
    blocks = [*opening, *(piece.block for piece in pieces)]
    page = sheet.whole_page - (0 if opening else _heading(joint, "continued", sheet).height)
    if len(pieces) < 4 or sum(block.height for block in blocks) <= page:
        sheet.keep(blocks)
    else:
        _divided(joint, row, pieces, opening, sheet)
    sheet.repeat = partial(_again, joint, "continued")


def _divided(
    joint: TightenJointView,
    row: TightenRowView,
    pieces: list[Piece],
    opening: list[Block],
    sheet: Sheet,
) -> None:
    """The head of a row with its first stage, and its source with the last, over several pages."""
    first, *rest = [pieces[:2], *([piece] for piece in pieces[2:-2]), pieces[2:][-2:]]
    sign = _overleaf("", sheet).height
    start = [*opening, *(piece.block for piece in first)]
    sheet.ensure(min(sign + sum(block.height for block in start), sheet.whole_page))
    sheet.keep(start)
    for part in rest:
        height = sum(piece.block.height for piece in part)
        if height + (0 if part is rest[-1] else sign) > sheet.room:
            called = part[0].called
            sheet.keep([_overleaf(called, sheet)])
            sheet.repeat = partial(_again, joint, f"CONTINUED: {_called(row)}, {called}")
            sheet.new_page()
        sheet.keep([piece.block for piece in part])


def _overleaf(called: str, sheet: Sheet) -> Block:
    """The foot of a page that a row runs over."""
    text = Part(f"CONTINUES OVERLEAF: {called}", 11, bold=True, lines=1)
    return sheet.cells([Cell(0, sheet.width, (text,))])


def _called(row: TightenRowView) -> str:
    """A position at the head of a page that its row runs over to."""
    return f"{row.position}, {LEFT_HAND}" if row.left_hand else row.position


def _again(joint: TightenJointView, after: str, sheet: Sheet) -> None:
    """The head of a page that a joint, or a row of it, runs over to."""
    sheet.keep([_heading(joint, after, sheet)])


def _heading(joint: TightenJointView, after: str, sheet: Sheet) -> Block:
    """The number of the bag white on black, the joint beside it."""
    name = joint.joint_name
    if joint.joint and joint.joint != name:
        name += f" ({joint.joint})"
    title = [Part(name, 13, bold=True, lines=3, smallest=10)]
    if after:
        title.append(Part(after, 11, bold=True, lines=3, smallest=9))
    words = sheet.cells([Cell(_BAG + 3, sheet.width - _BAG - 5, tuple(title))], 9.0)
    return Block(words.height + 2, partial(_paint_heading, joint.bag, words))


def _put_on(laid: PutOnView, sheet: Sheet) -> Block:
    """A framed line: what is put on and how much, and how long to work it and to wait."""
    parts: tuple[Part, ...] = (
        Part(f"PUT ON {laid.item} {laid.name}: {amount_text(laid)}", 9.5, lines=6, smallest=8),
        Part(times_text(laid.times), 10.5, bold=True, lines=6, smallest=9),
    )
    if laid.laying is not None:
        parts = (*parts, Part(say(laid.laying), 9.5, lines=6, smallest=8))
    words = sheet.cells([Cell(3, sheet.width - 6, parts)])
    return Block(words.height + 2, partial(_paint_frame, words))


def _paint_frame(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.canvas.setLineWidth(1.2)
    corner = sheet.point(0, words.height)
    sheet.canvas.rect(*corner, sheet.width * MM, words.height * MM, stroke=1, fill=0)


def _paint_heading(bag: int, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height * MM
    x, y = sheet.point(0, words.height)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high)
    canvas.rect(x, y, _BAG * MM, high, stroke=1, fill=1)
    number = fit(f"BAG {bag}", ((_BAG - 2) * MM, high), (13, 7), bold=True, lines=1)
    width = max((width_of(line, number.size, True) for line in number.lines), default=0.0)
    canvas.saveState()
    canvas.setFillGray(1)
    draw(canvas, x + (_BAG * MM - width) / 2, y + (high + number.height) / 2, number)
    canvas.restoreState()
    words.draw(sheet)
