"""A row of the tightening sheet: one position, its stages, a box to tick per fastener and stage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from kitting.facts.verdicts import Verdict
from kitting.facts.words import ThreadState
from kitting.reports.drawings.holes import in_order, plan_drawing
from kitting.reports.drawings.pattern import FRAMES, NARROWEST
from kitting.reports.sheet import TICK, Block, Cell, Part, Sheet
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tightening import TightenJointView, TightenRowView, TightenStageView
from kitting.wording.figures import NO_FIGURE, NO_SOURCE
from kitting.wording.reasons import say
from kitting.wording.tightening import (
    LEFT_HAND,
    bolts_text,
    general_text,
    remark_text,
    second_text,
    stage_text,
)
from kitting.wording.tools import setting_text, tools_text

# Columns in mm from the left margin: figure, wrench, boxes to tick; the head's last columns
# begin where the boxes do.
_FIGURE, _WRENCH, _TICKS = 7.0, 46.0, 103.0
_STATE, _BOLT = 127.0, 157.0
_PITCH, _NUMBER, _LINE = TICK + 1.3, 3.8, TICK + 3.8 + 1.2
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
                "NO ORDER OF TIGHTENING IS STATED." if row.count > 2 and not row.pattern else None,
            )
            for row in joint.rows
        ]
    order = joint.drawing.order
    numbered = plan_drawing(joint.drawing, FRAMES, NARROWEST) is not None
    found = []
    for place, row in enumerate(joint.rows):
        given = [hole.number for hole in joint.drawing.holes if hole.row == place]
        if not given:
            found.append(Boxes(("",) * row.count, "Not in the drawing."))
            continue
        if not numbered:
            found.append(Boxes(("",) * row.count, "No drawing numbers the holes."))
            continue
        if len(given) != row.count:
            note = "Which holes of the drawing these are in is not stated."
            found.append(Boxes(("",) * row.count, note))
            continue
        labels = tuple(map(str, in_order(given, order)))
        ordered = (
            "Boxes in the order of tightening, by hole number."
            if order
            else "Boxes by hole number, not in an order of tightening."
        )
        found.append(Boxes(labels, ordered if len(labels) > 1 else None))
    return found


def _counted(count: int) -> tuple[str, ...]:
    return tuple(str(number) for number in range(1, count + 1))


def pieces_of(row: TightenRowView, boxes: Boxes, sheet: Sheet) -> Iterator[Piece]:
    """Head, stages (or the frame to write a figure in), and at the end the source."""
    yield Piece(_head(row, sheet))
    hand = f", {LEFT_HAND}" if row.left_hand else ""
    if not row.stages:
        for block in _with_boxes(_unknown(row, sheet), "", boxes.labels, sheet):
            yield Piece(block, "boxes")
        yield from _again(row, ("",), boxes, sheet)
    else:
        for number, stage in enumerate(row.stages, 1):
            words = _stage(number, stage, row.left_hand, sheet)
            again = f"stage {number} continued{hand}"
            for block in _with_boxes(words, again, boxes.labels, sheet):
                yield Piece(block, f"stage {number} of {len(row.stages)}")
        figures = [
            f", stage {number}: {stage_text(stage.stage)}{hand}"
            for number, stage in enumerate(row.stages, 1)
        ]
        yield from _again(row, figures, boxes, sheet)
    yield Piece(_tail(row, boxes, sheet))


def _again(
    row: TightenRowView, figures: Sequence[str], boxes: Boxes, sheet: Sheet
) -> Iterator[Piece]:
    """Boxes for every further time that the joint is closed."""
    for time in range(2, row.times + 1):
        for number, figure in enumerate(figures, 1):
            stage = f", stage {number} of {len(row.stages)}" if row.stages else ""
            called = f"{time} of {row.times} times{stage}"
            again = Part(f"{time} of {row.times} times{figure}", 11, bold=True, lines=2, smallest=8)
            words = sheet.cells([Cell(_FIGURE, _TICKS - _FIGURE - 3, (again,))])
            for block in _with_boxes(words, "continued", boxes.labels, sheet):
                yield Piece(block, called)


def _head(row: TightenRowView, sheet: Sheet) -> Block:
    known = row.thread_state != ThreadState.UNKNOWN
    state = row.thread_state.upper() if known else "NOT STATED"
    name = f" · {row.name}" if row.name and row.name != row.item else ""
    thread = [
        _small("THREAD"),
        Part(row.thread or "NOT STATED", 11.5, bold=True, lines=2, smallest=8),
    ]
    if row.left_hand:
        thread.append(Part("LEFT-HAND", 11.5, bold=True, lines=1))
    return sheet.cells(
        [
            Cell(
                0,
                _TICKS - 3,
                (
                    Part(row.position, 12, bold=True, lines=3, smallest=9),
                    Part(f"{row.count} × {row.item}{name}", 9.5, lines=5),
                    # Before the first figure, not where the fastener is tight already.
                    *(Part(remark_text(told), 9.5, bold=True, lines=6) for told in row.remarks),
                ),
            ),
            Cell(_TICKS, _STATE - _TICKS - 2, tuple(thread)),
            Cell(_STATE, _BOLT - _STATE - 2, _stated("STATE OF THREAD", state)),
            Cell(_BOLT, sheet.width - _BOLT, _stated("FASTENER", bolts_text(row))),
        ],
        9.0,
    )


def _stated(title: str, value: str) -> tuple[Part, ...]:
    return (_small(title), Part(value, 11.5, bold=True, lines=2, smallest=8))


def _small(title: str) -> Part:
    return Part(title, 7, bold=True, lines=1, smallest=6)


def _stage(number: int, stage: TightenStageView, left_hand: bool, sheet: Sheet) -> Block:
    """Number, figure as published, the other unit small, and the wrench or why there is none.

    A left-hand thread is told at every figure: a stage may begin a page.
    """
    figure = [Part(stage_text(stage.stage), 17, bold=True, lines=2, smallest=10)]
    second = second_text(stage.stage)
    if second is not None:
        figure.append(Part(second, 9, lines=2))
    if left_hand:
        figure.append(Part(LEFT_HAND, 10, bold=True, lines=2))
    return sheet.cells(
        [
            Cell(0.5, _FIGURE - 1.5, (Part(f"{number}.", 11, lines=1, smallest=6),)),
            Cell(_FIGURE, _WRENCH - _FIGURE - 2, tuple(figure)),
            Cell(_WRENCH, _TICKS - _WRENCH - 3, tuple(_wrench(stage))),
        ]
    )


def _wrench(stage: TightenStageView) -> Iterator[Part]:
    if stage.train is None:
        reasons = "; ".join(map(say, stage.reasons))
        unproven = stage.verdict is Verdict.UNKNOWN
        none = "NO TOOL PROVEN FOR THIS STAGE" if unproven else "NO TOOL FOR THIS STAGE"
        yield Part(none, 10, bold=True, lines=2)
        yield Part(reasons or "no reason is stated", 9, lines=12)
        return
    setting = setting_text(stage.train)
    if setting is not None:
        yield Part(setting, 11.5, bold=True, lines=2, smallest=9)
    yield Part(tools_text(stage.train), 9, lines=6)
    if stage.train.note is not None:
        yield Part(say(stage.train.note), 8.5, lines=6)


def _unknown(row: TightenRowView, sheet: Sheet) -> Block:
    """A frame that says NO FIGURE, with lines to write the figure and its source on."""
    width = _TICKS - 4
    parts = [Part(NO_FIGURE, 14, bold=True, lines=1)]
    if row.left_hand:
        parts.append(Part(LEFT_HAND, 11.5, bold=True, lines=1))
    if row.general is not None:
        parts.append(Part("GENERAL TABLE, NOT MAKER'S DATA:", 9.5, bold=True, lines=1))
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
    for place, name in enumerate(("figure and unit", "its source")):
        label = fit(name, (40 * MM, 12), (9, 7.5), lines=1)
        left, foot = sheet.point(3, words.height + 7 + 9 * place)
        draw(canvas, left, foot + 0.93 * label.size, label)
        start = left + width_of("".join(label.lines), label.size) + 4
        canvas.setLineWidth(0.7)
        canvas.line(start, foot - 1, left + (width - 6) * MM, foot - 1)


def _with_boxes(
    words: Block, continued: str, labels: Sequence[str], sheet: Sheet
) -> Iterator[Block]:
    """Words with boxes to tick beside them; what has no room follows in further blocks."""
    across = int((sheet.width - _TICKS + _PITCH - TICK) / _PITCH)
    most = across * _MOST_LINES
    first = labels[:most]
    yield _beside(words, first, across)
    for start in range(most, len(labels), most):
        title = Part(continued or "continued", 9, lines=1)
        more = sheet.cells([Cell(_FIGURE, _TICKS - _FIGURE - 3, (title,))])
        yield _beside(more, labels[start : start + most], across)


def _beside(words: Block, labels: Sequence[str], across: int) -> Block:
    lines = -(-len(labels) // across)
    high = max(words.height, lines * _LINE + 0.5)
    return Block(high + 0.8, partial(_paint_boxes, words, labels, across))


def _paint_boxes(words: Block, labels: Sequence[str], across: int, sheet: Sheet) -> None:
    words.draw(sheet)
    for place, label in enumerate(labels):
        line, column = divmod(place, across)
        x, down = _TICKS + column * _PITCH, line * _LINE + 0.5
        number = fit(label, ((_PITCH - 0.5) * MM, _NUMBER * MM), (8.5, 5), bold=True, lines=1,
                     squeeze=0.1)  # fmt: skip
        width = width_of("".join(number.lines), number.size, True)
        left, top = sheet.point(x, down)
        draw(sheet.canvas, left + (TICK * MM - width) / 2, top, number)
        sheet.tick_box(x, down + _NUMBER)


def _tail(row: TightenRowView, boxes: Boxes, sheet: Sheet) -> Block:
    """How the fasteners are ordered, where the figures come from, and a line across."""
    parts = []
    if row.pattern:
        parts.append(Part(f"Order: {row.pattern}", 9, bold=True, lines=6))
    if row.stage_order:
        parts.append(Part(f"Stages: {row.stage_order}", 9, bold=True, lines=6))
    if boxes.note:
        parts.append(Part(boxes.note, 8.5, lines=2))
    if row.source:
        of = "Source of the figures" if row.stages else "Source"
        parts.append(Part(f"{of}: {row.source}", 8.5, lines=6))
    elif row.stages:
        parts.append(Part("SOURCE OF THE FIGURES NOT STATED", 8.5, bold=True, lines=2))
    elif row.pattern or row.stage_order:
        parts.append(Part(NO_SOURCE.upper(), 8.5, bold=True, lines=2))
    words = sheet.cells([Cell(0, sheet.width, tuple(parts))])
    return Block(words.height + 1.2, partial(_paint_tail, words))


def _paint_tail(words: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    x, y = sheet.point(0, words.height)
    sheet.canvas.setLineWidth(0.7)
    sheet.canvas.line(x, y, x + sheet.width * MM, y)
