"""Fasteners of several kinds in one order of a joint: stage by stage, through all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, groupby

from kitting.reports.drawings.holes import letters, plan_drawing
from kitting.reports.drawings.pattern import FRAMES, NARROWEST
from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.reports.sheets.flow import Unit
from kitting.reports.sheets.tightening_row import (
    Boxes,
    head_blocks,
    tail_block,
    unknown_block,
    with_boxes,
)
from kitting.reports.sheets.tightening_stage import FIGURE, TICKS, stage_block
from kitting.views.tightening import TightenJointView, TightenRowView
from kitting.wording.figures import NO_FIGURE
from kitting.wording.language import _
from kitting.wording.settings import hand_figure, stage_number
from kitting.wording.tightening import LEFT_HAND


@dataclass(frozen=True, slots=True)
class Run:
    """Holes one after the other in the order of a joint that are of one row."""

    row: int
    holes: tuple[int, ...]


def runs_of(joint: TightenJointView) -> tuple[Run, ...]:
    """The order of a joint where it leads through several rows; none where each has its own.

    Rows of which nobody can tell the holes are not in it.
    """
    drawing = joint.drawing
    if drawing is None or not drawing.order or plan_drawing(drawing, FRAMES, NARROWEST) is None:
        return ()
    holes = {hole.number: hole.row for hole in drawing.holes if hole.row is not None}
    given = list(holes.values())
    whole = {row for row in given if given.count(row) == joint.rows[row].count}
    placed = [(holes[number], number) for number in drawing.order if holes.get(number) in whole]
    rows = {row for row, _number in placed}
    runs = tuple(
        Run(row, tuple(number for _row, number in some))
        for row, some in groupby(placed, key=lambda one: one[0])
        if row is not None
    )
    first = list(holes_in(runs))
    row_by_row = len(runs) == len(rows) and first == sorted(first)
    staged = any(len(joint.rows[row].stages) > 1 for row in first)
    return runs if len(rows) > 1 and (staged or not row_by_row) else ()


def holes_in(runs: Sequence[Run]) -> dict[int, tuple[int, ...]]:
    """The holes of each row, the rows in the order in which they come first."""
    found: dict[int, tuple[int, ...]] = {}
    for run in runs:
        found[run.row] = (*found.get(run.row, ()), *run.holes)
    return found


def ordered_units(
    joint: TightenJointView, runs: Sequence[Run], opening: Sequence[Block], sheet: Sheet
) -> Iterator[Unit]:
    """What goes in, then every stage with all settings and the boxes hole by hole, then sources.

    The order is told again with every stage, and on every page that one runs over.
    """
    rows = {place: joint.rows[place] for place in holes_in(runs)}
    called = ", ".join(row.position for row in rows.values())
    first = [*opening]
    for row in rows.values():
        first += head_blocks(row, Boxes((), None), sheet)
    notes = [Part(text, 9.5, bold=True, lines=4) for text in _notes(list(rows.values()))]
    if notes:
        first.append(sheet.cells([Cell(0, sheet.width, tuple(notes))]))
    yield Unit(first, called)
    for time in range(1, max(row.times for row in rows.values()) + 1):
        for number in range(1, max(1, *(len(row.stages) for row in rows.values())) + 1):
            yield from _stage(joint, runs, (time, number), sheet)
    for row in rows.values():
        name = sheet.cells([Cell(0, sheet.width, (Part(row.position, 9, bold=True, lines=2),))])
        yield Unit([name, tail_block(row, sheet)], row.position)


def _notes(rows: Sequence[TightenRowView]) -> Iterator[str]:
    """What the order leaves open of how stages follow each other."""
    counts = {len(row.stages) for row in rows if row.stages}
    if counts and max(counts) > 1 and not any(row.stage_order for row in rows):
        yield _(
            "How the stages follow each other is not stated. Below, each stage goes through all"
            " holes before the next; the maker's data decide."
        )
    if len(counts) > 1 or any(not row.stages for row in rows):
        yield _(
            "Not all have as many stages, or one has no figure: which are tightened in which round"
            " is not stated. The maker's data decide."
        )


def _stage(
    joint: TightenJointView, runs: Sequence[Run], place: tuple[int, int], sheet: Sheet
) -> Iterator[Unit]:
    """A stage of all kinds: as one unit where a page holds it, else setting by setting."""
    time, number = place
    here = {
        at: joint.rows[at]
        for at in holes_in(runs)
        if joint.rows[at].times >= time and number <= max(len(joint.rows[at].stages), 1)
    }
    if not here:
        return
    called = _called(joint, runs, place)
    head = _head(called, [run for run in runs if run.row in here], sheet)
    # A setting keeps the name and the holes that it is for.
    parts: list[list[Block]] = []
    if time == 1:
        for at, row in here.items():
            parts.append([*_setting(joint, (at, row), holes_in(runs)[at], number, sheet)])
    for run in runs:
        if run.row in here:
            parts += [[block] for block in _boxes(here[run.row], run, place, sheet)]
    whole = Unit([head, *chain.from_iterable(parts)], called)
    if whole.height <= sheet.whole_page * 0.8:
        yield whole
        return
    first, *rest = parts
    yield Unit([head, *first], called)
    for blocks in rest:
        yield Unit(blocks, called, [head])


def _called(joint: TightenJointView, runs: Sequence[Run], place: tuple[int, int]) -> str:
    time, number = place
    rows = [joint.rows[at] for at in holes_in(runs)]
    stage = stage_number(number, max(len(row.stages) for row in rows)) or _("ALL HOLES")
    times = max(row.times for row in rows)
    if time == 1:
        return stage
    return f"{_('{time} of {times} times', time=time, times=times)}, {stage}"


def _head(called: str, runs: Sequence[Run], sheet: Sheet) -> Block:
    """Which stage it is, and the order through all holes of it."""
    order = "-".join(str(number) for run in runs for number in run.holes)
    told = _("{stage}, in this order through all kinds: {order}", stage=called, order=order)
    return sheet.cells([Cell(0, sheet.width, (Part(told, 12, bold=True, lines=6, smallest=9),))])


def _setting(
    joint: TightenJointView,
    placed: tuple[int, TightenRowView],
    holes: Sequence[int],
    number: int,
    sheet: Sheet,
) -> Iterator[Block]:
    """What is set for one kind at a stage, under its name and holes."""
    at, row = placed
    named = letters(joint.drawing.holes) if joint.drawing is not None else {}
    drawn = joint.drawing.holes if joint.drawing is not None else ()
    letter = {named[hole.fastener] for hole in drawn if hole.row == at and hole.fastener in named}
    name = f"{'/'.join(sorted(letter))} = {row.position}" if letter else row.position
    numbers = ", ".join(map(str, sorted(holes)))
    title = _("{position}: holes {numbers}", position=name, numbers=numbers)
    yield sheet.cells([Cell(0, sheet.width, (Part(title, 10.5, bold=True, lines=3),))])
    if row.stages:
        stages = (number, len(row.stages))
        yield stage_block(row.stages[number - 1], stages, row.left_hand, sheet)
    else:
        yield unknown_block(row, sheet)


def _boxes(row: TightenRowView, run: Run, place: tuple[int, int], sheet: Sheet) -> Iterator[Block]:
    """The boxes of holes that follow each other, with what is set for them."""
    number = place[1]
    figure = hand_figure(row.stages[number - 1]) if row.stages else _(NO_FIGURE)
    parts = [Part(figure, 13, bold=True, lines=1, smallest=9), Part(row.position, 9.5, lines=2)]
    if row.left_hand:
        parts.append(Part(_(LEFT_HAND), 10, bold=True, lines=1, smallest=8))
    words = sheet.cells([Cell(FIGURE, TICKS - FIGURE - 3, tuple(parts))])
    yield from with_boxes(words, figure, tuple(map(str, run.holes)), sheet)
