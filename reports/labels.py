"""Labels of a kit: one for the kit, one per bag in the order of refitting, one per ring end."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO

from kitting.reports.codes import code_width, draw_code, draw_qr, qr_side
from kitting.reports.column import Column, sign
from kitting.reports.stationery import LabelStock
from kitting.reports.text import GLUE, MM
from kitting.views import Bag, BagLine, EndLabel, KitView

Offset = tuple[float, float]
_MORE = "+{} more: see the plan"
_COUNT = "count OLD out: ____"
_TIGHTEN = "TIGHTEN"
_FIGURE_AND_UNIT = re.compile(r"(?<=\d) (?=(?:N·m|lbf·ft|lbf·in|kgf·m|kgf·cm)\b)")
_BAR_HEIGHT = 7.5 * MM


@dataclass(frozen=True, slots=True)
class _Sizes:
    """Type sizes in points, by the room a label gives; bench labels are read at arm's length."""

    head: float
    text: float
    smallest: float


def _sizes(stock: LabelStock) -> _Sizes:
    if stock.width >= 99 and stock.height >= 67:
        return _Sizes(18.0, 10.5, 10.0)
    if stock.width >= 70 and stock.height >= 45:
        return _Sizes(14.0, 9.0, 7.5)
    return _Sizes(11.0, 7.5, 6.0)


@dataclass(frozen=True, slots=True)
class _Label:
    """One label to come: the code it bears and what is written on it."""

    code: str
    write: Callable[[Column, _Sizes], None]


def draw_kit_labels(
    kit: KitView,
    stock: LabelStock,
    target: BinaryIO,
    *,
    start: int = 1,
    offset: Offset = (0.0, 0.0),
) -> int:
    """Write the labels of a kit as PDF; returns how many labels there are.

    `start` is the first free label of a begun sheet, counted from 1; `offset` moves everything
    right and up by so many mm. Raises KittingError for a start off the sheet.
    """
    canvas = _canvas(target, stock, f"Labels of kit {kit.reference}")
    page = count = 0
    for number, label in enumerate(_labels(kit)):
        place = stock.place(number, start)
        if place.page > page:
            canvas.showPage()
            page = place.page
        _draw(canvas, stock, label, (place.x + offset[0]) * MM, (place.y + offset[1]) * MM)
        count += 1
    canvas.save()
    return count


def _canvas(target: BinaryIO, stock: LabelStock, title: str) -> Any:
    from reportlab.pdfgen.canvas import Canvas

    size = (stock.page_width * MM, stock.page_height * MM)
    canvas = Canvas(target, pagesize=size, invariant=1)
    canvas.setTitle(title)
    return canvas


def _labels(kit: KitView) -> Iterator[_Label]:
    yield _Label(kit.reference, lambda column, sizes: _write_kit(kit, column, sizes))
    for bag in kit.bags:
        yield _bag_label(kit, bag)
        for end in bag.ends:
            yield _end_label(bag, end)


def _bag_label(kit: KitView, bag: Bag) -> _Label:
    return _Label(bag.code, lambda column, sizes: _write_bag(kit, bag, column, sizes))


def _end_label(bag: Bag, end: EndLabel) -> _Label:
    return _Label(bag.code, lambda column, sizes: _write_end(bag, end, column, sizes))


def _draw(canvas: Any, stock: LabelStock, label: _Label, x: float, y: float) -> None:
    """The QR code takes the lower right corner, bars the foot of large labels, text the rest."""
    sizes, margin = _sizes(stock), stock.margin * MM
    left, foot = x + margin, y + margin
    width, height = (stock.width * MM - 2 * margin), (stock.height * MM - 2 * margin)
    column = Column(canvas, left, foot + height, width, foot, sizes.smallest)
    side = qr_side(label.code, min(width * 0.36, height))
    if side is not None:
        draw_qr(canvas, label.code, left + width - side, foot, side)
        high = sizes.smallest * 1.3
        name = Column(canvas, left + width - side, foot + side + high, side, foot + side, 5.0)
        name.put(label.code, sizes.smallest, bold=True)
        column.corner = (side + MM, foot + side + high)
    bars = code_width(label.code, width - (side or 0.0)) if stock.height >= 60 else None
    if bars is not None:
        draw_code(canvas, label.code, left, foot, bars, _BAR_HEIGHT)
        column.bottom += _BAR_HEIGHT + 1.5 * MM
    label.write(column, sizes)


