"""A stage of a tightening: what the hand sets largest, what was published below, and the tools."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from kitting.facts.verdicts import Verdict
from kitting.reports.drawings.blank_lines import blank_lines
from kitting.reports.sheet import Block, Cell, Part, Sheet
from kitting.views.tightening import TightenStageView
from kitting.wording.language import _
from kitting.wording.reasons import say
from kitting.wording.settings import (
    check_scale_text,
    hand_figure,
    hand_text,
    published_text,
    scale_text,
    stage_number,
)
from kitting.wording.tightening import LEFT_HAND
from kitting.wording.tools import tools_text

# Columns in mm from the left margin: what the hand sets, the tools, boxes to tick.
FIGURE, TOOLS, TICKS = 0.0, 52.0, 103.0
# Sizes in points: what is set, a figure for which nothing is set yet, which stage it is.
SET, ONLY_PUBLISHED, NUMBER = 24.0, 17.0, 13.0


def stage_block(stage: TightenStageView, place: tuple[int, int], left_hand: bool,
                sheet: Sheet) -> Block:  # fmt: skip
    """A stage, `place` of how many: its figure and its tools, with lines to write on without any.

    Which stage it is and a left-hand thread are told at every figure: a stage may begin a page.
    """
    words = sheet.cells(
        [
            Cell(FIGURE, TOOLS - FIGURE - 3, tuple(_figure(stage, place, left_hand))),
            Cell(TOOLS, TICKS - TOOLS - 3, tuple(_tools(stage))),
        ]
    )
    if stage.proven:
        return words
    lines = blank_lines((_("tool used"), _("set to")), FIGURE, TICKS - FIGURE - 3)
    return Block(words.height + lines.height, partial(_paint, words, lines))


def _paint(words: Block, lines: Block, sheet: Sheet) -> None:
    words.draw(sheet)
    sheet.y += words.height
    lines.draw(sheet)
    sheet.y -= words.height


def _figure(stage: TightenStageView, place: tuple[int, int], left_hand: bool) -> Iterator[Part]:
    number = stage_number(*place)
    if number:
        yield Part(number, NUMBER, bold=True, lines=2, smallest=10)
    if left_hand:
        yield Part(_(LEFT_HAND), 11, bold=True, lines=2, smallest=9)
    above = hand_text(stage)
    if above is not None:
        yield Part(above, 8.5, bold=True, lines=3)
    is_set = stage.stage.torque is None or (stage.train is not None and stage.train.setting)
    size = SET if is_set else ONLY_PUBLISHED
    yield Part(hand_figure(stage), size, bold=True, lines=2, smallest=12)
    unknown = None if stage.train is None else check_scale_text(stage.train)
    if unknown is not None:
        yield Part(unknown, 9.5, bold=True, lines=4)
    published = published_text(stage)
    if published is not None:
        yield Part(published, 9.5, lines=3)
    scale = None if stage.train is None else scale_text(stage.train)
    if scale is not None:
        yield Part(scale, 8.5, lines=2)


def _tools(stage: TightenStageView) -> Iterator[Part]:
    if not stage.proven:
        reasons = "; ".join(map(say, stage.reasons))
        unproven = stage.verdict is Verdict.UNKNOWN
        none = _("NO TOOL PROVEN FOR THIS STAGE") if unproven else _("NO TOOL FOR THIS STAGE")
        yield Part(none, 10, bold=True, lines=3)
        yield Part(reasons or _("no reason is stated"), 9, lines=12)
    if stage.train is None:
        return
    yield Part(tools_text(stage.train), 10, lines=6)
    if stage.train.note is not None:
        corrected = stage.train.corrected
        yield Part(say(stage.train.note), 9.5 if corrected else 8.5, bold=corrected, lines=6)
