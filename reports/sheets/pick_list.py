"""The pick list: what to take from which bin, in the order of the bins."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.facts.units import show_quantity
from kitting.reports.drawings.photos import photo_row
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import LEADING, MM, draw, fit, printable, width_of
from kitting.reports.wording import sign
from kitting.views.bookings import PromisedView
from kitting.views.kit import PickLine, PickView
from kitting.views.photos import NO_PHOTOGRAPHS, Photograph, Photographs
from kitting.wording.figures import many
from kitting.wording.kit import (
    amount_text,
    detail_text,
    pick_notes,
    shortage_text,
    taking,
)
from kitting.wording.kit_life import kit_in_text
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_ROW = 9.0
# Columns in mm: tick, bin, amount, item from the left margin; rule and bags count from the right.
_BIN, _AMOUNT, _ITEM = 11.0, 29.0, 54.0
_SIGN, _RULE, _BAGS = 43.0, 38.0, 17.0
# Sizes in points.
_LOT_SIZE, _LOT_CODE = 9.5, 11.0


def draw_pick_list(
    pick: PickView,
    target: BinaryIO,
    paper: str = "A4",
    photographs: Photographs = NO_PHOTOGRAPHS,
) -> int:
    """Write a pick list as PDF, with the photos of its items; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    about = f"{pick.vehicle} · fitting date {pick.on}{when_text(pick.slot)}"
    heading = Heading("Pick list", _reference(pick, ""), about, pick.cautions)
    return render(target, paper, heading, partial(_body, pick, photographs))


def _reference(pick: PickView, before: str) -> str:
    """The kit, after the booking where the list is of one."""
    if pick.booking is None:
        return f"{before}{pick.reference}"
    return f"{pick.booking} · kit {pick.reference}"


def _body(pick: PickView, photographs: Photographs, sheet: Sheet) -> None:
    count = many(len(pick.lines), "line")
    sheet.text(f"PICK LIST  {_reference(pick, 'kit ')}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(
        f"{pick.vehicle} · fitting date {pick.on}{when_text(pick.slot)} · {count}",
        11,
        bold=True,
        gap=1.2,
    )
    for job in pick.jobs:
        sheet.text(job, 10, gap=0.3)
    if pick.kit_in is not None:
        sheet.text(kit_in_text(pick.kit_in), 11, bold=True)
    sheet.y += 1.5
    sheet.box("SHORT", [shortage_text(short) for short in pick.shortages])
    sheet.box(NOT_FINE, tuple(map(doubt_text, pick.doubts)))
    sheet.blanks(("picked by", "date", "checked by"))
    sheet.y += 1
    _headings(sheet)
    sheet.repeat = _headings
    for line in pick.lines:
        _row(sheet, line, photographs.items.get(line.content.item))
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


def _row(sheet: Sheet, line: PickLine, photo: Photograph | None) -> None:
    item_width = sheet.width - _ITEM - _SIGN - 3
    right = sheet.width
    bags = ", ".join(map(str, line.bags)) or "kit"
    if line.trays:
        bags += f" · tray {', '.join(map(str, line.trays))}"
    content = line.content
    cells = [
        Cell(_BIN, 17, (Part(line.bin or "no bin", 10, lines=2),)),
        Cell(_AMOUNT, 24, (Part(amount_text(content), 13, bold=True, lines=3, smallest=9),)),
        Cell(_ITEM, item_width, _item(line)),
        Cell(right - _SIGN, 5, (Part(sign(content.rule), 10, lines=1),)),
        Cell(right - _RULE, 20, (Part(content.rule.upper(), 9.5, bold=True, lines=1),)),
        Cell(right - _BAGS, 17, (Part(bags, 9.5, lines=3),)),
    ]
    below = [_lot(source, content.unit, sheet) for source in line.sources]
    if line.short:
        short = show_quantity(line.short, content.unit)
        below.append(_short(short, item_width, sheet))
    elif below:
        below.append(Block(1.2, lambda sheet: None))
    if photo is not None:
        below.append(photo_row([photo], sheet, _ITEM))
    if not below:
        sheet.row(cells, _ROW, tick=True)
        return
    sheet.keep([_ticked(sheet.cells(cells, _ROW)), *below])
    sheet.line()


def _ticked(block: Block) -> Block:
    def paint(sheet: Sheet) -> None:
        block.draw(sheet)
        sheet.tick_box(0.5, 1)

    return Block(block.height, paint)


def _lot(source: PromisedView, unit: str, sheet: Sheet) -> Block:
    """From which lot: its code bold, since it is compared letter by letter with the packet."""
    room = (sheet.width - _ITEM) * MM
    words = taking(source, unit)
    pieces = [(part.strip(), n == 1) for n, part in enumerate(words)] if words[1] else []
    texts = [
        fit(
            part, (room, 16), (_LOT_CODE if bold else _LOT_SIZE, 9), bold=bold, lines=1, squeeze=1.0
        )
        for part, bold in pieces
        if part
    ]
    gap = 0.3 * _LOT_SIZE
    wide = [width_of("".join(one.lines), one.size, one.bold) for one in texts]
    if not texts or any(one.cut for one in texts) or sum(wide) + 2 * gap > room:
        whole = Part(" ".join(words[:2]).strip() + words[2], _LOT_SIZE, bold=True, lines=8)
        return sheet.cells([Cell(_ITEM, sheet.width - _ITEM, (whole,))])

    def paint(sheet: Sheet) -> None:
        x, top = sheet.point(_ITEM, 0)
        for one, across in zip(texts, wide, strict=True):
            # A comma follows the code at once.
            x -= gap if one.lines[0].startswith(",") else 0
            draw(sheet.canvas, x, top - 0.93 * (_LOT_CODE - one.size), one)
            x += across + gap

    return Block(LEADING * _LOT_CODE / MM + 0.6, paint)


def _short(text: str, width: float, sheet: Sheet) -> Block:
    """What nothing covers yet, in a frame; it is not to be looked for in the bin."""
    shown = f"SHORT {text}"
    words = Part(shown, 11, bold=True, lines=4, smallest=9)
    width = min(width, width_of(printable(shown), words.size, bold=True) / MM + 3)
    return sheet.cells([Cell(_ITEM + 1, width, (words,), frame=True)])


def _item(line: PickLine) -> tuple[Part, ...]:
    content = line.content
    detail, notes = detail_text(content), pick_notes(line)
    about = f"{content.name} · {detail}" if detail else content.name
    parts = [Part(content.item, 10.5, bold=True, lines=1), Part(about, 9, lines=6)]
    if notes:
        parts.append(Part(" · ".join(notes), 9, lines=6))
    return tuple(parts)
