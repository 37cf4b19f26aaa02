"""The order sheet: what the supplier is told, and the copy by which the house checks the goods."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from functools import partial
from typing import BinaryIO

from kitting.facts.words import OrderState
from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import ASCENT, MM, THINNEST, draw, fit, width_of
from kitting.views.orders import OrderLineView, OrderView
from kitting.wording.figures import day, figure, format_quantity, listed, many, money
from kitting.wording.language import N_, _, dated, word_text
from kitting.wording.purchasing import sums, tax_of_order

# Columns in mm: the part from the left margin; packs, price and return count from the right.
_PART = 11.0
_PACKS, _PRICE, _RETURN = 98.0, 55.0, 25.0
# What is written when the goods come: names and their share of the width.
_CAME = ((N_("good"), 1.0), (N_("damaged"), 1.2), (N_("wrong"), 1.0), (N_("lot"), 2.2))
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

    What the supplier gets has addresses, our account and what is ordered. A copy that stays
    `inside` the house says who waits for a line and has room for what came. `cutoff` is the time
    before which it was placed, where that is known. Raises KittingError for an unknown paper.
    """
    told = (
        _("{supplier} · for {branch} · placed {time}", supplier=view.supplier_name,
          branch=view.branch, time=figure(view.placed_at))
        if inside
        else _("{supplier} · for {branch} · made {day}", supplier=view.supplier_name,
               branch=_buyer(view), day=day(view.placed_at.date()))
    )  # fmt: skip
    heading = Heading(_("Order"), view.number, told, ())
    return render(target, paper, heading, partial(_body, view, cutoff, inside))


def _buyer(view: OrderView) -> str:
    return view.branch_name or view.branch


def _day(on: date) -> str:
    return f"{dated(on, '%a')} {day(on)}"


def _body(view: OrderView, cutoff: datetime | None, inside: bool, sheet: Sheet) -> None:
    sheet.text(_("ORDER {number}", number=view.number), 20, bold=True, lines=1, gap=0.5)
    (_inside_head if inside else _outside_head)(view, cutoff, sheet)
    _phone(inside, sheet)
    sheet.y += 1
    if view.lines:
        _lines(view.lines, inside, sheet)
    else:
        sheet.text(_("Nothing is ordered."), 10)
    _totals(view, sheet)
    if inside:
        _signatures(sheet)


def _inside_head(view: OrderView, cutoff: datetime | None, sheet: Sheet) -> None:
    sheet.text(f"{view.supplier_name} ({view.supplier})", 14, bold=True, gap=1)
    count = many(len(view.lines), "line")
    told = _("for branch {branch}", branch=view.branch)
    sheet.text(f"{told} · {count} · {word_text(view.state)}", 11, bold=True, gap=1)
    placed = (
        _("placed {time}", time=figure(view.placed_at))
        if cutoff is None
        else _("placed {time}, before the cut-off at {cutoff}", time=figure(view.placed_at),
               cutoff=figure(cutoff))
    )  # fmt: skip
    sheet.text(placed, 10, gap=0.3)
    due = _("due {day} · late after {late}", day=_day(view.due), late=_day(view.due_late))
    sheet.text(due, 11, bold=True, gap=2)
    if view.state is OrderState.CANCELLED:
        told = _("This order is cancelled: accept nothing on it before asking.")
        sheet.box(_("CANCELLED"), (told,))
    sheet.text(_("INSIDE COPY: it stays in the house"), 11, bold=True, gap=1)


def _outside_head(view: OrderView, cutoff: datetime | None, sheet: Sheet) -> None:
    """Who orders from whom, under which account; what nobody stated is a line to fill in."""
    made = _("date made {day}", day=day(view.placed_at.date()))
    sheet.text(f"{made} · {many(len(view.lines), 'line')}", 11, bold=True, gap=1)
    if view.state is OrderState.CANCELLED:
        sheet.box(_("CANCELLED"), (_("This order is cancelled: send nothing on it."),))
    addressed = (
        (_("TO"), view.supplier_name, view.supplier_address),
        (_("FROM, DELIVER TO"), _buyer(view), view.address),
        (_("INVOICE TO"), "", view.invoice_address),
    )
    share = sheet.width / len(addressed)
    cells = [
        Cell(number * share, share - 4, tuple(_address(*one)))
        for number, one in enumerate(addressed)
    ]
    sheet.row(cells, 10.0)
    unknown = (
        (_("supplier's address"), view.supplier_address),
        (_("delivery address"), view.address),
        (_("invoice address"), view.invoice_address),
        (_("our account number"), view.account),
    )
    if view.account is not None:
        told = _("our account number: {number}", number=view.account)
        sheet.text(told, 11, bold=True, gap=1)
    for name, stated in unknown:
        if stated is None:
            sheet.blanks((name,))


def _address(title: str, name: str, address: str | None) -> Iterator[Part]:
    """An address line by line; the name is not said twice where the address begins with it."""
    yield Part(title, 8, bold=True, lines=1)
    lines = [line for line in (address or "").splitlines() if line.strip()]
    if name and lines[:1] != [name]:
        yield Part(name, 11, bold=True, lines=3, smallest=8)
    for line in lines:
        yield Part(line, 10, lines=2, smallest=8)


def _phone(inside: bool, sheet: Sheet) -> None:
    made = (_("date made"),) if inside else ()
    sheet.blanks((*made, _("ordered by"), _("confirmed by")))
    sheet.blanks((_("supplier's order number"), _("confirmed for")))


