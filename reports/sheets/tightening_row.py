"""A row of the tightening sheet: one position, its stages, a box to tick per fastener and stage."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from kitting.facts.plan_reasons import LubricantReason
from kitting.facts.words import ThreadState
from kitting.reports.drawings.blank_lines import blank_lines
from kitting.reports.drawings.holes import in_order, plan_drawing
from kitting.reports.drawings.pattern import FRAMES, NARROWEST
from kitting.reports.sheet import TICK, Block, Cell, Part, Sheet
from kitting.reports.sheets.put_on import put_on_block
from kitting.reports.sheets.tightening_stage import FIGURE, TICKS, stage_block
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tightening import TightenJointView, TightenRowView
from kitting.wording.figures import NO_FIGURE, NO_SOURCE
from kitting.wording.kit import lubricant_text
from kitting.wording.language import N_, _
from kitting.wording.reasons import say
from kitting.wording.settings import hand_figure, stage_number
from kitting.wording.tightening import (
    LEFT_HAND,
    bolts_text,
    general_text,
    remark_text,
)

# Columns in mm from the left margin: the last ones of the head begin where the boxes do.
_STATE, _BOLT = 127.0, 157.0
_PITCH, _NUMBER, _LINE = TICK + 1.3, 3.8, TICK + 3.8 + 1.2
_STATES: Mapping[ThreadState, str] = {
    ThreadState.DRY: N_("DRY"),
    ThreadState.OILED: N_("OILED"),
    ThreadState.LOCKED: N_("LOCKED"),
    ThreadState.UNKNOWN: N_("NOT STATED"),
}
# No block is higher than so many lines of boxes; the rest follows as the stage continued.
_MOST_LINES = 8


@dataclass(frozen=True, slots=True)
class Boxes:
    """The labels over the boxes of a row, one per fastener, and a note on them."""

    labels: tuple[str, ...]
    note: str | None


@dataclass(frozen=True, slots=True)
class Piece:
    """Some of a row that is not divided, and where in the row it is: "stage 2 of 3"."""

    block: Block
    called: str = ""


def boxes_of(joint: TightenJointView) -> list[Boxes]:
    """For each row its boxes: in the order of tightening where a drawing numbers the holes."""
    if joint.drawing is None:
        return [
            Boxes(
                _counted(row.count),
                _("NO ORDER OF TIGHTENING IS STATED.")
                if row.count > 2 and not row.pattern
                else None,
            )
            for row in joint.rows
        ]
    order = joint.drawing.order
    numbered = plan_drawing(joint.drawing, FRAMES, NARROWEST) is not None
    found = []
    for place, row in enumerate(joint.rows):
        given = [hole.number for hole in joint.drawing.holes if hole.row == place]
        if not given:
            found.append(Boxes(("",) * row.count, _("Not in the drawing.")))
            continue
        if not numbered:
            found.append(Boxes(("",) * row.count, _("No drawing numbers the holes.")))
            continue
        if len(given) != row.count:
            note = _("Which holes of the drawing these are in is not stated.")
            found.append(Boxes(("",) * row.count, note))
            continue
        labels = tuple(map(str, in_order(given, order)))
        ordered = (
            _("Boxes in the order of tightening, by hole number.")
            if order
            else _("Boxes by hole number, not in an order of tightening.")
        )
        found.append(Boxes(labels, ordered if len(labels) > 1 else None))
    return found


def _counted(count: int) -> tuple[str, ...]:
    return tuple(str(number) for number in range(1, count + 1))


def pieces_of(row: TightenRowView, boxes: Boxes, sheet: Sheet) -> Iterator[Piece]:
    """Head, stages (or the frame to write a figure in), and at the end the source.

    What has to set on the threads of the row, and how its fasteners and stages follow each other,
    stand between its head and its first stage.
    """
    yield Piece(_stacked(head_blocks(row, boxes, sheet)))
    count = len(row.stages)
    if not row.stages:
        for block in with_boxes(unknown_block(row, sheet), "", boxes.labels, sheet):
            yield Piece(block, _("boxes"))
        yield from _again(row, boxes, sheet)
    else:
        for number, stage in enumerate(row.stages, 1):
            words = stage_block(stage, (number, count), row.left_hand, sheet)
            again = _continued(row, number)
            for block in with_boxes(words, again, boxes.labels, sheet):
                yield Piece(block, stage_number(number, count) or _("boxes"))
        yield from _again(row, boxes, sheet)
    yield Piece(tail_block(row, sheet))


def head_blocks(row: TightenRowView, boxes: Boxes, sheet: Sheet) -> list[Block]:
    """What a row is, what has to set on its threads, and how its fasteners and stages follow."""
    laid = (put_on_block(one, sheet) for one in row.put_on)
    return [_head(row, sheet), *laid, *order_blocks(row, boxes, sheet)]


def _continued(row: TightenRowView, number: int) -> str:
    """What stands beside the boxes of a stage that had no room with it."""
    stage = stage_number(number, len(row.stages))
    told = _("{stage} continued", stage=stage) if stage else _("continued")
    return f"{told}, {_(LEFT_HAND)}" if row.left_hand else told


def _stacked(blocks: Sequence[Block]) -> Block:
    """Blocks one below the other as one that is not divided."""
    return Block(sum(block.height for block in blocks), partial(_paint_stacked, blocks))


def _paint_stacked(blocks: Sequence[Block], sheet: Sheet) -> None:
    top = sheet.y
    for block in blocks:
        block.draw(sheet)
        sheet.y += block.height
    sheet.y = top


def _again(row: TightenRowView, boxes: Boxes, sheet: Sheet) -> Iterator[Piece]:
    """Boxes for every further time that the joint is closed, with what is set again."""
    for time in range(2, row.times + 1):
        named = _("{time} of {times} times", time=time, times=row.times)
        for number in range(1, max(len(row.stages), 1) + 1):
            told = list(_told_again(row, number))
            called = ", ".join([named, *told[:1]]) if len(row.stages) > 1 else named
            again = Part(", ".join([named, *told]), 11, bold=True, lines=3, smallest=8)
            words = sheet.cells([Cell(FIGURE, TICKS - FIGURE - 3, (again,))])
            for block in with_boxes(words, _("continued"), boxes.labels, sheet):
                yield Piece(block, called)


def _told_again(row: TightenRowView, number: int) -> Iterator[str]:
    """Which stage, the setting and the hand of the thread; nothing where no figure is known."""
    if not row.stages:
        return
    stage = stage_number(number, len(row.stages))
    if stage:
        yield stage
    yield hand_figure(row.stages[number - 1])
    if row.left_hand:
        yield _(LEFT_HAND)


def _head(row: TightenRowView, sheet: Sheet) -> Block:
    state = _(_STATES[row.thread_state])
    name = f" · {row.name}" if row.name and row.name != row.item else ""
    thread = [
        _small(_("THREAD")),
        Part(row.thread or _("NOT STATED"), 11.5, bold=True, lines=2, smallest=8),
    ]
    if row.left_hand:
        thread.append(Part(_("LEFT-HAND"), 11.5, bold=True, lines=1))
    return sheet.cells(
        [
            Cell(
                0,
                TICKS - 3,
                (
                    Part(row.position, 12, bold=True, lines=3, smallest=9),
                    Part(f"{row.count} × {row.item}{name}", 9.5, lines=5),
                    *_goes_together(row),
                    # Before the first figure, not where the fastener is tight already.
                    *(Part(remark_text(told), 9.5, bold=True, lines=6) for told in row.remarks),
                ),
            ),
            Cell(TICKS, _STATE - TICKS - 2, tuple(thread)),
            Cell(_STATE, _BOLT - _STATE - 2, _stated(_("STATE OF THREAD"), state)),
            Cell(_BOLT, sheet.width - _BOLT, _stated(_("FASTENER"), bolts_text(row))),
        ],
        9.0,
    )


def _goes_together(row: TightenRowView) -> Iterator[Part]:
    """What goes on the fastener, or that it goes together dry; what has to set has a frame."""
    lubricant = row.lubricant
    if lubricant is None:
        return
    framed = {laid.item for laid in row.put_on}
    if dict(lubricant.values).get("item") not in framed or lubricant.code is LubricantReason.DRY:
        yield Part(lubricant_text(lubricant, row.lubricant_sourced), 10, bold=True, lines=5)


def _stated(title: str, value: str) -> tuple[Part, ...]:
    return (_small(title), Part(value, 11.5, bold=True, lines=2, smallest=8))


def _small(title: str) -> Part:
    return Part(title, 7, bold=True, lines=2, smallest=6)


def unknown_block(row: TightenRowView, sheet: Sheet) -> Block:
    """A frame that says NO FIGURE, with lines to write the figure and its source on."""
    width = TICKS - 4
    parts = [Part(_(NO_FIGURE), 14, bold=True, lines=1)]
    if row.left_hand:
        parts.append(Part(_(LEFT_HAND), 11.5, bold=True, lines=2))
    if row.general is not None:
        parts.append(Part(_("GENERAL TABLE, NOT MAKER'S DATA:"), 9.5, bold=True, lines=2))
        parts.append(Part(general_text(row.general), 9.5, lines=3))
    if row.why_not_general is not None:
        parts.append(Part(say(row.why_not_general), 8, lines=6))
    words = sheet.cells([Cell(3, width - 6, tuple(parts))])
    high = words.height + 19
    return Block(high + 1, partial(_paint_unknown, words, width, high))


def _paint_unknown(words: Block, width: float, high: float, sheet: Sheet) -> None:
    canvas = sheet.canvas
    words.draw(sheet)
    x, y = sheet.point(0, high)
    canvas.setLineWidth(1.8)
    canvas.rect(x, y, width * MM, high * MM)
    for place, name in enumerate((_("figure and unit"), _("its source"))):
        label = fit(name, (40 * MM, 12), (9, 7.5), lines=1)
        left, foot = sheet.point(3, words.height + 7 + 9 * place)
        draw(canvas, left, foot + 0.93 * label.size, label)
        start = left + width_of("".join(label.lines), label.size) + 4
        canvas.setLineWidth(0.7)
        canvas.line(start, foot - 1, left + (width - 6) * MM, foot - 1)


def with_boxes(
    words: Block, continued: str, labels: Sequence[str], sheet: Sheet
) -> Iterator[Block]:
    """Words with boxes to tick beside them; what has no room follows in further blocks."""
    across = int((sheet.width - TICKS + _PITCH - TICK) / _PITCH)
    most = across * _MOST_LINES
    first = labels[:most]
    yield _beside(words, first, across)
    for start in range(most, len(labels), most):
        title = Part(continued or _("continued"), 9, lines=2)
        more = sheet.cells([Cell(FIGURE, TICKS - FIGURE - 3, (title,))])
        yield _beside(more, labels[start : start + most], across)


def _beside(words: Block, labels: Sequence[str], across: int) -> Block:
    lines = -(-len(labels) // across)
    high = max(words.height, lines * _LINE + 0.5)
    return Block(high + 0.8, partial(_paint_boxes, words, labels, across))


def _paint_boxes(words: Block, labels: Sequence[str], across: int, sheet: Sheet) -> None:
    words.draw(sheet)
    for place, label in enumerate(labels):
        line, column = divmod(place, across)
        x, down = TICKS + column * _PITCH, line * _LINE + 0.5
        number = fit(label, ((_PITCH - 0.5) * MM, _NUMBER * MM), (8.5, 5), bold=True, lines=1,
                     squeeze=0.1)  # fmt: skip
        width = width_of("".join(number.lines), number.size, True)
        left, top = sheet.point(x, down)
        draw(sheet.canvas, left + (TICK * MM - width) / 2, top, number)
        sheet.tick_box(x, down + _NUMBER)


def order_blocks(row: TightenRowView, boxes: Boxes, sheet: Sheet) -> list[Block]:
    """How the fasteners and stages of a row follow each other, told before any is tightened."""
    parts = []
    if row.pattern:
        parts.append(Part(_("Order: {order}", order=row.pattern), 9.5, bold=True, lines=6))
    if row.stage_order:
        parts.append(Part(_("Stages: {order}", order=row.stage_order), 9.5, bold=True, lines=6))
    if parts and not row.source and not row.stages:
        parts.append(Part(_(NO_SOURCE).upper(), 8.5, bold=True, lines=2))
    if boxes.note:
        parts.append(Part(boxes.note, 8.5, lines=3))
    return [sheet.cells([Cell(0, sheet.width, tuple(parts))])] if parts else []


def tail_block(row: TightenRowView, sheet: Sheet) -> Block:
    """Where the figures come from, and a line across."""
    parts = []
    if row.source and row.stages:
        parts.append(Part(_("Source of the figures: {source}", source=row.source), 8.5, lines=6))
    elif row.source:
        parts.append(Part(_("Source: {source}", source=row.source), 8.5, lines=6))
    elif row.stages:
        parts.append(Part(_("SOURCE OF THE FIGURES NOT STATED"), 8.5, bold=True, lines=2))
    words = sheet.cells([Cell(0, sheet.width, tuple(parts))])
    planned = any(stage.proven for stage in row.stages)
    names = (_("if another tool was used: which"), _("set to"))
    lines = [blank_lines(names, 0, sheet.width)] if planned else []
    stacked = _stacked([words, *lines])
    return Block(stacked.height + 1.2, partial(_paint_tail, stacked))


def _paint_tail(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    x, y = sheet.point(0, words.height)
    sheet.canvas.setLineWidth(0.7)
    sheet.canvas.line(x, y, x + sheet.width * MM, y)
