"""The tightening sheet: joint by joint, every stage of every fastener with boxes to tick."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.reports.drawings.pattern import pattern_blocks
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.put_on import put_on_block
from kitting.reports.sheets.tightening_row import Boxes, Piece, boxes_of, order_blocks, pieces_of
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tightening import TightenJointView, TightenRowView, TightenView
from kitting.wording.figures import day
from kitting.wording.language import N_, _
from kitting.wording.settings import no_figure_texts
from kitting.wording.tightening import LEFT_HAND, TIMES_REMARK, put_on_text
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_PRACTICE = N_(
    "General practice, no source: start every fastener by hand, 2 to 3 turns; loosen in the"
    " reverse of the order of tightening, unless the maker says otherwise."
)
_BAG = 24.0


def draw_tightening(view: TightenView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a tightening sheet as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    heading = Heading(_("Tightening"), _name(view), _about(view), view.cautions, jobs=view.jobs)
    return render(target, paper, heading, partial(_body, view))


def _name(view: TightenView) -> str:
    if view.booking is None:
        return view.reference
    return _("{booking} · kit {kit}", booking=view.booking, kit=view.reference)


def _about(view: TightenView) -> str:
    when = f"{day(view.on)}{when_text(view.slot)}"
    return _("{vehicle} · fitting date {date}", vehicle=view.vehicle, date=when)


def _body(view: TightenView, sheet: Sheet) -> None:
    kit = _("kit {kit}", kit=view.reference) if view.booking is None else _name(view)
    sheet.text(_("TIGHTENING  {kit}", kit=kit), 18, bold=True, lines=2, gap=0.5)
    sheet.text(_about(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    chosen = (
        _("Wrenches from: {boxes}.", boxes=", ".join(view.boxes))
        if view.boxes
        else _("No toolbox is described: no wrench is chosen.")
    )
    sheet.text(f"{chosen} {_('Joints in the order of refitting.')}", 10, gap=0.3)
    for text in no_figure_texts(view.bare):
        sheet.text(text, 10, bold=True, lines=6, gap=0.6)
    sheet.text(_(_PRACTICE), 9, lines=4, gap=0.3 if view.sets else 2)
    if view.sets:
        sheet.text(_(TIMES_REMARK), 9, lines=4, gap=2)
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, view.doubts)))
    sheet.box(_("PUT ON WHERE NOTHING IS TIGHTENED"), tuple(map(put_on_text, view.put_on)))
    sheet.blanks((_("tightened by"), _("date"), _("checked by")))
    sheet.y += 2
    for joint in view.joints:
        _joint(joint, sheet)
    if not view.joints:
        sheet.text(_("Nothing has to be tightened."), 10)
    sheet.cautions()


def _joint(joint: TightenJointView, sheet: Sheet) -> None:
    """Heading, drawing and first row stay together; what follows names the joint again."""
    sheet.repeat = None
    opening = [_heading(joint, "", sheet), *(put_on_block(laid, sheet) for laid in joint.put_on)]
    if joint.drawing is not None:
        opening += pattern_blocks(joint.drawing, sheet)
    last = len(joint.rows) - 1
    for place, (row, boxes) in enumerate(zip(joint.rows, boxes_of(joint), strict=True)):
        _row(joint, (row, boxes), opening, place < last, sheet)
        opening = []
    sheet.keep(opening)
    sheet.repeat = None
    sheet.y += 5


def _row(
    joint: TightenJointView,
    boxed: tuple[TightenRowView, Boxes],
    opening: list[Block],
    more: bool,
    sheet: Sheet,
) -> None:
    """A row whole where a page holds it, or else stage by stage, with a sign at every break.

    Where `more` rows follow there is always room left to say that they are overleaf.
    """
    row, boxes = boxed
    pieces = list(pieces_of(row, boxes, sheet))
    blocks = [*opening, *(piece.block for piece in pieces)]
    sign = _overleaf("", sheet).height
    high = sum(block.height for block in blocks) + (sign if more else 0)
    page = sheet.whole_page - (0 if opening else _heading(joint, _("continued"), sheet).height)
    if len(pieces) < 4 or high <= page:
        if not opening and high > sheet.room:
            _turn(joint, _("CONTINUED: {row}", row=_called(row)), row.position, sheet)
        sheet.ensure(min(high, sheet.whole_page))
        sheet.keep(blocks)
    else:
        _divided(joint, boxed, pieces, opening, sheet)
        if more and sign > sheet.room:
            sheet.new_page()
    sheet.repeat = partial(_again, joint, _("continued"))


def _turn(joint: TightenJointView, after: str, called: str, sheet: Sheet) -> None:
    """Over to the next page, and both pages say so."""
    sign = _overleaf(called, sheet)
    if sign.height <= sheet.room:
        sheet.keep([sign])
    sheet.repeat = partial(_again, joint, after)
    sheet.new_page()


def _divided(
    joint: TightenJointView,
    boxed: tuple[TightenRowView, Boxes],
    pieces: list[Piece],
    opening: list[Block],
    sheet: Sheet,
) -> None:
    """The head of a row with its first stage, and its source with the last, over several pages.

    How its fasteners and stages follow each other is told on each of them.
    """
    row, boxes = boxed
    first, *rest = [pieces[:2], *([piece] for piece in pieces[2:-2]), pieces[2:][-2:]]
    sign = _overleaf("", sheet).height
    start = [*opening, *(piece.block for piece in first)]
    high = sign + sum(block.height for block in start)
    if not opening and high > sheet.room:
        _turn(joint, _("CONTINUED: {row}", row=_called(row)), row.position, sheet)
    sheet.ensure(min(high, sheet.whole_page))
    sheet.keep(start)
    for part in rest:
        height = sum(piece.block.height for piece in part)
        if height + (0 if part is rest[-1] else sign) > sheet.room:
            called = part[0].called
            told = _("CONTINUED: {row}, {stage}", row=_called(row), stage=called)
            _turn(joint, told, called, sheet)
            sheet.keep(order_blocks(row, boxes, sheet))
        sheet.keep([piece.block for piece in part])


def _overleaf(called: str, sheet: Sheet) -> Block:
    """The foot of a page that a row, or a joint, runs over."""
    text = Part(_("CONTINUES OVERLEAF: {what}", what=called), 11, bold=True, lines=1)
    return sheet.cells([Cell(0, sheet.width, (text,))])


def _called(row: TightenRowView) -> str:
    """A position at the head of a page that its row runs over to."""
    return f"{row.position}, {_(LEFT_HAND)}" if row.left_hand else row.position


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


def _paint_heading(bag: int, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height * MM
    x, y = sheet.point(0, words.height)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high)
    canvas.rect(x, y, _BAG * MM, high, stroke=1, fill=1)
    number = fit(
        _("BAG {number}", number=bag), ((_BAG - 2) * MM, high), (14, 9), bold=True, lines=2
    )
    width = max((width_of(line, number.size, True) for line in number.lines), default=0.0)
    canvas.saveState()
    canvas.setFillGray(1)
    draw(canvas, x + (_BAG * MM - width) / 2, y + (high + number.height) / 2, number)
    canvas.restoreState()
    words.draw(sheet)
