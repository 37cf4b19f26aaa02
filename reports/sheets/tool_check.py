"""The tool check: what the boxes cannot do first, the torque ranges, what to lay out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import BinaryIO

from kitting.facts.tool_words import ToolVerdict
from kitting.reports.drawings.range_chart import range_charts
from kitting.reports.sheet import Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tools import NeedView, ToolCheckView, TrainView
from kitting.wording.reasons import say
from kitting.wording.tool_buying import cover_texts
from kitting.wording.tools import (
    POLICIES,
    requirement_text,
    setting_text,
    tools_text,
)

_ROW = 9.0
# Columns in mm from the left margin: state, what; how and places share the rest.
_STATE, _WHAT = 12.0, 33.0
_STATES = tuple(ToolVerdict)
_PLACES, _REASONS = 4, 8


def draw_tool_check(view: ToolCheckView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a tool check as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    about = f"{view.vehicle} · fitting date {view.on}"
    heading = Heading("Tool check", view.reference, about, view.cautions)
    return render(target, paper, heading, partial(_body, view))


def _body(view: ToolCheckView, sheet: Sheet) -> None:
    sheet.text(f"TOOL CHECK  kit {view.reference}", 18, bold=True, lines=1, gap=0.5)
    sheet.text(f"{view.vehicle} · fitting date {view.on}", 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    boxes = ", ".join(view.boxes) or "no toolbox is described"
    sheet.text(f"Boxes: {boxes}", 10, gap=0.3)
    sheet.text(f"Valid range of a torque wrench: {POLICIES[view.policy]}", 10, gap=2)
    _counts(view, sheet)
    sheet.blanks(("laid out by", "date", "checked by"))
    sheet.y += 3
    for chart in range_charts(view, sheet):
        sheet.keep([chart])
    sheet.box("WHAT WOULD CLOSE THE GAPS", cover_texts(view))
    if not view.needs:
        sheet.text("Nothing is asked of the tools.", 10)
    else:
        _needs(view.needs, sheet)
    sheet.cautions()


def _counts(view: ToolCheckView, sheet: Sheet) -> None:
    """How the check came out, in framed figures; what stops the work has the heavy frame."""
    states = [need.state for need in view.needs]
    gaps, stopped = states.count(ToolVerdict.GAP), states.count(ToolVerdict.STOPPED)
    found = (
        (gaps, "gap" if gaps == 1 else "gaps"),
        *([(stopped, "stopped")] if stopped else []),
        (states.count(ToolVerdict.UNKNOWN), "not proven" if stopped else "cannot be proven"),
        (states.count(ToolVerdict.HAVE), "in order"),
    )
    sheet.keep([Block(14.0, partial(_paint_counts, found))])


def _paint_counts(found: Sequence[tuple[int, str]], sheet: Sheet) -> None:
    high, apart = 11.0, 4.0
    wide = (sheet.width - apart * (len(found) - 1)) / len(found)
    for place, (count, words) in enumerate(found):
        left = place * (wide + apart)
        x, y = sheet.point(left, high)
        heavy = place < len(found) - 1 and count > 0
        sheet.canvas.setLineWidth(2.0 if heavy else 0.9)
        sheet.canvas.rect(x, y, wide * MM, high * MM)
        figure = fit(str(count), (18 * MM, high * MM), (20, 10), bold=True, lines=1)
        label = fit(words, ((wide - 26) * MM, high * MM), (12, 8), bold=heavy, lines=1)
        start = x + 4 * MM
        draw(sheet.canvas, start, y + (high * MM + figure.height) / 2, figure)
        start += width_of("".join(figure.lines), figure.size, figure.bold) + 3 * MM
        draw(sheet.canvas, start, y + (high * MM + label.height) / 2, label)


def _needs(needs: Sequence[NeedView], sheet: Sheet) -> None:
    """Every need with a box to tick: gaps, then what cannot be proven, then what is there."""
    ordered = sorted(needs, key=_rank)
    first = _row(ordered[0], sheet)
    # The headings never stand alone at the foot of a page.
    sheet.ensure(sheet.cells(_titles(sheet), 6.0).height + sheet.cells(first, _ROW).height)
    _headings(sheet)
    sheet.repeat = _headings
    for need in ordered:
        sheet.row(_row(need, sheet), _ROW, tick=True)
    sheet.repeat = None


def _rank(need: NeedView) -> int:
    return _STATES.index(need.state)


def _columns(sheet: Sheet) -> tuple[float, float, float]:
    """Where how and places begin, and where places end."""
    how = _WHAT + 0.29 * (sheet.width - _WHAT)
    places = _WHAT + 0.70 * (sheet.width - _WHAT)
    return how, places, sheet.width


def _headings(sheet: Sheet) -> None:
    sheet.row(_titles(sheet), 6.0)


def _titles(sheet: Sheet) -> list[Cell]:
    how, places, end = _columns(sheet)
    titles = (
        (0.0, _STATE, "LAID OUT"), (_WHAT, how - _WHAT, "WHAT"),
        (how, places - how, "HOW, OR WHY NOT"), (places, end - places, "WHERE"),
    )  # fmt: skip
    return [
        Cell(x, width - 2, (Part(text, 8 if x else 7, bold=True, lines=2, smallest=6),))
        for x, width, text in titles
    ]


def _row(need: NeedView, sheet: Sheet) -> list[Cell]:
    how, places, end = _columns(sheet)
    have = need.state == ToolVerdict.HAVE
    gap = need.state == ToolVerdict.GAP
    size = 12.0 if gap else 9.5
    what = Part(requirement_text(need.what), 10, bold=True, lines=8)
    word = Part(need.state.upper(), size, bold=not have, lines=1)
    return [
        Cell(_STATE, 13.0 if gap else 19.0, (word,), frame=gap),
        Cell(_WHAT, how - _WHAT - 2.5, (what,)),
        Cell(how, places - how - 2.5, tuple(_how(need))),
        Cell(places, end - places, tuple(_few(need.places, _PLACES))),
    ]


def _how(need: NeedView) -> Iterator[Part]:
    """The trains from hand to head, or why there is none."""
    if need.state != ToolVerdict.HAVE:
        if not need.reasons:
            yield Part("no reason is stated", 9)
        yield from _few(tuple(map(say, need.reasons)), _REASONS, lines=6)
        return
    for number, train in enumerate(need.trains):
        yield from _train(train, "or " if number else "")
    yield from _few(tuple(map(say, need.assumed)), _REASONS, lines=6)


def _train(train: TrainView, before: str) -> Iterator[Part]:
    yield Part(f"{before}{tools_text(train)}", 9, lines=5)
    setting = setting_text(train)
    if setting is not None:
        yield Part(setting, 9, bold=True, lines=2)
    if train.note is not None:
        yield Part(say(train.note), 8.5, lines=5)


def _few(texts: Sequence[str], most: int, lines: int = 4) -> Iterator[Part]:
    for text in texts[:most]:
        yield Part(text, 9, lines=lines)
    if len(texts) > most:
        yield Part(f"and {len(texts) - most} more", 9, lines=1)
