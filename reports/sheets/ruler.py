"""The test page of a label stock: what the printer is off is read from it with a steel rule."""

from __future__ import annotations

from typing import Any, BinaryIO

from kitting.reports.document import new_canvas
from kitting.reports.labels.column import Column
from kitting.reports.stationery import LabelStock
from kitting.reports.text import MM, THINNEST


def draw_ruler(
    stock: LabelStock, target: BinaryIO, *, offset: tuple[float, float] = (0.0, 0.0)
) -> None:
    """Write a test page: the outline of every label, its number, and rulers in mm.

    Raises KittingError for an offset that leaves the paper.
    """
    stock.require_on_paper(offset)
    title = f"Ruler page for {stock.key}"
    canvas = new_canvas(target, stock.page_width, stock.page_height, title)
    for number in range(stock.per_page):
        place = stock.place(number, offset=offset)
        x, y = place.x * MM, place.y * MM
        width, height = stock.width * MM, stock.height * MM
        canvas.setLineWidth(THINNEST)
        canvas.rect(x, y, width, height, stroke=1, fill=0)
        for eyelet in stock.eyelets:
            canvas.circle(x + eyelet.x * MM, y + eyelet.y * MM, eyelet.diameter / 2 * MM)
        _ticks(canvas, x, y, stock)
        # Clear of the ticks at the left and at the foot, and of eyelets.
        left = max(9.0, stock.area.left)
        column = Column(
            canvas, x + left * MM, y + height - 3 * MM, width - (left + 3) * MM, y + 8 * MM, 7.0
        )
        column.put(f"{number + 1}", 16, bold=True)
        column.put(stock.name, 8, lines=2)
        column.put(f"moved {offset[0]:g} mm right, {offset[1]:g} mm up", 7, lines=2)
        column.put("print at 100 %, not fitted to the page", 7, lines=2)
    canvas.save()


def _ticks(canvas: Any, x: float, y: float, stock: LabelStock) -> None:
    canvas.setLineWidth(THINNEST)
    for along in range(1, int(stock.width)):
        canvas.line(x + along * MM, y, x + along * MM, y + _length(along) * MM)
    for along in range(1, int(stock.height)):
        canvas.line(x, y + along * MM, x + _length(along) * MM, y + along * MM)
    for tens in range(10, int(stock.width) - 3, 10):
        _figure(canvas, x + tens * MM + 0.8, y + 6.5 * MM, tens)
    for tens in range(10, int(stock.height) - 3, 10):
        _figure(canvas, x + 4.5 * MM, y + tens * MM + 2.5, tens)


def _figure(canvas: Any, x: float, top: float, tens: int) -> None:
    Column(canvas, x, top, 8 * MM, top - 9, 7.0).put(str(tens), 7)


def _length(along: int) -> float:
    return 4.0 if along % 10 == 0 else 2.5 if along % 5 == 0 else 1.5
