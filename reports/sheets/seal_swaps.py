"""Seals that must not be swapped: side by side in one frame, at one scale, with what differs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial

from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.sheets.seal_cell import SealCell, cell_of, drawn_alike
from kitting.reports.text import MM
from kitting.views.kit import DiffersView
from kitting.views.seal_map import SealJointView, SealMapView, SealPlaceView
from kitting.wording.language import _
from kitting.wording.seal_map import swap_text

# So many of what does not go here are drawn, the nearest first; all are told in words.
_BESIDE = 3
_HEAVY = 2.2

# Of an item a place from which to draw it, and the bags that it lies in.
Places = Mapping[str, tuple[SealPlaceView, tuple[int, ...]]]


def by_item(view: SealMapView) -> Places:
    """One place of each item of a map, from which to draw it where it does not go, and its bags."""
    found: dict[str, list[SealPlaceView]] = {}
    for joint in view.joints:
        for place in joint.places:
            found.setdefault(place.label.content.item, []).append(place)
    return {
        item: (places[0], tuple(sorted({place.bag for place in places})))
        for item, places in found.items()
    }


def apart(joint: SealJointView) -> tuple[list[SealPlaceView], list[list[SealPlaceView]]]:
    """The seals of a joint that nothing is taken for, and groups of those that could be swapped."""
    alone = [place for place in joint.places if not place.label.differs]
    groups: list[list[SealPlaceView]] = []
    for place in joint.places:
        if not place.label.differs:
            continue
        near = {other.item for other in place.label.differs} | {place.label.content.item}
        joined = [
            group
            for group in groups
            if any(one.label.content.item in near for one in group)
            or {other.item for one in group for other in one.label.differs} & near
        ]
        merged = [one for group in joined for one in group]
        groups = [group for group in groups if group not in joined]
        groups.append([*merged, place])
    return alone, groups


def cells_of(group: Sequence[SealPlaceView], items: Places, width: float) -> list[SealCell]:
    """The seals of a group, then the nearest that do not go here, all at one scale."""
    own = {place.label.content.item for place in group}
    others: dict[str, DiffersView] = {}
    for place in group:
        for other in place.label.differs:
            if other.item in items and other.item not in own:
                others.setdefault(other.item, other)
    foreign = [(items[code], other) for code, other in list(others.items())[:_BESIDE]]
    rings = [
        place.label.ring
        for place in (*group, *(place for (place, _bags), _other in foreign))
        if place.label.ring is not None
    ]
    alike = drawn_alike(rings, width)
    return [
        *(cell_of(place, alike, width, None) for place in group),
        *(
            replace(cell_of(place, alike, width, None), other=other, bags=bags)
            for (place, bags), other in foreign
        ),
    ]


def differences(group: Sequence[SealPlaceView]) -> Iterator[str]:
    """What tells the rings of a group from others, once for ends that differ in the same way."""
    same: dict[tuple[DiffersView, ...], list[str]] = {}
    for place in group:
        label = place.label
        same.setdefault(label.differs, []).append(label.end or label.position)
    for differs, names in same.items():
        for other in differs:
            yield swap_text(tuple(dict.fromkeys(names)), other)


def framed(rows: Sequence[Block], texts: Sequence[str], sheet: Sheet) -> list[Block]:
    """Rows of a group with a title and what differs, in a heavy frame that a page may part."""
    title = sheet.cells(
        [Cell(3, sheet.width - 6, (Part(_("DO NOT SWAP"), 13, bold=True, lines=1),))]
    )
    told = [
        sheet.cells([Cell(3, sheet.width - 6, (Part(text, 10, bold=True, lines=40),))])
        for text in texts
    ]
    blocks = [title, *rows, *told]
    last = len(blocks) - 1
    return [
        Block(block.height, partial(_paint_framed, block, n == 0, n == last))
        for n, block in enumerate(blocks)
    ]


def _paint_framed(block: Block, first: bool, last: bool, sheet: Sheet) -> None:
    block.draw(sheet)
    canvas = sheet.canvas
    x, top = sheet.point(0, 0)
    right, foot = x + sheet.width * MM, top - block.height * MM
    canvas.setLineWidth(_HEAVY)
    canvas.line(x, top, x, foot)
    canvas.line(right, top, right, foot)
    if first:
        canvas.line(x, top, right, top)
    if last:
        canvas.line(x, foot, right, foot)
