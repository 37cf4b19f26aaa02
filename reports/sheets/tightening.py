"""The tightening sheet: joint by joint, every stage of every fastener with boxes to tick."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.reports.drawings.pattern import pattern_blocks
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.flow import flow
from kitting.reports.sheets.joint_units import joint_units
from kitting.reports.sheets.put_on import put_on_block
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tightening import TightenJointView, TightenView
from kitting.wording.figures import day
from kitting.wording.language import N_, _
from kitting.wording.settings import no_figure_texts
from kitting.wording.tightening import TIMES_REMARK, put_on_text
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_PRACTICE = N_(
    "General practice, no source: start every fastener by hand, 2 to 3 turns; loosen in the"
    " reverse of the order of tightening, unless the maker says otherwise."
)
_BAG = 24.0
# Room for the sign that something goes on overleaf, in mm.
_SIGN = 8.0


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
    for place, joint in enumerate(view.joints):
        _joint(joint, sheet, first=not place)
    if not view.joints:
        sheet.text(_("Nothing has to be tightened."), 10)
    sheet.cautions()


def _joint(joint: TightenJointView, sheet: Sheet, *, first: bool) -> None:
    """Drawing and first stage stay together; every page that a joint runs over names it again.

    The `first` of a sheet begins on its first page, and is parted there for that.
    """
    opening = [_heading(joint, "", sheet), *(put_on_block(laid, sheet) for laid in joint.put_on)]
    if joint.drawing is not None:
        opening += pattern_blocks(joint.drawing, sheet)
    page = sheet.whole_page - _heading(joint, _("continued"), sheet).height - _SIGN
    units = list(joint_units(joint, opening, page, sheet))
    if first and sum(unit.height for unit in units) > sheet.room:
        units = list(joint_units(joint, opening, page, sheet, parted=True))
    flow(units, partial(_again, joint), sheet, here=True)
    sheet.repeat = None
    sheet.y += 5


def _again(joint: TightenJointView, after: str, sheet: Sheet) -> None:
    """The head of a page that a joint runs over to."""
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
