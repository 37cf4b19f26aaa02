"""The seal map: joint by joint, which seal goes where, drawn to scale or matched with the part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import BinaryIO

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.reports.drawings.photos import photo_row
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.sheets.seal_cell import SealCell, cell_of, drawn_alike, row_block, rows_of
from kitting.reports.sheets.seal_map_key import key, paint_bar
from kitting.reports.sheets.seal_swaps import (
    Places,
    apart,
    by_item,
    cells_of,
    differences,
    framed,
)
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.photos import NO_PHOTOGRAPHS, Photograph, Photographs
from kitting.views.seal_map import SealJointView, SealMapView, SealPlaceView
from kitting.wording.figures import day
from kitting.wording.kit_life import kit_in_text
from kitting.wording.language import _
from kitting.wording.seal_map import (
    PRACTICE,
    bags_text,
    counted_text,
    joint_notes,
    marked_short,
    place_marks,
)
from kitting.wording.verdicts import NOT_FINE, doubt_text
from kitting.wording.work_day import when_text

_BAND = 20.0
_PHOTOS = 4  # side by side


def draw_seal_map(
    view: SealMapView,
    target: BinaryIO,
    paper: str = "A4",
    photographs: Photographs = NO_PHOTOGRAPHS,
) -> int:
    """Write the seal map of a kit as PDF, with photos of its joints; returns the number of pages.

    Raises KittingError for an unknown paper, and for a kit without a seal.
    """
    if not view.joints:
        left_off = "".join(f" {doubt_text(doubt).rstrip('.')}." for doubt in view.doubts)
        raise KittingError(
            "no joint of kit {reference} has a seal, so there is no seal map.{left_off} The plan"
            " shows what it does have",
            reference=view.reference,
            left_off=left_off,
            then=[next_step(Action.PLAN)],
        )
    heading = Heading(_("Seal map"), _name(view), _about(view), view.cautions, jobs=view.jobs)
    return render(target, paper, heading, partial(_body, view, photographs))


def _name(view: SealMapView) -> str:
    if view.booking is None:
        return view.reference
    return _("{booking} · kit {reference}", booking=view.booking, reference=view.reference)


def _title(view: SealMapView) -> str:
    if view.booking is None:
        return _("SEAL MAP  kit {reference}", reference=view.reference)
    return _(
        "SEAL MAP  {booking} · kit {reference}", booking=view.booking, reference=view.reference
    )


def _about(view: SealMapView) -> str:
    return _(
        "{vehicle} · fitting date {day}",
        vehicle=view.vehicle,
        day=f"{day(view.on)}{when_text(view.slot)}",
    )


def _body(view: SealMapView, photographs: Photographs, sheet: Sheet) -> None:
    sheet.text(_title(view), 18, bold=True, lines=1, gap=0.5)
    sheet.text(_about(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    if view.kit_in is not None:
        sheet.text(kit_in_text(view.kit_in), 11, bold=True)
    sheet.text(counted_text(view), 10, gap=0.3)
    sheet.text(_(PRACTICE), 9, lines=8, gap=1.5)
    sheet.box(_("NOT ALL IS HERE: marked at each seal"), marked_short(view))
    sheet.box(_(NOT_FINE), tuple(map(doubt_text, view.doubts)))
    sheet.keep([Block(10.0, paint_bar)])
    for block in key(view, sheet):
        sheet.keep([block])
    sheet.y += 3
    items = by_item(view)
    for joint in view.joints:
        _joint(view, joint, items, photographs, sheet)
    sheet.cautions()


def _joint(
    view: SealMapView,
    joint: SealJointView,
    items: Places,
    photographs: Photographs,
    sheet: Sheet,
) -> None:
    """Heading and what comes first stay together; on another page the joint is named again."""
    sheet.repeat = None
    alone, groups = apart(joint)
    cells = [_marked(_alone(joint, place, photographs, sheet.width)) for place in alone]
    parts = [[row_block(row, sheet)] for row in rows_of(cells)]
    for group in groups:
        swapped = [_marked(cell) for cell in cells_of(group, items, sheet.width)]
        rows = [row_block(row, sheet) for row in rows_of(swapped)]
        parts.append(
            [Block(1.5, lambda sheet: None), *framed(rows, list(differences(group)), sheet)]
        )
    first, *rest = parts
    sheet.keep([_heading(joint, sheet), *_photos(joint, photographs, sheet), *first])
    sheet.repeat = partial(_again, joint)
    for blocks in rest:
        sheet.keep(blocks)
    sheet.repeat = None
    sheet.y += 4


def _marked(cell: SealCell) -> SealCell:
    """A seal with what is not there or not proven of it, where it goes here."""
    if cell.other is not None:
        return cell
    return replace(cell, marks=place_marks(cell.place.label))


def _alone(
    joint: SealJointView, place: SealPlaceView, photographs: Photographs, width: float
) -> SealCell:
    """A seal that nothing is taken for, at a scale of its own."""
    label = place.label
    here = photographs.places.get((joint.joint, label.position))
    photo = photographs.items.get(label.content.item) or here
    alike = (0.0, 0.0) if label.ring is None else drawn_alike([label.ring], width)
    return cell_of(place, alike, width, photo)


def _photos(joint: SealJointView, photographs: Photographs, sheet: Sheet) -> Iterator[Block]:
    """The photos of a joint: of the whole, then of its positions."""
    here = [place for place in photographs.places if place[0] == joint.joint]
    ordered = sorted(here, key=lambda place: place[1] or "")
    photos: Sequence[Photograph] = [photographs.places[place] for place in ordered]
    for first in range(0, len(photos), _PHOTOS):
        yield photo_row(photos[first : first + _PHOTOS], sheet)


def _again(joint: SealJointView, sheet: Sheet) -> None:
    name = _("{bags} {joint} · continued", bags=bags_text(joint.bags), joint=joint.joint_name)
    sheet.text(name, 11, bold=True, lines=2, gap=1)


def _heading(joint: SealJointView, sheet: Sheet) -> Block:
    """The numbers of the bags white on black, the joint beside them."""
    name = joint.joint_name
    if joint.joint and joint.joint != name:
        name += f" ({joint.joint})"
    title = [Part(name, 13, bold=True, lines=3, smallest=10)]
    if notes := joint_notes(joint):
        title.append(Part(notes, 9, lines=4))
    words = sheet.cells([Cell(_BAND + 3, sheet.width - _BAND - 5, tuple(title))], 9.0)
    return Block(words.height + 1, partial(_paint_heading, bags_text(joint.bags), words))


def _paint_heading(bags: str, words: Block, sheet: Sheet) -> None:
    canvas, high = sheet.canvas, words.height * MM
    x, y = sheet.point(0, words.height)
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, sheet.width * MM, high)
    canvas.rect(x, y, _BAND * MM, high, stroke=1, fill=1)
    number = fit(bags, ((_BAND - 2) * MM, high), (13, 7), bold=True, lines=3)
    canvas.saveState()
    canvas.setFillGray(1)
    wide = max((width_of(line, number.size, True) for line in number.lines), default=0.0)
    draw(canvas, x + (_BAND * MM - wide) / 2, y + (high + number.height) / 2, number)
    canvas.restoreState()
    words.draw(sheet)


__all__ = ["draw_seal_map"]
