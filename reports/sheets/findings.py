"""The findings sheet: what was seen at each position that may go back on."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.facts.units import format_quantity
from kitting.reports.sheet import Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, draw, fit
from kitting.views.kit import FindingsView, InspectView
from kitting.wording.reasons import as_text
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

# Reasons to write after a failure, short enough for a pencil; our own list.
REASONS = (
    "CT cut", "FL flat", "SW swollen", "HD hard", "CR cracked", "CO corroded", "SP spread",
    "TH thread", "WN worn", "OT other",
)  # fmt: skip
_VERDICTS = ("passed", "failed", "renewed\nunseen")
_BAG, _WHAT, _BOX = 12.0, 14.0, 17.0
_ROW = 13.0


def draw_findings(view: FindingsView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a findings sheet as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    about = f"{view.vehicle} · fitting date {view.on}{when_text(view.slot)}"
    reference = f"{view.booking} · kit {view.reference}"
    heading = Heading("Findings", reference, about, view.cautions)
    return render(target, paper, heading, partial(_body, view))


def _body(view: FindingsView, sheet: Sheet) -> None:
    sheet.text(f"FINDINGS  {view.booking} · kit {view.reference}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(
        f"{view.vehicle} · fitting date {view.on}{when_text(view.slot)}", 11, bold=True, gap=1.2
    )
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    sheet.text(
        "Clean it, let it cool, look in good light. In doubt it fails. 'Renewed unseen' is no"
        " finding: tick it only where nobody looked.", 9, lines=3, gap=1,
    )  # fmt: skip
    sheet.text(f"Reasons: {' · '.join(REASONS)}", 9, bold=True, lines=2, gap=1.5)
    sheet.box(NOT_FINE, tuple(map(doubt_text, view.doubts)))
    sheet.blanks(("inspected by", "date"))
    sheet.y += 1
    _headings(sheet)
    sheet.repeat = _headings
    for row in view.rows:
        _row(row, sheet)
    if not view.rows:
        sheet.text("Nothing of this kit may go back: there is nothing to inspect.", 10)
    sheet.cautions()


def _upper(word: str) -> str:
    return word.replace("\n", " ").upper()


def _boxes(sheet: Sheet) -> float:
    """Where the boxes begin, in mm from the left margin."""
    return sheet.width - len(_VERDICTS) * _BOX - 22


def _headings(sheet: Sheet) -> None:
    start = _boxes(sheet)
    cells = [
        Cell(0, _BAG, (Part("BAG", 8, bold=True, lines=1),)),
        Cell(_WHAT, 60, (Part("POSITION, AND WHAT IT HAS TO SHOW", 8, bold=True, lines=1),)),
        *(
            Cell(start + n * _BOX, _BOX - 1, (Part(_upper(word), 7.5, bold=True, lines=2),))
            for n, word in enumerate(_VERDICTS)
        ),
        Cell(sheet.width - 21, 21, (Part("REASON", 8, bold=True, lines=1),)),
    ]  # fmt: skip
    sheet.row(cells, 7.0)


def _row(row: InspectView, sheet: Sheet) -> None:
    start = _boxes(sheet)
    name = f"{format_quantity(row.quantity, row.unit)} × {row.item} · {row.name} · {row.joint}"
    shows = row.criterion or "no criterion is stated: ask who may decide"
    group = " One fails: all of them are renewed." if row.group else ""
    parts = [
        Part(row.position, 10.5, bold=True, lines=3),
        Part(name, 8.5, lines=3),
        Part(f"{shows} ({as_text(row.said_by)}).{group}", 9, lines=5),
    ]
    if row.recorded:
        why = f": {row.recorded_reason}" if row.recorded_reason else ""
        parts.append(Part(f"RECORDED {row.recorded}{why}", 9, bold=True, lines=2))
    cells = [
        Cell(0, _BAG, (Part(str(row.bag), 12, bold=True, lines=1),)),
        Cell(_WHAT, start - _WHAT - 3, tuple(parts)),
    ]
    block = sheet.cells(cells, _ROW)
    sheet.ensure(block.height)
    for number in range(len(_VERDICTS)):
        sheet.tick_box(start + number * _BOX + 3, 2.5)
    x, y = sheet.point(sheet.width - 21, 10)
    sheet.canvas.setLineWidth(0.7)
    sheet.canvas.line(x, y, x + 21 * MM, y)
    block.draw(sheet)
    if not row.criterion:
        draw(sheet.canvas, *sheet.point(0, 8), fit("?", (8 * MM, 20), (12, 8), bold=True, lines=1))
    sheet.y += block.height
    sheet.line(0.7)
