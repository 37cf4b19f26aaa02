"""The tool check: what to lay out, the torque ranges, what the boxes cannot do, every task."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import BinaryIO

from kitting.facts.tool_words import ToolVerdict
from kitting.reports.drawings.range_chart import range_charts
from kitting.reports.sheet import TICK, Block, Cell, Heading, Part, Sheet, render
from kitting.reports.text import MM, draw, fit, width_of
from kitting.views.tools import LayOutView, NeedView, ToolCheckView, TrainView
from kitting.wording.figures import day
from kitting.wording.language import N_, _, n_
from kitting.wording.laying_out import settings_text, tasks_text
from kitting.wording.reasons import say
from kitting.wording.settings import check_scale_text
from kitting.wording.tool_buying import cover_texts
from kitting.wording.tools import (
    POLICIES,
    requirement_text,
    setting_text,
    tools_text,
)

_ROW = 9.0
# Where the column "what" begins, in mm from the left margin, after the state.
_WHAT = 26.0
_STATES = tuple(ToolVerdict)
_PLACES, _REASONS = 4, 8
_STATE_WORDS: Mapping[ToolVerdict, str] = {
    ToolVerdict.GAP: N_("GAP"),
    ToolVerdict.STOPPED: N_("STOPPED"),
    ToolVerdict.UNKNOWN: N_("NOT PROVEN"),
    ToolVerdict.HAVE: N_("HAVE"),
}


def draw_tool_check(view: ToolCheckView, target: BinaryIO, paper: str = "A4") -> int:
    """Write a tool check as PDF; returns the number of pages.

    Raises KittingError for an unknown paper.
    """
    heading = Heading(_("Tool check"), _name(view), _about(view), view.cautions, jobs=view.jobs)
    return render(target, paper, heading, partial(_body, view))


def _name(view: ToolCheckView) -> str:
    if view.booking is None:
        return view.reference
    return _("{booking} · kit {kit}", booking=view.booking, kit=view.reference)


def _about(view: ToolCheckView) -> str:
    return _("{vehicle} · fitting date {date}", vehicle=view.vehicle, date=day(view.on))


def _body(view: ToolCheckView, sheet: Sheet) -> None:
    kit = _("kit {kit}", kit=view.reference) if view.booking is None else _name(view)
    sheet.text(_("TOOL CHECK  {kit}", kit=kit), 18, bold=True, lines=2, gap=0.5)
    sheet.text(_about(view), 11, bold=True, gap=1.2)
    for job in view.jobs:
        sheet.text(job, 10, gap=0.3)
    boxes = ", ".join(view.boxes) or _("no toolbox is described")
    sheet.text(_("Boxes: {boxes}", boxes=boxes), 10, gap=0.3)
    policy = _(POLICIES[view.policy])
    sheet.text(_("Valid range of a torque wrench: {policy}", policy=policy), 10, gap=2)
    _counts(view, sheet)
    stopped = [_("STOPPED: {why}", why=say(reason)) for reason in view.stopped]
    sheet.box(_("NOT CHECKED: what is asked of the tools is not all known"), stopped)
    sheet.blanks((_("laid out by"), _("date"), _("checked by")))
    sheet.y += 3
    _lay_out(view.lay_out, sheet)
    for chart in range_charts(view, sheet):
        sheet.keep([chart])
    sheet.box(_("WHAT WOULD CLOSE THE GAPS"), cover_texts(view))
    open_needs = [need for need in view.needs if need.state is not ToolVerdict.HAVE]
    met = [need for need in view.needs if need.state is ToolVerdict.HAVE]
    _needs(_("NOT TO BE LAID OUT: gaps, and what cannot be proven"), open_needs, sheet)
    _needs(_("WHAT EACH TASK IS DONE WITH"), met, sheet)
    if not view.needs and not view.stopped:
        sheet.text(_("Nothing is asked of the tools."), 10)
    sheet.cautions()


def _lay_out(tools: Sequence[LayOutView], sheet: Sheet) -> None:
    """Every tool that the work takes, once each, with a box to tick."""
    if not tools:
        return
    heads = (_("LAY OUT"), _("BOX"), _("FOR"))
    titles = [
        Cell(x, width, (Part(text, 10 if not x else 8, bold=True, lines=2, smallest=6.5),))
        for (x, width), text in zip(_places(sheet), heads, strict=True)
    ]
    first = sheet.cells(_tool_cells(tools[0], sheet), _ROW)
    sheet.ensure(sheet.cells(titles, 6.0).height + first.height)
    repeat = partial(_titles_of_tools, titles)
    repeat(sheet)
    sheet.repeat = repeat
    for tool in tools:
        sheet.row(_tool_cells(tool, sheet), _ROW, tick=True)
    sheet.repeat = None
    sheet.y += 4


def _titles_of_tools(titles: Sequence[Cell], sheet: Sheet) -> None:
    sheet.row(titles, 6.0)


def _places(sheet: Sheet) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
    """Where the columns of the tools begin and how wide they are: tool, box, what it is for."""
    box, tasks = 0.5 * sheet.width, 0.64 * sheet.width
    return (0.0, box - 2), (box, tasks - box - 2), (tasks, sheet.width - tasks)


def _tool_cells(tool: LayOutView, sheet: Sheet) -> list[Cell]:
    (_left, wide), (box, box_wide), (tasks, tasks_wide) = _places(sheet)
    what = [Part(tool.code, 12, bold=True, lines=2, smallest=9)]
    if tool.name != tool.code:
        what.append(Part(tool.name, 9, lines=3))
    for_what = [Part(tasks_text(tool), 9.5, lines=4)]
    settings = settings_text(tool)
    if settings is not None:
        for_what.append(Part(settings, 9.5, bold=True, lines=6))
    return [
        Cell(TICK + 3, wide - TICK - 3, tuple(what)),
        Cell(box, box_wide, (Part(tool.box, 10.5, bold=True, lines=2),)),
        Cell(tasks, tasks_wide, tuple(for_what)),
    ]


def _counts(view: ToolCheckView, sheet: Sheet) -> None:
    """How the check came out, in framed figures; what stops the work has the heavy frame."""
    states = [need.state for need in view.needs]
    gaps, stopped = states.count(ToolVerdict.GAP), states.count(ToolVerdict.STOPPED)
    unknown = states.count(ToolVerdict.UNKNOWN)
    waiting = bool(stopped or view.stopped)
    found = (
        (gaps, n_("gap", "gaps", gaps)),
        *([(stopped or len(view.stopped), _("stopped"))] if waiting else []),
        (unknown, _("not proven") if waiting else _("cannot be proven")),
        (states.count(ToolVerdict.HAVE), _("in order")),
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
        label = fit(words, ((wide - 26) * MM, high * MM), (12, 8), bold=heavy, lines=2)
        start = x + 4 * MM
        draw(sheet.canvas, start, y + (high * MM + figure.height) / 2, figure)
        start += width_of("".join(figure.lines), figure.size, figure.bold) + 3 * MM
        draw(sheet.canvas, start, y + (high * MM + label.height) / 2, label)


def _needs(name: str, needs: Sequence[NeedView], sheet: Sheet) -> None:
    """Needs without a box to tick: what is ticked is the tool that is laid out."""
    if not needs:
        return
    ordered = sorted(needs, key=_rank)
    first = _row(ordered[0], sheet)
    head = sheet.cells([Cell(0, sheet.width, (Part(name, 11, bold=True, lines=2),))])
    # The headings never stand alone at the foot of a page.
    titles = sheet.cells(_titles(sheet), 6.0).height
    sheet.ensure(head.height + titles + sheet.cells(first, _ROW).height)
    sheet.keep([head])
    _headings(sheet)
    sheet.repeat = _headings
    for need in ordered:
        sheet.row(_row(need, sheet), _ROW)
    sheet.repeat = None
    sheet.y += 4


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
        (0.0, _WHAT, _("STATE")), (_WHAT, how - _WHAT, _("WHAT")),
        (how, places - how, _("HOW, OR WHY NOT")), (places, end - places, _("WHERE")),
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
    word = Part(_(_STATE_WORDS[need.state]), size, bold=not have, lines=2, smallest=8)
    return [
        Cell(1.5, 13.0 if gap else 23.0, (word,), frame=gap),
        Cell(_WHAT, how - _WHAT - 2.5, (what,)),
        Cell(how, places - how - 2.5, tuple(_how(need))),
        Cell(places, end - places, tuple(_few(need.places, _PLACES))),
    ]


def _how(need: NeedView) -> Iterator[Part]:
    """The trains from hand to head, or why there is none."""
    if need.state != ToolVerdict.HAVE:
        if not need.reasons:
            yield Part(_("no reason is stated"), 9)
        yield from _few(tuple(map(say, need.reasons)), _REASONS, lines=6)
    for number, train in enumerate(need.trains):
        yield from _train(train, other=bool(number))
    yield from _few(tuple(map(say, need.assumed)), _REASONS, lines=6)


def _train(train: TrainView, *, other: bool) -> Iterator[Part]:
    tools = tools_text(train)
    yield Part(_("or {tools}", tools=tools) if other else tools, 9, lines=5)
    setting = setting_text(train)
    if setting is not None:
        yield Part(setting, 9, bold=True, lines=2)
    unknown = check_scale_text(train)
    if unknown is not None:
        yield Part(unknown, 9, bold=True, lines=4)
    if train.note is not None:
        yield Part(say(train.note), 8.5, lines=5)


def _few(texts: Sequence[str], most: int, lines: int = 4) -> Iterator[Part]:
    for text in texts[:most]:
        yield Part(text, 9, lines=lines)
    if len(texts) > most:
        yield Part(_("and {count} more", count=len(texts) - most), 9, lines=1)
