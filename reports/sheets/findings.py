"""The findings sheet: what was seen at each position that may go back on, piece by piece."""

from __future__ import annotations

from functools import partial
from typing import BinaryIO

from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, Fitted, draw, fit, width_of
from kitting.views.counted import FindingsView, InspectView
from kitting.wording.findings import (
    HOW_TO_LOOK,
    RESULTS,
    about_text,
    criterion_text,
    group_text,
    kit_text,
    piece_text,
    reasons_text,
    recorded_text,
    recording_text,
    rest_text,
    typed_text,
    what_text,
)
from kitting.wording.language import _
from kitting.wording.verdicts import NOT_FINE, doubt_text

# Widths in mm: the number of the bag, which piece, a result; what is left is for the reason.
_BAG, _PIECE, _RESULT = 22.0, 28.0, 28.0
_ROW = TICK + 2.5
# The number of the bag and the two lines of its code take so much height, in mm.
_CODED = 15.5
# So many pieces have a row of their own.
MOST = 40


def draw_findings(view: FindingsView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a findings sheet as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    heading = Heading(
        _("Findings"), kit_text(view), about_text(view), view.cautions, jobs=view.jobs
    )
    return render(target, paper, heading, partial(_body, view))


def _body(view: FindingsView, sheet: Sheet) -> None:
    sheet.text(_("FINDINGS  {kit}", kit=kit_text(view)), 18, bold=True, lines=1, gap=0.5)
    sheet.text(about_text(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    sheet.text(_(HOW_TO_LOOK), 9, lines=4, gap=1)
    sheet.text(recording_text(), 9, lines=5, gap=1)
    sheet.text(reasons_text(), 9, bold=True, lines=3, gap=1.5)
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, view.doubts)))
    sheet.blanks((_("inspected by"), _("date")))
    sheet.y += 1
    for row in view.rows:
        _position(row, sheet)
    if not view.rows:
        sheet.text(_("Nothing of this kit may go back: there is nothing to inspect."), 10)
    sheet.cautions()


def _position(row: InspectView, sheet: Sheet) -> None:
    """A position with its first piece; where its pieces run over, it is named again."""
    sheet.repeat = None
    drawn = min(row.pieces, MOST)
    pieces = [Block(_ROW, partial(_piece, row, number)) for number in range(1, drawn + 1)]
    if row.pieces > drawn:
        pieces.append(_rest(row.pieces - drawn, sheet))
    head = [_band(row, sheet), _headings(sheet)]
    height = sum(block.height for block in (*head, *pieces))
    if height <= sheet.whole_page / 2:
        sheet.keep([*head, *pieces])
    else:
        sheet.keep([*head, *pieces[:1]])
        sheet.repeat = partial(_again, row)
        for piece in pieces[1:]:
            sheet.keep([piece])
    sheet.repeat = None
    sheet.y += 3


def _again(row: InspectView, sheet: Sheet) -> None:
    bag = _("BAG {number}", number=row.bag)
    told = _("{bag} {position} · continued", bag=bag, position=row.position)
    sheet.text(told, 11, bold=True, lines=3, gap=1)
    sheet.keep([_headings(sheet)])


def _band(row: InspectView, sheet: Sheet) -> Block:
    """The number of the bag white on black; position, criterion in full, what was recorded."""
    told = [
        Part(row.position, 12, bold=True, lines=4, smallest=10),
        Part(what_text(row), 9, lines=4),
        Part(criterion_text(row), 10, bold=not row.criterion, lines=30),
    ]
    told += [Part(text, 9.5, bold=True, lines=3) for text in (group_text(row),) if text]
    told += [Part(text, 10.5, bold=True, lines=6) for text in (recorded_text(row),) if text]
    told += [Part(text, 8.5, lines=2) for text in (typed_text(row),) if text]
    words = sheet.cells([Cell(_BAG + 3, sheet.width - _BAG - 5, tuple(told))], _CODED)
    return Block(words.height, partial(_paint_band, row, words))


def _paint_band(row: InspectView, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height
    x, y = sheet.point(0, high)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high * MM)
    canvas.rect(x, y, _BAG * MM, high * MM, stroke=1, fill=1)
    canvas.saveState()
    canvas.setFillGray(1)
    number = fit(_("BAG {number}", number=row.bag), ((_BAG - 2) * MM, 30), (13, 7), bold=True,
                 lines=1)  # fmt: skip
    _middle(sheet, number, 2.0)
    kit, dash, bag = row.bag_code.partition("-")
    for down, part in ((8.0, kit), (11.5, dash + bag)):
        _middle(sheet, fit(part, ((_BAG - 2) * MM, 14), (8.5, 6), bold=True, lines=1), down)
    canvas.restoreState()
    words.draw(sheet)


def _middle(sheet: Sheet, text: Fitted, down: float) -> None:
    """Lines in the middle of the field of the bag."""
    x, top = sheet.point(_BAG / 2, down)
    for line in text.lines:
        one = Fitted((line,), text.size, text.bold)
        top = draw(sheet.canvas, x - width_of(line, text.size, text.bold) / 2, top, one)


def _headings(sheet: Sheet) -> Block:
    cells = [
        Cell(
            _PIECE + place * _RESULT,
            _RESULT - 5,
            (Part(_(word).upper(), 8, bold=True, lines=2, smallest=7),),
        )
        for place, word in enumerate(RESULTS.values())
    ]
    left = _reason()
    cells.append(
        Cell(left, sheet.width - left, (Part(_("REASON"), 8, bold=True, lines=1, smallest=7),))
    )
    return sheet.cells(cells, 5.0)


def _reason() -> float:
    """Where the reason begins, in mm from the left margin; it is at least 60 mm wide."""
    return _PIECE + len(RESULTS) * _RESULT


def _piece(row: InspectView, number: int, sheet: Sheet) -> None:
    if row.pieces > 1:
        text = fit(piece_text(number, row.pieces), ((_PIECE - 3) * MM, 26), (9.5, 7.5), bold=True,
                   lines=2)  # fmt: skip
        draw(sheet.canvas, *sheet.point(1, 2.2), text)
    for place in range(len(RESULTS)):
        sheet.tick_box(_PIECE + place * _RESULT + 1, 1)
    x, y = sheet.point(_reason(), TICK + 1)
    sheet.canvas.setLineWidth(0.8)
    sheet.canvas.line(x, y, x + (sheet.width - _reason()) * MM, y)


def _rest(pieces: int, sheet: Sheet) -> Block:
    text = Part(rest_text(pieces), 10, bold=True, lines=4)
    words = sheet.cells([Cell(1, sheet.width - 2, (text,))])
    return Block(words.height + _ROW, partial(_paint_rest, words))


def _paint_rest(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    x, y = sheet.point(1, words.height + TICK)
    sheet.canvas.setLineWidth(0.8)
    sheet.canvas.line(x, y, x + (sheet.width - 2) * MM, y)
