"""What is put on and has to set, in a frame: at its joint, or at the fastener that it is for."""

from __future__ import annotations

from functools import partial

from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.text import MM
from kitting.views.tightening import PutOnView
from kitting.wording.language import _
from kitting.wording.reasons import say
from kitting.wording.tightening import amount_text, times_text


def put_on_block(laid: PutOnView, sheet: Sheet) -> Block:
    """A framed line: what is put on and how much, and how long to work it and to wait."""
    told = _("PUT ON {item} {name}: {amount}", item=laid.item, name=laid.name,
             amount=amount_text(laid))  # fmt: skip
    parts: tuple[Part, ...] = (
        Part(told, 10, bold=True, lines=6, smallest=8),
        Part(times_text(laid.times), 10.5, bold=True, lines=6, smallest=9),
    )
    if laid.laying is not None:
        parts = (*parts, Part(say(laid.laying), 9.5, lines=6, smallest=8))
    words = sheet.cells([Cell(3, sheet.width - 6, parts)])
    return Block(words.height + 2, partial(_paint_frame, words))


def _paint_frame(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.canvas.setLineWidth(1.2)
    corner = sheet.point(0, words.height)
    sheet.canvas.rect(*corner, sheet.width * MM, words.height * MM, stroke=1, fill=0)
