"""Rows of the refit sheet: the head of a bag with its code, and a step with a box to tick."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from kitting.reports.codes import draw_qr, qr_side
from kitting.reports.drawings.blank_lines import blank_lines
from kitting.reports.drawings.rings import (
    CUTS,
    GAP,
    SCALES,
    cut_for,
    outer,
    paint_ring,
    paint_unknown,
    picture,
)
from kitting.reports.sheet import TICK, Block, Cell, Part, Sheet
from kitting.reports.text import MM, THINNEST, draw, fit, width_of
from kitting.views.kit import AppliedView, BagLine, EndLabel
from kitting.views.refit import RefitBagView, RefitEndView, RefitView, StepUseView
from kitting.wording.figures import amount
from kitting.wording.kit import lubricant_text, lubricants_texts, rubber_text
from kitting.wording.language import _
from kitting.wording.refit import (
    bag_text,
    joint_text,
    line_text,
    notes_of,
    rule_text,
    step_use_texts,
    swap_texts,
    use_faults,
)

# Widths in mm: number of the bag, its code; where words begin behind a box, behind a drawing.
_BAG, _CODE, _WORDS, _DRAWN = 30.0, 20.0, TICK + 3.0, 52.0
# The room of a drawing, the widest section and a ring of which nobody states the size, in mm.
_RING_WIDE, _RING_HIGH, _THICK, _UNKNOWN = 38.0, 30.0, 8.0, 14.0
_FIGURES = 8.0
# Texts in one frame: more stand in a further one, which may be on another page.
_IN_FRAME = 5


def bag_head(bag: RefitBagView, after: str, sheet: Sheet) -> Block:
    """The number of the bag white on black, the joint, and on its first page the code to scan."""
    side = None if after else qr_side(bag.code, _CODE * MM)
    beside = (side or 0.0) / MM
    parts = [Part(joint_text(bag), 14, bold=True, lines=3, smallest=10)]
    if after:
        parts.append(Part(after, 11, bold=True, lines=3, smallest=9))
    else:
        parts += [Part(note, 9.5, lines=2) for note in notes_of(bag)]
    if bag.code:
        parts.append(Part(bag.code, 9, bold=True, lines=1))
    room = sheet.width - _BAG - beside - 6
    words = sheet.cells([Cell(_BAG + 3, room, tuple(parts))], max(11.0, beside + 1))
    return Block(words.height + 2, partial(_paint_head, bag, words, side))


def _paint_head(bag: RefitBagView, words: Block, side: float | None, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height * MM
    x, y = sheet.point(0, words.height)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high)
    canvas.rect(x, y, _BAG * MM, high, stroke=1, fill=1)
    number = fit(bag_text(bag), ((_BAG - 3) * MM, high), (20, 8), bold=True, lines=2)
    canvas.saveState()
    canvas.setFillGray(1)
    wide = max((width_of(line, number.size, True) for line in number.lines), default=0.0)
    draw(canvas, x + (_BAG * MM - wide) / 2, y + (high + number.height) / 2, number)
    canvas.restoreState()
    words.draw(sheet)
    if side is not None:
        left = x + sheet.width * MM - side - 1
        draw_qr(canvas, bag.code, left, y + (high - side) / 2, side)


def title(name: str, sheet: Sheet) -> Block:
    """The name of a group of steps."""
    return sheet.cells([Cell(0, sheet.width, (Part(name, 10.5, bold=True, lines=1),))])


def framed(name: str, texts: Sequence[str], sheet: Sheet) -> list[Block]:
    """Texts in a frame under a bold title; many of them in several frames, none where none are."""
    return [
        frame(name, texts[first : first + _IN_FRAME], sheet)
        for first in range(0, len(texts), _IN_FRAME)
    ]


def frame(name: str, texts: Sequence[str], sheet: Sheet) -> Block:
    """A frame with a bold title, and texts below it."""
    parts = [Part(name, 10.5, bold=True, lines=3)]
    parts += [Part(text, 9.5, lines=10) for text in texts]
    words = sheet.cells([Cell(3, sheet.width - 6, tuple(parts))])
    return Block(words.height + 1.5, partial(_paint_frame, words))


def _paint_frame(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.canvas.setLineWidth(1.4)
    sheet.canvas.rect(
        *sheet.point(0, words.height), sheet.width * MM, words.height * MM, stroke=1, fill=0
    )


def tick_row(parts: Sequence[Part], sheet: Sheet) -> Block:
    """A step in words with a box to tick."""
    words = sheet.cells([Cell(_WORDS, sheet.width - _WORDS, tuple(parts))], TICK + 2)
    return Block(words.height, partial(_paint_ticked, words))


def _paint_ticked(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.tick_box(0.5, 1)
    x, y = sheet.point(0, words.height)
    sheet.canvas.setLineWidth(THINNEST)
    sheet.canvas.line(x, y, x + sheet.width * MM, y)


def ports_row(sheet: Sheet) -> Block:
    """Ports that were plugged are opened again, and the plugs counted."""
    told = Part(_("PORTS UNPLUGGED, plugs and caps counted out"), 11, bold=True, lines=2)
    words = sheet.cells([Cell(_WORDS, 110, (told,))], TICK + 2)
    lines = blank_lines((_("how many"),), 125, sheet.width - 125)
    return Block(words.height, partial(_paint_ports, words, lines))


def _paint_ports(words: Block, lines: Block, sheet: Sheet) -> None:
    _paint_ticked(words, sheet)
    lines.draw(sheet)


def line_row(line: BagLine, sheet: Sheet) -> Block:
    """A seal that is no ring, or a part: where it goes largest, whether new, what goes on it."""
    content = line.content
    parts = [Part(place, 11, bold=True, lines=3) for place in line.positions]
    what = _("{rule}: {what}", rule=rule_text(content), what=line_text(line))
    parts.append(Part(what, 10, bold=not parts, lines=4))
    details = ", ".join(text for text in (content.size, content.material) if text)
    if details:
        parts.append(Part(details, 10, bold=True, lines=2))
    parts += [Part(text, 10.5, bold=True, lines=3) for text in lubricants_texts(line)]
    return tick_row(parts, sheet)


def use_row(use: AppliedView, sheet: Sheet) -> Block:
    """A consumable that is applied at a joint."""
    name = f"{use.item} {use.name}" if use.name != use.item else use.item
    parts = [Part(name, 10.5, bold=True, lines=3)]
    if use.positions:
        parts.append(Part(", ".join(use.positions), 10, lines=3))
    return tick_row(parts, sheet)


def step_use_row(view: RefitView, use: StepUseView, sheet: Sheet) -> Block:
    """What a step uses up: how much of what, at which step, and what is not fine of it."""
    what, where = step_use_texts(use)
    parts = [Part(what, 11, bold=True, lines=4), Part(where, 10, lines=3)]
    parts += [Part(text, 10.5, bold=True, lines=6) for text in use_faults(view, use)]
    return tick_row(parts, sheet)


def end_row(end: RefitEndView, sheet: Sheet) -> Block:
    """A ring end: its drawing, where it goes, what it is, what it is not taken for, its code."""
    label = end.label
    side = qr_side(end.code, _CODE * MM)
    beside = (side or 0.0) / MM + 2
    words = sheet.cells(
        [Cell(_DRAWN, sheet.width - _DRAWN - beside, tuple(_end_words(end)))], _RING_HIGH / 2
    )
    drawn = _UNKNOWN
    scale = cut = 0.0
    if label.ring is not None:
        scale, cut = _scales(label)
        drawn = picture(label.ring, scale, cut).height if scale else 0.0
    high = max(words.height, drawn + 3, beside)
    return Block(high, partial(_paint_end, end, (scale, cut), words, (high, side)))


def _scales(label: EndLabel) -> tuple[float, float]:
    """The largest scale at which a ring finds room, and that of its section; 0 where none does."""
    ring = label.ring
    if ring is None:
        return 0.0, 0.0
    cut = cut_for([ring], _THICK) or CUTS[-1]
    for scale in SCALES:
        across = outer(ring) * scale
        if across <= _RING_HIGH and across + GAP + ring.section * cut <= _RING_WIDE:
            return scale, cut
    return 0.0, 0.0


def _end_words(end: RefitEndView) -> Sequence[Part]:
    label = end.label
    content = label.content
    parts = [Part(label.end or label.position, 14, bold=True, lines=3, smallest=10)]
    if label.end:
        parts.append(Part(label.position, 10, lines=3))
    if content.size and label.ring is not None:
        parts.append(Part(content.size, 13, bold=True, lines=2))
    else:
        told = _("size not stated: match the old part, measure groove and bore")
        parts.append(Part(content.size or told, 10, lines=2))
    parts.append(Part(rubber_text(label), 11, bold=True, lines=3))
    dry = lubricant_text(label.lubricant, label.lubricant_sourced)
    parts.append(Part(dry, 11, bold=True, lines=3))
    parts += [Part(text, 10.5, bold=True, lines=6) for text in swap_texts(label)]
    pieces = amount(content.quantity, content.unit)
    what = _("{rule}: {amount} × {item}", rule=rule_text(content), amount=pieces,
             item=content.item)  # fmt: skip
    parts.append(Part(what, 9.5, lines=2))
    scale, cut = _scales(label)
    if scale:
        parts.append(Part(picture(label.ring, scale, cut).caption, 8, lines=1))  # type: ignore[arg-type]
    parts.append(Part(end.code, 9, bold=True, lines=1))
    return parts


def _paint_end(
    end: RefitEndView,
    scales: tuple[float, float],
    words: Block,
    size: tuple[float, float | None],
    sheet: Sheet,
) -> None:
    high, side = size
    words.draw(sheet)
    sheet.tick_box(0.5, 1)
    corner = sheet.point(_WORDS, 1.5)
    ring = end.label.ring
    if ring is None:
        paint_unknown(sheet.canvas, *corner, _UNKNOWN * MM)
    elif scales[0]:
        paint_ring(sheet.canvas, corner, ring, picture(ring, *scales), None, _FIGURES)
    x, y = sheet.point(0, high)
    if side is not None:
        left = x + sheet.width * MM - side
        _, top = sheet.point(0, 0.5)
        draw_qr(sheet.canvas, end.code, left, top - side, side)
    sheet.canvas.setLineWidth(THINNEST)
    sheet.canvas.line(x, y, x + sheet.width * MM, y)
