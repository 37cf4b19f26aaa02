"""The pick list: what to take from which bin, in the order of the bins."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.reports.sheet import Cell, Heading, Part, Sheet, render
from kitting.reports.wording import sign
from kitting.views import PickLine, PickView

_ROW = 9.0
# Columns in mm: tick, bin, amount, item from the left margin; rule and bags count from the right.
_BIN, _AMOUNT, _ITEM = 11.0, 29.0, 54.0
_SIGN, _RULE, _BAGS = 43.0, 38.0, 17.0


def draw_pick_list(pick: PickView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a pick list as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    about = f"{pick.vehicle} · fitting date {pick.on}"
    heading = Heading("Pick list", pick.reference, about, pick.cautions)
    return render(target, paper, heading, partial(_body, pick))


def _body(pick: PickView, sheet: Sheet) -> None:
    count = f"{len(pick.lines)} line{'s' * (len(pick.lines) != 1)}"
    sheet.text(f"PICK LIST  kit {pick.reference}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(f"{pick.vehicle} · fitting date {pick.on} · {count}", 11, bold=True, gap=1.2)
    for job in pick.jobs:
        sheet.text(job, 10, gap=0.3)
    sheet.y += 1.5
    sheet.box("LEFT OFF THIS LIST", pick.stopped)
    sheet.blanks(("picked by", "date", "checked by"))
    sheet.y += 1
    _headings(sheet)
    sheet.repeat = _headings
    for line in pick.lines:
        _row(sheet, line)
    if not pick.lines:
        sheet.text("Nothing has to be taken.", 10)
    sheet.cautions()


def _headings(sheet: Sheet) -> None:
    sheet.row(
        [
            _heading(_BIN, "BIN"),
            _heading(_AMOUNT, "TAKE"),
            _heading(_ITEM, "ITEM"),
            _heading(sheet.width - _RULE, "RULE"),
            _heading(sheet.width - _BAGS, "BAG"),
        ],
        6.0,
    )


def _heading(x: float, text: str) -> Cell:
    return Cell(x, 17, (Part(text, 8, bold=True, lines=1),))


def _row(sheet: Sheet, line: PickLine) -> None:
    item_width = sheet.width - _ITEM - _SIGN - 3
    right = sheet.width
    bags = ", ".join(map(str, line.bags)) or "kit"
    sheet.row(
        [
            Cell(_BIN, 17, (Part(line.bin or "no bin", 10, lines=2),)),
            Cell(_AMOUNT, 24, (Part(line.amount, 13, bold=True, lines=3, smallest=9),)),
            Cell(_ITEM, item_width, _item(line)),
            Cell(right - _SIGN, 5, (Part(sign(line.rule), 10, lines=1),)),
            Cell(right - _RULE, 20, (Part(line.rule.upper(), 9.5, bold=True, lines=1),)),
            Cell(right - _BAGS, 17, (Part(bags, 9.5, lines=3),)),
        ],
        _ROW,
        tick=True,
    )


def _item(line: PickLine) -> tuple[Part, ...]:
    about = f"{line.name} · {line.detail}" if line.detail else line.name
    parts = [Part(line.item, 10.5, bold=True, lines=1), Part(about, 9, lines=6)]
    if line.notes:
        parts.append(Part(" · ".join(line.notes), 9, lines=6))
    return tuple(parts)
