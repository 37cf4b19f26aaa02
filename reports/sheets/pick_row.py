"""A row of the pick list: the bin largest, what to take, and room to write what was taken."""

from __future__ import annotations

import re
from functools import partial

from kitting.reports.drawings.photos import photo_row
from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.text import LEADING, MM, Fitted, draw, fit, printable, width_of
from kitting.reports.wording import sign
from kitting.views.bookings import PromisedView
from kitting.views.kit import ContentView, PickLine
from kitting.views.photos import Photograph
from kitting.wording.language import _
from kitting.wording.pick_list import (
    bags_texts,
    detail_texts,
    lacking_texts,
    lot_texts,
    needed_text,
    note_texts,
    picked_text,
    rule_text,
    take_text,
    tray_text,
)

# Columns in mm: bin, amount and item from the left margin; the others count from the right.
_BIN, _TAKE, _ITEM = 0.5, 36.0, 67.0
_BIN_WIDE, _TAKE_WIDE = _TAKE - _BIN - 3, _ITEM - _TAKE - 2
_BAGS, _TAKEN, _BACK = 59.0, 29.0, 14.5
_BAGS_WIDE = _BAGS - _TAKEN - 2
# What is written by hand needs a box of at least 7 mm.
_BOX, _BOX_HIGH, _LEAST = 13.0, 9.0, 11.5
# A line between rows that a copy of a copy still has (points).
_LINE = 0.8
# Sizes in points: of what one looks for first down to what is read last.
_BIN_SIZE, _BIN_LEAST, _TAKE_SIZE, _LOT_CODE, _LOT_SIZE = 17.0, 12.0, 14.0, 11.0, 9.5


def headings(sheet: Sheet, *, booked: bool) -> None:
    """The names of the columns, at the head of the rows and again on every page."""
    right = sheet.width
    names = [
        _heading(_BIN, _BIN_WIDE, _("BIN")),
        _heading(_TAKE, _TAKE_WIDE, _("TAKE") if booked else _("NEEDED")),
        _heading(_ITEM, right - _BAGS - _ITEM - 4, _("ITEM")),
        _heading(right - _BAGS, _BAGS_WIDE, _("INTO")),
        _heading(right - _TAKEN, _BOX + 1, _("TAKEN")),
        _heading(right - _BACK, _BOX + 1, _("BACK")),
    ]
    sheet.keep([sheet.cells(names, 6.0)])
    sheet.line(_LINE)


def _heading(x: float, width: float, text: str) -> Cell:
    return Cell(x, width, (Part(text, 8, bold=True, lines=2, smallest=6.5),))


def row(sheet: Sheet, line: PickLine, photo: Photograph | None, *, booked: bool) -> None:
    """Draw a row; it is not divided by the end of a page."""
    to_take = [lot for lot in line.lots if lot.quantity > lot.picked]
    # Of several lots each has boxes of its own: what is left of one is not that of another.
    apart = len(to_take) > 1
    single = _single(line)
    boxes = not apart and (not booked or bool(line.lots))
    blocks = [_head(sheet, line, single, booked=booked, boxes=boxes)]
    if single is None:
        for lot in line.lots:
            blocks.append(_lot(lot, line.content, sheet, boxes=apart and lot in to_take))
    blocks += [_framed(text, sheet) for text in lacking_texts(line)]
    if photo is not None:
        blocks.append(photo_row([photo], sheet, _ITEM))
    if len(blocks) > 1:
        blocks.append(Block(1.2, lambda sheet: None))
    sheet.keep(blocks)
    sheet.line(_LINE)


def _single(line: PickLine) -> PromisedView | None:
    """The only lot of a row, if its code finds room below the amount on one line."""
    if len(line.lots) != 1:
        return None
    lot = line.lots[0]
    wide = width_of(printable(_lot_named(lot)), _LOT_CODE, bold=True)
    return lot if wide <= _TAKE_WIDE * MM else None


def _lot_named(lot: PromisedView) -> str:
    return _("lot {lot}", lot=lot.lot)


def _head(
    sheet: Sheet, line: PickLine, lot: PromisedView | None, *, booked: bool, boxes: bool
) -> Block:
    right = sheet.width
    item_wide = right - _BAGS - _ITEM - 4
    cells = sheet.cells(
        [
            Cell(_BIN, _BIN_WIDE, _bin(line, walk=boxes or bool(line.take))),
            Cell(_TAKE, _TAKE_WIDE, _amount(line, lot, booked=booked)),
            Cell(_ITEM, item_wide, _item(line)),
            Cell(right - _BAGS, _BAGS_WIDE, _into(line)),
        ],
        _LEAST,
    )
    done = _("ALL") if booked and not line.take and line.picked and line.complete else ""

    def paint(sheet: Sheet) -> None:
        cells.draw(sheet)
        if boxes:
            _paint_boxes(sheet, done)

    return Block(cells.height, paint)