def _write_kit(kit: KitView, column: Column, sizes: _Sizes) -> None:
    column.put(f"KIT {kit.reference}", sizes.head, bold=True)
    column.put(f"{kit.vehicle}, {kit.on}", sizes.text, bold=True)
    column.put(f"{len(kit.bags)} bags, refit from bag 1 upwards", sizes.text)
    for job in kit.jobs:
        column.put(job, sizes.text)
    for text in kit.stopped:
        column.boxed(text, sizes.text, lines=3)
    if kit.hazards:
        column.boxed(" · ".join(kit.hazards), sizes.text, lines=2)
    signature = "picked by ____________"
    reserve = column.measure(signature, sizes.text).height
    column.bottom += reserve
    column.put_list([_loose_text(line) for line in kit.loose], sizes.text, _MORE, lines=1)
    column.bottom -= reserve
    column.put(signature, sizes.text)


def _loose_text(line: BagLine) -> str:
    packs = f" ({line.detail})" if line.detail else ""
    return f"{line.amount} {line.name}{packs}"


def _write_bag(kit: KitView, bag: Bag, column: Column, sizes: _Sizes) -> None:
    column.put(f"BAG {bag.number} of {len(kit.bags)}", sizes.text, bold=True)
    column.put(bag.joint_name, sizes.head, bold=True, lines=2)
    column.put(f"{kit.vehicle}, {kit.on}", sizes.text)
    column.rule()
    count = f"{_COUNT} of {bag.count_out}" if bag.count_out else None
    reserve = column.measure(count, sizes.text + 1, bold=True).height if count else 0.0
    column.bottom += reserve
    if bag.hazards:
        column.boxed(" · ".join(bag.hazards), sizes.text)
    on_end_labels = {end.item for end in bag.ends}
    texts = [_content_text(line, line.item not in on_end_labels) for line in bag.lines]
    texts += [f"{_TIGHTEN} {_glued(text)}" for text in bag.tightening]
    column.put_list(texts, sizes.text, _MORE, whole=_TIGHTEN)
    column.bottom -= reserve
    if count:
        column.put(count, sizes.text + 1, bold=True)


def _glued(text: str) -> str:
    """A figure is never parted from its unit."""
    return _FIGURE_AND_UNIT.sub(GLUE, text)


def _content_text(line: BagLine, with_lubricant: bool) -> str:
    dry = " FIT DRY" if line.lubricant == "DRY" else ""
    text = f"{sign(line.rule)}{dry} {line.amount} × {line.name}: {line.position}"
    if with_lubricant and line.lubricant and not dry:
        return f"{text} · {line.lubricant}"
    return text


def _write_end(bag: Bag, end: EndLabel, column: Column, sizes: _Sizes) -> None:
    column.put(end.position, sizes.head + 4, bold=True, lines=2)
    if end.end:
        column.put(end.end, sizes.head, bold=True, lines=2)
    what = " ".join(part for part in (end.size, end.material) if part)
    column.put(what or "size not stated", sizes.head - 2, bold=True)
    if end.colour:
        column.put(f"colour as supplied: {end.colour}", sizes.text)
    lubricant = "FIT DRY, no lubricant" if end.lubricant == "DRY" else end.lubricant
    column.put(lubricant, sizes.text, lines=2)
    column.put(f"{sign(end.rule)} {end.quantity} × {end.item}, bag {bag.number}", sizes.text)
    column.put(f"{_COUNT} of {end.quantity}", sizes.text, bold=True)


def draw_ruler(stock: LabelStock, target: BinaryIO, *, offset: Offset = (0.0, 0.0)) -> None:
    """Write a test page: the outline of every label, its number, and rulers in mm."""
    canvas = _canvas(target, stock, f"Ruler page for {stock.key}")
    canvas.setLineWidth(0.4)
    for number in range(stock.per_page):
        place = stock.place(number)
        x, y = (place.x + offset[0]) * MM, (place.y + offset[1]) * MM
        canvas.rect(x, y, stock.width * MM, stock.height * MM, stroke=1, fill=0)
        _ticks(canvas, x, y, stock)
        column = Column(
            canvas,
            x + 8 * MM,
            y + stock.height * MM - 4 * MM,
            (stock.width - 12) * MM,
            y + 8 * MM,
            6.0,
        )
        column.put(f"{number + 1}", 14, bold=True)
        column.put(stock.name, 8, lines=2)
        column.put(f"moved {offset[0]:g} mm right, {offset[1]:g} mm up", 7)
    canvas.save()


def _ticks(canvas: Any, x: float, y: float, stock: LabelStock) -> None:
    for along in range(1, int(stock.width)):
        length = 4.0 if along % 10 == 0 else 2.5 if along % 5 == 0 else 1.5
        canvas.line(x + along * MM, y, x + along * MM, y + length * MM)
    for along in range(1, int(stock.height)):
        length = 4.0 if along % 10 == 0 else 2.5 if along % 5 == 0 else 1.5
        canvas.line(x, y + along * MM, x + length * MM, y + along * MM)