def _signatures(sheet: Sheet) -> None:
    sheet.ensure(20)
    sheet.y += 2
    sheet.blanks((_("received by"), _("date"), _("checked by")))
    sheet.blanks((_("delivery note"), _("remarks")))


def _lines(lines: Sequence[OrderLineView], inside: bool, sheet: Sheet) -> None:
    first = sum(block.height for block in _blocks(lines[0], inside, sheet))
    # The headings never stand alone at the foot of a page.
    sheet.ensure(6.0 + first)
    headings = partial(_headings, inside)
    headings(sheet)
    sheet.repeat = headings
    for line in lines:
        sheet.keep(_blocks(line, inside, sheet))
        sheet.line()
    sheet.repeat = None


def _headings(inside: bool, sheet: Sheet) -> None:
    places = [
        (_PART if inside else 0.0, 60.0, _("PART NUMBER, ITEM")),
        (sheet.width - _PACKS, _PACKS - _PRICE - 2, _("PACKS × PACK → QUANTITY")),
        (sheet.width - _PRICE, _PRICE - _RETURN - 2, _("PRICE, TOTAL")),
    ]
    if inside:
        places.insert(0, (0.0, 10.0, _("CAME")))
        places.append((sheet.width - _RETURN, _RETURN, _("RETURN")))
    sheet.row([Cell(x, wide, (Part(text, 8, bold=True, lines=1),)) for x, wide, text in places], 6)


def _blocks(line: OrderLineView, inside: bool, sheet: Sheet) -> list[Block]:
    """A line; inside with its box to tick, and what is written below it when the goods come."""
    right, left = sheet.width, _PART if inside else 0.0
    cells = [
        Cell(left, right - _PACKS - left - 3, tuple(_part(line, inside))),
        Cell(right - _PACKS, _PACKS - _PRICE - 2, tuple(_packs(line, inside))),
        Cell(right - _PRICE, _PRICE - _RETURN - 2, tuple(_price(line))),
    ]
    if not inside:
        return [sheet.cells(cells, TICK + 2)]
    no_return = Part(_("NO RETURN"), 9.5, True, 1)
    returns = Part(_("may go back"), 8.5) if line.returnable else no_return
    cells.append(Cell(right - _RETURN + 1, _RETURN - 2, (returns,), frame=not line.returnable))
    row = sheet.cells(cells, TICK + 2)
    return [Block(row.height, partial(_paint_row, row)), Block(_STRIP, _paint_strip)]


def _part(line: OrderLineView, inside: bool) -> list[Part]:
    ours = f"{line.item} · {line.name}"
    if not line.part:
        parts = [Part(ours, 14, bold=True, lines=3, smallest=10)]
    elif inside:
        parts = [Part(line.part, 16, True, 2, 11), Part(ours, 9.5, lines=4)]
    else:
        told = _("our reference: {item}", item=ours)
        parts = [Part(line.part, 16, True, 2, 11), Part(told, 8, lines=4)]
    if line.kept:
        kept = _("KEPT of what came too much: do not order")
        parts.append(Part(kept, 9, bold=True, lines=2))
    if inside and line.promised:
        told = _("waited for by {bookings}", bookings=listed(line.promised))
        parts.append(Part(told, 9, bold=True, lines=3))
    return parts


def _packs(line: OrderLineView, inside: bool) -> list[Part]:
    ordered = format_quantity(line.ordered, line.unit)
    # A pack that does not come out whole is not told, rather than told wrongly.
    whole = line.packs > 0 and line.ordered % line.packs == 0
    told = (
        f"{line.packs} × {format_quantity(line.ordered // line.packs, line.unit)} → {ordered}"
        if whole
        else _("{count} packs → {quantity}", count=line.packs, quantity=ordered)
    )
    parts = [Part(told, 13, bold=True, lines=3, smallest=10)]
    if inside and line.received:
        amount = format_quantity(line.received, line.unit)
        parts.append(Part(_("{quantity} received", quantity=amount), 9))
    if inside and line.lost:
        amount = format_quantity(line.lost, line.unit)
        parts.append(Part(_("{quantity} lost or refused", quantity=amount), 9))
    return parts


def _price(line: OrderLineView) -> list[Part]:
    return [
        Part(money(line.total), 11, bold=True, lines=2, smallest=8),
        Part(_("{price} a pack", price=money(line.price)), 9, lines=2),
    ]


def _paint_row(row: Block, sheet: Sheet) -> None:
    row.draw(sheet)
    sheet.tick_box(0.5, 1.4)


def _paint_strip(sheet: Sheet) -> None:
    share = (sheet.width - _PART) / sum(part for _, part in _CAME)
    start = _PART
    sheet.canvas.setLineWidth(THINNEST)
    for name, part in _CAME:
        label = fit(_(name), (30 * MM, 20), (9, 7.5), lines=1)
        x, top = sheet.point(start, _STRIP - 5)
        draw(sheet.canvas, x, top, label)
        foot = top - ASCENT * label.size - 1
        written = x + width_of(_(name), label.size) + 3
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
            (_("TOTAL"), view.total, 14.0, True),
        )
    ]
    sheet.y += 1
    sheet.keep(rows)
    sheet.text(tax_of_order(view), 8, lines=2)
    sheet.line(0.8)