def _bin(line: PickLine, *, walk: bool) -> tuple[Part, ...]:
    """The bin, parted where its name has a sign; small where nobody has to walk to it."""
    if line.bin is None:
        return (Part(_("no bin"), 12, bold=walk, lines=3, smallest=9),)
    if not walk:
        return (Part(line.bin, 11, lines=9, smallest=9),)
    pieces = re.findall(r"[^-/. ]*[-/. ]?", printable(line.bin))
    longest = max(width_of(piece.strip(), 1, bold=True) for piece in pieces)
    size = min(_BIN_SIZE, _BIN_WIDE * MM / longest)
    if size < _BIN_LEAST:
        return (Part(line.bin, _BIN_SIZE, bold=True, lines=9, smallest=9),)
    rows = [""]
    for piece in pieces:
        if width_of((rows[-1] + piece).strip(), size, bold=True) > _BIN_WIDE * MM + 0.01:
            rows.append("")
        rows[-1] += piece
    return tuple(Part(text.strip(), size, bold=True, lines=1, smallest=9) for text in rows)


def _amount(line: PickLine, lot: PromisedView | None, *, booked: bool) -> tuple[Part, ...]:
    large, small = take_text(line) if booked else needed_text(line.content)
    size = _TAKE_SIZE if line.take or not booked else 11
    parts = [Part(large, size, bold=True, lines=6, smallest=8)]
    if small:
        parts.append(Part(f"({small})", 9, lines=4))
    if line.picked:
        parts.append(Part(picked_text(line), 9, bold=True, lines=8))
    if lot is not None:
        parts.append(Part(_lot_named(lot), _LOT_CODE, bold=True, lines=1))
        if after := lot_texts(lot, line.content)[2]:
            parts.append(Part(after, 9, lines=12))
    return tuple(parts)


def _item(line: PickLine) -> tuple[Part, ...]:
    content = line.content
    parts = [
        Part(content.item, 11, bold=True, lines=4, smallest=8.5),
        Part(content.name, 9.5, lines=8),
    ]
    about = " · ".join((*detail_texts(content), *note_texts(line)))
    if about:
        parts.append(Part(about, 9, lines=30))
    return tuple(parts)


def _into(line: PickLine) -> tuple[Part, ...]:
    """Rule, and the bags with how much goes into each: never cut."""
    rule = line.content.rule
    parts = [
        Part(f"{sign(rule)} {rule_text(rule)}".strip(), 9.5, bold=True, lines=3),
        *(Part(text, 9.5, lines=60) for text in bags_texts(line)),
    ]
    if tray := tray_text(line):
        parts.append(Part(tray, 9.5, bold=True, lines=9))
    return tuple(parts)


def _paint_boxes(sheet: Sheet, done: str = "") -> None:
    """A box to write into what was taken, and one for what came back."""
    sheet.canvas.setLineWidth(0.8)
    for left in (sheet.width - _TAKEN, sheet.width - _BACK):
        x, y = sheet.point(left, 1 + _BOX_HIGH)
        sheet.canvas.rect(x, y, _BOX * MM, _BOX_HIGH * MM, stroke=1, fill=0)
    if done:
        words = fit(done, ((_BOX - 2) * MM, _BOX_HIGH * MM), (11, 7), bold=True, lines=1)
        x, top = sheet.point(sheet.width - _TAKEN + 1, 1)
        draw(sheet.canvas, x, top - (_BOX_HIGH * MM - words.height) / 2, words)


def _lot(lot: PromisedView, content: ContentView, sheet: Sheet, *, boxes: bool) -> Block:
    """From which lot: its code bold, since it is compared letter by letter with the packet."""
    wide = sheet.width - _TAKEN - 2 - _TAKE
    words = lot_texts(lot, content)
    pieces = [(part, n == 1) for n, part in enumerate(words) if part]
    texts = [
        fit(part, (wide * MM, 16), (_LOT_CODE if bold else _LOT_SIZE, 9), bold=bold, lines=1,
            squeeze=1.0)
        for part, bold in pieces
    ]  # fmt: skip
    gap = 0.5 * _LOT_SIZE
    across = [width_of("".join(one.lines), one.size, one.bold) for one in texts]
    fits = not any(one.cut for one in texts) and sum(across) + 2 * gap <= wide * MM
    if fits:
        block = Block(LEADING * _LOT_CODE / MM + 1.6, partial(_paint_lot, texts, across, gap))
    else:
        whole = Part(" ".join(part for part, bold in pieces), _LOT_SIZE, bold=True, lines=30)
        block = sheet.cells([Cell(_TAKE, wide, (whole,))])
    if not boxes:
        return block

    def paint(sheet: Sheet) -> None:
        block.draw(sheet)
        _paint_boxes(sheet)

    return Block(max(block.height, _LEAST - 0.5), paint)


def _paint_lot(texts: list[Fitted], across: list[float], gap: float, sheet: Sheet) -> None:
    x, top = sheet.point(_TAKE, 1)
    for one, wide in zip(texts, across, strict=True):
        draw(sheet.canvas, x, top - 0.93 * (_LOT_CODE - one.size), one)
        x += wide + gap


def _framed(text: str, sheet: Sheet) -> Block:
    """What is not here, in a frame; it is not to be looked for in the bin."""
    words = Part(text, 11, bold=True, lines=40, smallest=9)
    return sheet.cells([Cell(_TAKE + 1, sheet.width - _TAKE - 3, (words,), frame=True)])
