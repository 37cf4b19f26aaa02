"""The pick list: what to take from which bin, in the order of the bins."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import BinaryIO

from kitting.reports.sheet import Heading, Sheet, render
from kitting.reports.sheets.pick_row import headings, row
from kitting.views.bookings import Lack
from kitting.views.kit import PickLine, PickView
from kitting.views.photos import NO_PHOTOGRAPHS, Photographs
from kitting.wording.figures import day
from kitting.wording.kit_life import kit_in_text
from kitting.wording.language import N_, _
from kitting.wording.pick_list import (
    NOT_BOOKED,
    awaited_texts,
    boxed_texts,
    counted_text,
    short_texts,
    spare_short_texts,
)
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_LACKING = (
    (N_("SHORT"), short_texts),
    (N_("NOT HERE YET"), awaited_texts),
    (N_("SPARE SHORT: only needed if an inspection fails"), spare_short_texts),
)
# What is still to be done comes first: a list that is printed again shows what is left.
_PARTS: tuple[tuple[str, Callable[[PickLine], bool]], ...] = (
    (N_("TAKE OUT OF THE KIT: it may not be fitted"), lambda line: line.out > 0),
    (N_("TO TAKE"), lambda line: not line.out and line.take > 0),
    (
        N_("NOTHING HERE TO TAKE"),
        lambda line: not line.out and not line.take and not line.picked,
    ),
    (
        N_("PICKED: in the kit already"),
        lambda line: not line.out and not line.take and line.picked > 0,
    ),
)


def draw_pick_list(
    pick: PickView,
    target: BinaryIO,
    paper: str = "A4",
    photographs: Photographs = NO_PHOTOGRAPHS,
) -> int:
    """Write a pick list as PDF, with the photos of its items; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    heading = Heading(_("Pick list"), _reference(pick), _about(pick), pick.cautions, jobs=pick.jobs)
    return render(target, paper, heading, partial(_body, pick, photographs))


def _reference(pick: PickView) -> str:
    """The kit, after the booking where the list is of one."""
    if pick.booking is None:
        return pick.reference
    return _("{booking} · kit {reference}", booking=pick.booking, reference=pick.reference)


def _about(pick: PickView) -> str:
    return _(
        "{vehicle} · fitting date {day}",
        vehicle=pick.vehicle,
        day=f"{day(pick.on)}{when_text(pick.slot)}",
    )


def _title(pick: PickView) -> str:
    if pick.booking is None:
        return _("PICK LIST  kit {reference}", reference=pick.reference)
    return _(
        "PICK LIST  {booking} · kit {reference}", booking=pick.booking, reference=pick.reference
    )


def _body(pick: PickView, photographs: Photographs, sheet: Sheet) -> None:
    sheet.text(_title(pick), 18, bold=True, lines=1, gap=0.5)
    sheet.text(f"{_about(pick)} · {counted_text(pick)}", 11, bold=True, gap=1.2)
    for job in pick.jobs:
        sheet.text(job, 10, gap=0.3)
    if pick.kit_in is not None:
        sheet.text(kit_in_text(pick.kit_in), 11, bold=True)
    sheet.y += 1.5
    _boxes(pick, sheet)
    sheet.blanks((_("picked by"), _("date"), _("checked by")))
    sheet.y += 1
    if pick.booking is None:
        _rows(pick.lines, photographs, sheet, booked=False)
    else:
        for title, belongs in _PARTS:
            lines = tuple(filter(belongs, pick.lines))
            if lines:
                sheet.ensure(30)
                sheet.text(f"{_(title)} · {len(lines)}", 12, bold=True, lines=1, gap=0)
                _rows(lines, photographs, sheet, booked=True)
                sheet.y += 3
    if not pick.lines:
        sheet.text(_("Nothing has to be taken."), 10)
    sheet.cautions()


def _boxes(pick: PickView, sheet: Sheet) -> None:
    """What is not here, in the words of its row; what is not fine; that nothing is promised."""
    for title, texts in _LACKING:
        sheet.box(_(title), boxed_texts(pick.lines, texts))
    # What is on its way has a box of its own, with its order.
    others = (one for one in pick.doubts if one.because.code != Lack.NOT_HERE_YET)
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, others)))
    if pick.booking is None and pick.lines:
        sheet.text(_(NOT_BOOKED), 9.5, bold=True, lines=4, gap=1.5)


def _rows(
    lines: Sequence[PickLine], photographs: Photographs, sheet: Sheet, *, booked: bool
) -> None:
    repeat = partial(headings, booked=booked)
    repeat(sheet)
    sheet.repeat = repeat
    place: str | None = ""
    for line in lines:
        if place not in ("", line.bin):
            # A heavier line where one walks on to another bin.
            sheet.line(1.8)
        place = line.bin
        row(sheet, line, photographs.items.get(line.content.item), booked=booked)
    sheet.repeat = None
