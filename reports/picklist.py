"""The pick list: what to take from which bin, in the order of the bins."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.reports.column import sign
from kitting.reports.sheet import Cell, Sheet, render
from kitting.views import PickLine, PickView

_ROW = 9.0
# Columns in mm from the left margin: tick, bin, amount, item; rule and bags count from the right.
_BIN, _AMOUNT, _ITEM = 10.0, 27.0, 51.0
_RULE, _BAGS = 44.0, 18.0


def draw_pick_list(pick: PickView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a pick list as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    return render(target, paper, "Pick list", pick.reference, partial(_body, pick))


def _body(pick: PickView, sheet: Sheet) -> None:
    sheet.text(f"PICK LIST  kit {pick.reference}", 18, bold=True, lines=1)
    sheet.text(f"{pick.vehicle}, fitting date {pick.on}", 11, bold=True)
    for job in pick.jobs:
        sheet.text(job, 10, gap=0.3)
    sheet.y += 2
    sheet.box("LEFT OFF THIS LIST", pick.stopped)
    _signatures(sheet)
    _headings(sheet)
    sheet.repeat = _headings
    for line in pick.lines:
        _row(sheet, line)
    sheet.repeat = None
    if not pick.lines:
        sheet.text("Nothing has to be taken.", 10)
    sheet.cautions(pick.cautions)


def _signatures(sheet: Sheet) -> None:
    sheet.text("Picked by ______________________   date ______________   checked by "
               "______________________", 9, lines=1, gap=2)  # fmt: skip


def _headings(sheet: Sheet) -> None:
    sheet.row(
        [
            Cell(_BIN, 16, "BIN", bold=True),
            Cell(_AMOUNT, 23, "TAKE", bold=True),
            Cell(_ITEM, 60, "ITEM", bold=True),
            Cell(sheet.width - _RULE, 25, "RULE", bold=True),
            Cell(sheet.width - _BAGS, 18, "BAG", bold=True),
        ],
        6.0,
    )


def _row(sheet: Sheet, line: PickLine) -> None:
    item_width = sheet.width - _ITEM - _RULE - 2
    about = [line.name, line.detail, *line.notes]
    sheet.row(
        [
            Cell(_BIN, 16, line.bin or "no bin", 9, lines=2),
            Cell(_AMOUNT, 23, line.amount, 13, bold=True, lines=2, smallest=9),
            Cell(_ITEM, item_width, line.item, 10.5, bold=True, lines=1),
            Cell(_ITEM, item_width, " · ".join(t for t in about if t), 8.5, lines=5, drop=4.6),
            Cell(sheet.width - _RULE, 25, sign(line.rule), 9.5, bold=True, lines=1),
            Cell(sheet.width - _BAGS, 18, ", ".join(map(str, line.bags)) or "kit", 9.5, lines=2),
        ],
        _ROW,
        tick=0.5,
    )
