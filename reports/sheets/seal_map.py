"""The seal map: joint by joint, which ring goes on which end, drawn to scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from typing import BinaryIO

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.units import format_quantity
from kitting.reports.drawings.photos import photo_row
from kitting.reports.drawings.rings import (
    GAP,
    SCALES,
    cut_for,
    cut_text,
    hatchings,
    outer,
    paint_ring,
    paint_unknown,
    picture,
    scale_text,
)
from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.seal_map_key import key, paint_bar
from kitting.reports.text import MM, draw, fit, width_of
from kitting.reports.wording import sign
from kitting.views.kit import Bag, DiffersView, EndLabel, KitView
from kitting.views.photos import NO_PHOTOGRAPHS, Photograph, Photographs
from kitting.wording.figures import many
from kitting.wording.kit import differs_text, lubricant_text, rubber_text
from kitting.wording.verdicts import NOT_FINE, doubt_text

_PRACTICE = (
    "Lay each new ring on its drawing and measure its section before it goes on; tick it when it is"
    " on. A used ring is stretched or swollen and proves nothing. Colour is only as supplied and"
    " proves no rubber. Which rings are near enough to be swapped is our own judgement (common"
    " practice, no source)."
)
_BAND, _PAD, _UNKNOWN = 20.0, 3.0, 16.0
# The widest section and the largest ring on paper.
_THICK, _LARGE = 16.0, 120.0
# A joint that is not higher than this is not divided.
_WHOLE = 150.0
_FIGURES = 8.0
_SWAP = "DO NOT SWAP"
_PHOTOS = 4  # side by side


@dataclass(frozen=True, slots=True)
class _Layout:
    """How the rings of a joint are drawn: so many side by side, all at one scale."""

    columns: int
    scale: float
    cut: float

    @property
    def caption(self) -> str:
        """What the scale is; "" where nothing is drawn to it."""
        if not self.scale or not self.cut:
            return "Too large or too small to be drawn."
        return f"Rings: {scale_text(self.scale)}. Sections: {cut_text(self.cut)}."


def draw_seal_map(
    kit: KitView, target: BinaryIO, paper: str = "A4", photographs: Photographs = NO_PHOTOGRAPHS
) -> int:
    """Write the seal map of a kit as PDF, with photos of its joints; returns the number of pages.

    Raises KittingError for an unknown paper, and for a kit without a ring.
    """
    if not any(bag.ends for bag in kit.bags):
        left_off = "".join(f" {doubt_text(doubt).rstrip('.')}." for doubt in kit.doubts)
        raise KittingError(
            f"no joint of kit {kit.reference} has a ring, so there is no seal map.{left_off}"
            " The plan shows what it does have",
            then=[next_step(Action.PLAN)],
        )
    about = f"{kit.vehicle} · fitting date {kit.on}"
    heading = Heading("Seal map", _name(kit), about, kit.cautions)
    return render(target, paper, heading, partial(_body, kit, photographs))


def _name(kit: KitView) -> str:
    return kit.reference if kit.booking is None else f"{kit.booking} · kit {kit.reference}"


def _body(kit: KitView, photographs: Photographs, sheet: Sheet) -> None:
    name = f"kit {kit.reference}" if kit.booking is None else _name(kit)
    sheet.text(f"SEAL MAP  {name}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(f"{kit.vehicle} · fitting date {kit.on}", 11, bold=True, gap=1.2)
    for job in kit.jobs:
        sheet.text(job, 10, gap=0.3)
    ringed = [bag for bag in kit.bags if bag.ends]
    joints = [list(bags) for _, bags in groupby(ringed, key=lambda bag: bag.joint)]
    ends = sum(len(bag.ends) for bag in ringed)
    sheet.text(f"{many(ends, 'ring end')} in {many(len(joints), 'joint')}, in the order of"
               " refitting.", 10, gap=0.3)  # fmt: skip
    sheet.text(_PRACTICE, 9, lines=5, gap=1.5)
    sheet.box(NOT_FINE, tuple(map(doubt_text, kit.doubts)))
    hatches = hatchings(kit)
    sheet.keep([Block(10.0, paint_bar)])
    for block in key(hatches, sheet):
        sheet.keep([block])
    sheet.y += 3
    for bags in joints:
        _joint(bags, hatches, _photos(bags, photographs), sheet)
    sheet.cautions()


def _photos(bags: Sequence[Bag], photographs: Photographs) -> list[Photograph]:
    """The photos of a joint: of the whole, then of its positions."""
    here = [place for place in photographs.places if place[0] == bags[0].joint]
    ordered = sorted(here, key=lambda place: place[1] or "")
    return [photographs.places[place] for place in ordered]


def _joint(
    bags: Sequence[Bag],
    hatches: Mapping[str, int],
    photos: Sequence[Photograph],
    sheet: Sheet,
) -> None:
    """Heading and first row stay together; what follows on another page names the joint again."""
    sheet.repeat = None
    ends = [(bag, end) for bag in bags for end in bag.ends]
    layout = _layout([end for _, end in ends], sheet.width)
    blocks = [_heading(bags, layout.caption, sheet)]
    blocks += [
        photo_row(photos[first : first + _PHOTOS], sheet)
        for first in range(0, len(photos), _PHOTOS)
    ]
    for first in range(0, len(ends), layout.columns):
        blocks.append(_row(ends[first : first + layout.columns], layout, hatches, sheet))
    warnings = list(_warnings([end for _, end in ends]))
    beside = _beside(warnings, len(ends), layout.columns, blocks[-1], sheet)
    if beside is not None:
        blocks[-1] = beside
    if sum(block.height for block in blocks) <= _WHOLE:
        sheet.keep(blocks)
    else:
        sheet.keep(blocks[:2])
        sheet.repeat = partial(_again, bags)
        for block in blocks[2:]:
            sheet.keep([block])
    sheet.repeat = partial(_again, bags)
    if warnings and beside is None:
        sheet.y += 1
        sheet.box(_SWAP, warnings)
    sheet.repeat = None
    sheet.y += 4


def _beside(
    warnings: Sequence[str], count: int, columns: int, row: Block, sheet: Sheet
) -> Block | None:
    """The last row with the warnings in what it leaves free, if they find room there."""
    used = count % columns
    if not warnings or not used:
        return None
    wide = sheet.width / columns
    left, room = used * wide, (columns - used) * wide
    parts = [Part(text, 10, lines=40) for text in warnings]
    title = Part(_SWAP, 11, bold=True, lines=1)
    words = sheet.cells([Cell(left + 2 * _PAD, room - 3 * _PAD, (title, *parts))])
    if words.height > row.height - 1:
        return None
    return Block(row.height, partial(_paint_beside, row, words, left + _PAD, room - _PAD))


def _paint_beside(row: Block, words: Block, left: float, wide: float, sheet: Sheet) -> None:
    row.draw(sheet)
    words.draw(sheet)
    x, y = sheet.point(left, words.height)
    sheet.canvas.setLineWidth(1.2)
    sheet.canvas.rect(x, y, wide * MM, words.height * MM)


def _again(bags: Sequence[Bag], sheet: Sheet) -> None:
    name = f"{_bags_text(bags)} {bags[0].joint_name} · continued"
    sheet.text(name, 11, bold=True, lines=2, gap=1)


def _bags_text(bags: Sequence[Bag]) -> str:
    numbers = ", ".join(str(bag.number) for bag in bags)
    return f"BAG{'S' * (len(bags) > 1)} {numbers}"


def _layout(ends: Sequence[EndLabel], width: float) -> _Layout:
    """The largest common scale at which every ring finds room, as many side by side as can."""
    rings = [end.ring for end in ends if end.ring is not None]
    cut = cut_for(rings, _THICK)
    largest = max((outer(ring) for ring in rings), default=0.0)
    thickest = max((ring.section for ring in rings), default=0.0) * cut
    for scale in SCALES:
        for columns in (3, 2, 1):
            room = width / columns - 2 * _PAD - TICK - 2
            if largest * scale + GAP + thickest <= room and largest * scale <= _LARGE:
                return _Layout(columns, scale, cut)
    return _Layout(3, 0.0, 0.0)


def _heading(bags: Sequence[Bag], caption: str, sheet: Sheet) -> Block:
    """The numbers of the bags white on black, the joint beside them."""
    name = bags[0].joint_name
    if bags[0].joint and bags[0].joint != name:
        name += f" ({bags[0].joint})"
    notes = [caption]
    if len(bags) > 1:
        notes.append(f"Rings that could be swapped lie in {len(bags)} bags.")
    title = (Part(name, 13, bold=True, lines=3, smallest=10), Part(" ".join(notes), 9, lines=2))
    words = sheet.cells([Cell(_BAND + 3, sheet.width - _BAND - 5, title)], 9.0)
    return Block(words.height + 1, partial(_paint_heading, _bags_text(bags), words))


def _paint_heading(bags: str, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height * MM
    x, y = sheet.point(0, words.height)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high)
    canvas.rect(x, y, _BAND * MM, high, stroke=1, fill=1)
    number = fit(bags, ((_BAND - 2) * MM, high), (13, 7), bold=True, lines=2)
    canvas.saveState()
    canvas.setFillGray(1)
    wide = max((width_of(line, number.size, True) for line in number.lines), default=0.0)
    draw(canvas, x + (_BAND * MM - wide) / 2, y + (high + number.height) / 2, number)
    canvas.restoreState()
    words.draw(sheet)


def _row(
    ends: Sequence[tuple[Bag, EndLabel]],
    layout: _Layout,
    hatches: Mapping[str, int],
    sheet: Sheet,
) -> Block:
    """Ring ends side by side: the drawings on one line, the words below them on another."""
    wide = sheet.width / layout.columns
    drawn = [_high(end, layout) for _, end in ends]
    high = max([*drawn, TICK]) + _PAD + 1
    words = sheet.cells([
        Cell(number * wide + _PAD, wide - 2 * _PAD, tuple(_words(bag, end)))
        for number, (bag, end) in enumerate(ends)
    ])  # fmt: skip
    paint = partial(_paint_row, [end for _, end in ends], layout, hatches, high, words)
    return Block(high + words.height + 1, paint)


def _high(end: EndLabel, layout: _Layout) -> float:
    if end.ring is None:
        return _UNKNOWN
    return picture(end.ring, layout.scale, layout.cut).height if layout.scale else 0.0


def _words(bag: Bag, end: EndLabel) -> Iterator[Part]:
    yield Part(end.end or end.position, 13, bold=True, lines=3, smallest=9)
    if end.end:
        yield Part(end.position, 9.5, lines=3)
    content = end.content
    size = content.size if end.ring is not None else None
    yield Part(size or "size not stated: measure groove and bore", 12, bold=True, lines=2)
    yield Part(rubber_text(end), 9.5, bold=True, lines=3)
    if content.colour:
        yield Part(f"colour as supplied: {content.colour}", 9, lines=2)
    yield Part(lubricant_text(end.lubricant, end.lubricant_sourced), 9.5, lines=3)
    rule = f"{sign(content.rule)} {content.rule.upper()}".strip()
    pieces = format_quantity(content.quantity, content.unit)
    yield Part(f"{rule}  {pieces} × {content.item}", 9, lines=3)
    yield Part(f"BAG {bag.number}", 10, bold=True, lines=1)


def _paint_row(
    ends: Sequence[EndLabel],
    layout: _Layout,
    hatches: Mapping[str, int],
    high: float,
    words: Block,
    sheet: Sheet,
) -> None:
    """Frames round the ends, a box to tick in each when its ring is on."""
    wide = sheet.width / layout.columns
    for number, end in enumerate(ends):
        left = number * wide
        x, y = sheet.point(left, high + words.height)
        sheet.canvas.setLineWidth(0.5)
        sheet.canvas.rect(x, y, wide * MM, (high + words.height) * MM)
        _paint_end(end, layout, hatches, left + _PAD, high, sheet)
        sheet.tick_box(left + wide - _PAD - TICK, _PAD)
    sheet.y += high
    words.draw(sheet)
    sheet.y -= high


def _middle(high: float, drawn: float) -> float:
    """How far down a drawing begins in so much height, which has less air at its foot."""
    return _PAD + (high - _PAD - 1 - drawn) / 2


def _paint_end(
    end: EndLabel,
    layout: _Layout,
    hatches: Mapping[str, int],
    left: float,
    high: float,
    sheet: Sheet,
) -> None:
    if end.ring is None:
        paint_unknown(sheet.canvas, *sheet.point(left, _middle(high, _UNKNOWN)), _UNKNOWN * MM)
        return
    if not layout.scale:
        return
    made = picture(end.ring, layout.scale, layout.cut)
    x, top = sheet.point(left, _middle(high, made.height))
    hatch = hatches.get(end.elastomer or "")
    paint_ring(sheet.canvas, (x, top), end.ring, made, hatch, _FIGURES)


def _warnings(ends: Sequence[EndLabel]) -> Iterator[str]:
    """What tells the rings of a joint from others, once for ends that differ in the same way."""
    same: dict[tuple[DiffersView, ...], list[str]] = {}
    for end in ends:
        if end.differs:
            same.setdefault(end.differs, []).append(end.end or end.position)
    for differs, names in same.items():
        here = " / ".join(dict.fromkeys(names))
        for other in differs:
            yield f"≠ {here}: {differs_text(other)}"


__all__ = ["draw_seal_map"]
