"""The refit sheet: bag by bag, what goes in at a joint, how it is closed, a box for every step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import BinaryIO

from kitting.reports.drawings.pattern import pattern_blocks
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.flow import Unit, flow
from kitting.reports.sheets.joint_units import joint_units
from kitting.reports.sheets.put_on import put_on_block
from kitting.reports.sheets.refit_rows import (
    bag_head,
    end_row,
    frame,
    framed,
    line_row,
    ports_row,
    step_use_row,
    tick_row,
    title,
    use_row,
)
from kitting.views.refit import RefitBagView, RefitView, StepUseView
from kitting.wording.cautions import own_text, title_text
from kitting.wording.figures import day
from kitting.wording.language import N_, _
from kitting.wording.refit import bag_text, closed_text, nothing_text, short_texts
from kitting.wording.tightening import TIMES_REMARK, put_on_text
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_PRACTICE = N_(
    "Common practice, no source: open one bag at a time, and the next when this one is empty. Look"
    " that the old seal is out and the seat clean before a new one goes on. Start every fastener by"
    " hand. Tick each step when it is done, not before."
)
# Room for the sign that something goes on overleaf, in mm.
_SIGN = 8.0


def draw_refit(view: RefitView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a refit sheet as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    heading = Heading(_("Refit"), _name(view), _about(view), view.cautions, jobs=view.jobs)
    return render(target, paper, heading, partial(_body, view))


def _name(view: RefitView) -> str:
    if view.booking is None:
        return view.reference
    return _("{booking} · kit {kit}", booking=view.booking, kit=view.reference)


def _about(view: RefitView) -> str:
    when = f"{day(view.on)}{when_text(view.slot)}"
    return _("{vehicle} · fitting date {date}", vehicle=view.vehicle, date=when)


def _body(view: RefitView, sheet: Sheet) -> None:
    kit = _("kit {kit}", kit=view.reference) if view.booking is None else _name(view)
    sheet.text(_("REFIT  {kit}", kit=kit), 18, bold=True, lines=2, gap=0.5)
    sheet.text(_about(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    chosen = (
        _("Wrenches from: {boxes}.", boxes=", ".join(view.boxes))
        if view.boxes
        else _("No toolbox is described: no wrench is chosen.")
    )
    sheet.text(f"{chosen} {_('Joints in the order of refitting.')}", 10, gap=0.3)
    sheet.text(_(_PRACTICE), 9, lines=6, gap=1.5)
    if view.put_on or any(bag.tightening and bag.tightening.put_on for bag in view.bags):
        sheet.text(_(TIMES_REMARK), 9, lines=4, gap=1.5)
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, view.doubts)))
    sheet.box(_("PUT ON WHERE NOTHING IS TIGHTENED"), tuple(map(put_on_text, view.put_on)))
    sheet.blanks((_("refitted by"), _("date"), _("checked by")))
    sheet.y += 2
    for place, bag in enumerate(view.bags):
        units = list(_units(view, bag, sheet, first=not place))
        flow(units, partial(_again, bag), sheet, here=not place)
        sheet.y += 6
    if not view.bags:
        sheet.text(_("No joint is opened."), 10)
    _steps(_("USED AT STEPS THAT OPEN NO JOINT"), view, view.step_uses, sheet)
    _steps(_("FILL IN, when every joint above is closed"), view, view.fillings, sheet)
    sheet.cautions()


def _again(bag: RefitBagView, after: str, sheet: Sheet) -> None:
    sheet.keep([bag_head(bag, after, sheet)])


def _steps(name: str, view: RefitView, uses: Sequence[StepUseView], sheet: Sheet) -> None:
    """What is used up apart from the bags, a box each, under its name."""
    opening = title(name, sheet)
    units = list(_titled(name, [step_use_row(view, use, sheet) for use in uses], sheet))
    flow(units, partial(_named_again, opening), sheet)
    if units:
        sheet.y += 4


def _named_again(opening: Block, _after: str, sheet: Sheet) -> None:
    sheet.keep([opening])


def _units(
    view: RefitView, bag: RefitBagView, sheet: Sheet, *, first: bool = False
) -> Iterator[Unit]:
    """Head with what is short and what warns, then a unit for every step.

    The `first` of a sheet begins on its first page, and is parted there for that.
    """
    opening = [bag_head(bag, "", sheet)]
    opening += framed(_("SHORT, OR NOT PROVEN, FOR THIS BAG"), short_texts(view, bag), sheet)
    cautions = [
        _("{title}: {text}", title=title_text(caution), text=own_text(caution))
        for caution in bag.cautions
    ]
    opening += framed(_("CAUTION AT THIS JOINT"), cautions, sheet)
    nothing = nothing_text(bag)
    if nothing is not None:
        words = Part(nothing, 11, bold=True, lines=3)
        opening.append(sheet.cells([Cell(0, sheet.width, (words,))]))
    steps = [
        *_fitting(view, bag, sheet),
        *_tightening(bag, sheet, first=first),
        _closing(bag, sheet),
    ]
    head, *rest = steps
    together = Unit([*opening, *head.blocks], head.called)
    if first and together.height > sheet.room - _SIGN:
        yield Unit(opening[:2], bag_text(bag))
        for block in opening[2:]:
            yield Unit([block], bag_text(bag))
        yield from steps
        return
    if together.height > sheet.whole_page:
        yield Unit(opening, bag_text(bag))
        yield from steps
        return
    yield together
    yield from rest


def _fitting(view: RefitView, bag: RefitBagView, sheet: Sheet) -> Iterator[Unit]:
    """Ports, seals, what is applied, and parts: a box each."""
    if bag.ports:
        yield Unit([ports_row(sheet)], _("ports"))
    steps = [step_use_row(view, use, sheet) for use in bag.step_uses]
    yield from _titled(_("USED FOR THIS STEP"), steps, sheet)
    seals = [end_row(end, sheet) for end in bag.ends]
    seals += [line_row(line, sheet) for line in bag.seals]
    yield from _titled(_("SEALS"), seals, sheet)
    laid = bag.tightening.put_on if bag.tightening is not None else ()
    framed_items = {one.item for one in laid}
    if bag.tightening is not None:
        framed_items |= {one.item for row in bag.tightening.rows for one in row.put_on}
    uses = [put_on_block(one, sheet) for one in laid]
    uses += [use_row(use, sheet) for use in bag.uses if use.item not in framed_items]
    yield from _titled(_("PUT ON"), uses, sheet)
    yield from _titled(_("PARTS"), [line_row(line, sheet) for line in bag.parts], sheet)


def _titled(name: str, rows: list[Block], sheet: Sheet) -> Iterator[Unit]:
    """Rows one by one, the first with their title."""
    for number, row in enumerate(rows):
        yield Unit([row] if number else [title(name, sheet), row], name)


def _tightening(bag: RefitBagView, sheet: Sheet, *, first: bool) -> Iterator[Unit]:
    joint = bag.tightening
    if joint is None:
        return
    opening = [title(_("FASTENERS"), sheet)]
    if joint.drawing is not None:
        opening += pattern_blocks(joint.drawing, sheet)
    page = sheet.whole_page - bag_head(bag, _("continued"), sheet).height - _SIGN
    yield from joint_units(joint, opening, page, sheet, parted=first)


def _closing(bag: RefitBagView, sheet: Sheet) -> Unit:
    """A box for the joint that is closed; none where it has to stay open."""
    words = Part(closed_text(bag), 11, bold=True, lines=3)
    if bag.left_off:
        return Unit([frame(words.text, (), sheet)], words.text)
    return Unit([tick_row((words,), sheet)], words.text)
