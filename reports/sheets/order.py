"""The order sheet: what to read to the supplier over the phone, and to check when it comes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from functools import partial
from typing import BinaryIO

from kitting.facts.words import OrderState
from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import ASCENT, MM, THINNEST, draw, fit, width_of
from kitting.views.orders import OrderLineView, OrderView
from kitting.wording.figures import format_quantity, listed, many, money
from kitting.wording.language import _
from kitting.wording.purchasing import sums, tax_of_order

# Columns in mm: the part from the left margin; packs, price and return count from the right.
_PART = 11.0
_PACKS, _PRICE, _RETURN = 98.0, 55.0, 25.0
# What is written when the goods come: names and their share of the width.
_CAME = (("good", 1.0), ("damaged", 1.2), ("wrong", 1.0), ("lot", 2.2))
_STRIP = 9.0


def draw_order(
    view: OrderView,
    target: BinaryIO,
    paper: str = "A4",
    *,
    cutoff: datetime | None = None,
    inside: bool = False,
) -> int:
    """Write an order sheet as PDF; returns the number of pages.

    A copy that stays `inside` the house says who waits for a line; what the supplier gets does
    not. `cutoff` is the time before which it was placed, where that is known. Raises KittingError
    for an unknown paper.
    """
    about = f"{view.supplier_name} · for {view.branch} · placed {_time(view.placed_at)}"
    heading = Heading("Order", view.number, about, ())
    return render(target, paper, heading, partial(_body, view, cutoff, inside))


def _time(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}"


def _day(day: date) -> str:
    return f"{day:%a} {day}"


def _body(view: OrderView, cutoff: datetime | None, inside: bool, sheet: Sheet) -> None:
    count = many(len(view.lines), "line")
    before = f", before the cut-off at {_time(cutoff)}" if cutoff is not None else ""
    sheet.text(f"ORDER {view.number}", 20, bold=True, lines=1, gap=0.5)
    sheet.text(f"{view.supplier_name} ({view.supplier})", 14, bold=True, gap=1)
    sheet.text(f"for branch {view.branch} · {count} · {view.state}", 11, bold=True, gap=1)
    sheet.text(f"placed {_time(view.placed_at)}{before}", 10, gap=0.3)
    sheet.text(f"due {_day(view.due)} · late after {_day(view.due_late)}", 11, bold=True, gap=2)
    if view.state is OrderState.CANCELLED:
        sheet.box("CANCELLED", ("This order is cancelled: accept nothing on it before asking.",))
    if inside:
        sheet.text(_("INSIDE COPY: it stays in the house"), 11, bold=True, gap=1)
    _phone(sheet)
    sheet.y += 1
    if view.lines:
        _lines(view.lines, inside, sheet)
    else:
        sheet.text("Nothing is ordered.", 10)
    _totals(view, sheet)
    _signatures(sheet)


def _phone(sheet: Sheet) -> None:
    sheet.blanks((_("date made"), _("ordered by"), _("confirmed by")))
    sheet.blanks((_("supplier's order number"), _("confirmed for")))


def _signatures(sheet: Sheet) -> None:
    sheet.ensure(20)
    sheet.y += 2
    sheet.blanks(("received by", "date", "checked by"))
    sheet.blanks(("delivery note", "remarks"))


def _lines(lines: Sequence[OrderLineView], inside: bool, sheet: Sheet) -> None:
    first = sum(block.height for block in _blocks(lines[0], inside, sheet))
    # The headings never stand alone at the foot of a page.
    sheet.ensure(6.0 + first)
    _headings(sheet)
    sheet.repeat = _headings
    for line in lines:
        sheet.keep(_blocks(line, inside, sheet))
        sheet.line()
    sheet.repeat = None


def _headings(sheet: Sheet) -> None:
    places = ((0.0, 10.0, "CAME"), (_PART, 60.0, "PART NUMBER, ITEM"),
              (sheet.width - _PACKS, _PACKS - _PRICE - 2, "PACKS × PACK → QUANTITY"),
              (sheet.width - _PRICE, _PRICE - _RETURN - 2, "PRICE, TOTAL"),
              (sheet.width - _RETURN, _RETURN, "RETURN"))  # fmt: skip
    sheet.row([Cell(x, wide, (Part(text, 8, bold=True, lines=1),)) for x, wide, text in places], 6)


def _blocks(line: OrderLineView, inside: bool, sheet: Sheet) -> list[Block]:
    """A line with its box to tick, and what is written below it when the goods come."""
    right = sheet.width
    returns = Part("may go back", 8.5) if line.returnable else Part("NO RETURN", 9.5, True, 1)
    row = sheet.cells(
        [
            Cell(_PART, right - _PACKS - _PART - 3, tuple(_part(line, inside))),
            Cell(right - _PACKS, _PACKS - _PRICE - 2, tuple(_packs(line))),
            Cell(right - _PRICE, _PRICE - _RETURN - 2, tuple(_price(line))),
            Cell(right - _RETURN + 1, _RETURN, (returns,), frame=not line.returnable),
        ],
        TICK + 2,
    )
    return [Block(row.height, partial(_paint_row, row)), Block(_STRIP, _paint_strip)]


def _part(line: OrderLineView, inside: bool) -> list[Part]:
    parts = [
        Part(line.part, 16, bold=True, lines=2, smallest=11),
        Part(f"{line.item} · {line.name}", 9.5, lines=4),
    ]
    if line.kept:
        parts.append(Part("KEPT of what came too much: do not order", 9, bold=True, lines=2))
    if inside and line.promised:
        told = _("waited for by {bookings}", bookings=listed(line.promised))
        parts.append(Part(told, 9, bold=True, lines=3))
    return parts


def _packs(line: OrderLineView) -> list[Part]:
    ordered = format_quantity(line.ordered, line.unit)
    # A pack that does not come out whole is not told, rather than told wrongly.
    whole = line.packs > 0 and line.ordered % line.packs == 0
    pack = f" × {format_quantity(line.ordered // line.packs, line.unit)}" if whole else " packs"
    parts = [Part(f"{line.packs}{pack} → {ordered}", 13, bold=True, lines=3, smallest=10)]
    for amount, word in ((line.received, "received"), (line.lost, "lost or refused")):
        if amount:
            parts.append(Part(f"{format_quantity(amount, line.unit)} {word}", 9))
    return parts


def _price(line: OrderLineView) -> list[Part]:
    return [
        Part(money(line.total), 11, bold=True, lines=2, smallest=8),
        Part(f"{money(line.price)} a pack", 9, lines=2),
    ]


def _paint_row(row: Block, sheet: Sheet) -> None:
    row.draw(sheet)
    sheet.tick_box(0.5, 1.4)


def _paint_strip(sheet: Sheet) -> None:
    share = (sheet.width - _PART) / sum(part for _, part in _CAME)
    start = _PART
    sheet.canvas.setLineWidth(THINNEST)
    for name, part in _CAME:
        label = fit(name, (30 * MM, 20), (9, 7.5), lines=1)
        x, top = sheet.point(start, _STRIP - 5)
        draw(sheet.canvas, x, top, label)
        foot = top - ASCENT * label.size - 1
        written = x + width_of(name, label.size) + 3
        sheet.canvas.line(written, foot, x + (part * share - 3) * MM, foot)
        start += part * share


def _totals(view: OrderView, sheet: Sheet) -> None:
    rows = [
        sheet.cells(
            [
                Cell(sheet.width - _PACKS, _PACKS - _PRICE - 2, (Part(name, size, bold, 1),)),
                Cell(sheet.width - _PRICE, _PRICE, (Part(money(total), size, bold, 2, 8),)),
            ]
        )
        for name, total, size, bold in (
            *((name, some, 10.0, False) for name, some in sums(view)),
            ("TOTAL", view.total, 14.0, True),
        )
    ]
    sheet.y += 1
    sheet.keep(rows)
    sheet.text(tax_of_order(view), 8, lines=2)
    sheet.line(0.8)
