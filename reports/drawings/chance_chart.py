"""The chart of chances: a bar per date, the level asked for as a line, cost below."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

from kitting.facts.words import DateState
from kitting.reports.sheet import Block, Sheet
from kitting.reports.text import MM, THINNEST, Fitted, draw, fit, width_of
from kitting.views.possible_dates import DatesView, DateView
from kitting.wording.figures import money
from kitting.wording.language import N_, _, dated, in_figures
from kitting.wording.purchasing import at_most, chance_of_date, if_vans

# More than these side by side would no longer be read; a further chart follows.
_MOST = 12
# Heights in mm: title, the bars at a chance of 1, what stands below them.
_TITLE, _BARS, _UNDER, _AIR = 9.0, 50.0, 34.0, 3.0
# More below the bars where each says what it hangs on.
_HANGS = 14.0
# More below the bars where something is offered by nobody.
_REST = 9.0
# The scale of chances on the left, in mm.
_AXIS = 13.0
# A word and a shape each, so that neither colour nor grey is needed.
_STATES = {
    DateState.SAFE: N_("● SAFE"),
    DateState.NOT_PROVEN: N_("? NOT PROVEN"),
    DateState.RISKY: N_("◐ RISKY"),
    DateState.IMPOSSIBLE: N_("× NO"),
}
_NO_COST = {
    DateState.SAFE: N_("nothing to buy"),
    DateState.NOT_PROVEN: N_("nothing to buy"),
    DateState.RISKY: N_("cost unknown"),
    DateState.IMPOSSIBLE: N_("cannot be had"),
}


def percent(chance: float) -> str:
    """A chance to read, cut to a tenth: it never looks higher than it is.

    >>> percent(0.9496), percent(0.95), percent(1.0), percent(0.0002)
    ('94.9 %', '95 %', '100 %', '< 0.1 %')
    """
    if 0 < chance < 0.001:
        return "< 0.1 %"
    tenths = math.floor(chance * 1000 + 1e-9)
    whole, rest = divmod(tenths, 10)
    return in_figures(f"{whole}.{rest} %") if rest else f"{whole} %"


def chance_charts(view: DatesView, sheet: Sheet) -> Iterator[Block]:
    """One chart, or several where there are more than 12 dates; none without a date."""
    count = -(-len(view.dates) // _MOST)
    if not count:
        return
    size = -(-len(view.dates) // count)
    for number in range(count):
        some = view.dates[number * size : (number + 1) * size]
        title = (
            _("CHANCE THAT EVERYTHING IS THERE IN TIME {number} of {count}", number=number + 1,
              count=count)
            if count > 1
            else _("CHANCE THAT EVERYTHING IS THERE IN TIME")
        )  # fmt: skip
        height = _TITLE + _BARS + _UNDER + _AIR + (_HANGS if view.vans else 0.0)
        height += _REST if any(day.rest is not None for day in view.dates) else 0.0
        yield Block(height, partial(_paint, some, view, size, title))


def _paint(
    some: Sequence[DateView], view: DatesView, columns: int, title: str, sheet: Sheet
) -> None:
    words = fit(title, (110 * MM, 14), (10.5, 8), bold=True, lines=1)
    x, top = sheet.point(0, 0)
    draw(sheet.canvas, x, top, words)
    start = x + width_of("".join(words.lines), words.size, True) + 4 * MM
    asked = percent(view.asked)
    meant = (
        _("hollow: hangs on a van, risky or not proven · dashed line: asked {chance}", chance=asked)
        if view.vans
        else _("filled: safe · hollow: risky or not proven · dashed line: asked {chance}",
               chance=asked)
    )  # fmt: skip
    key = fit(meant, (sheet.width * MM + x - start, 12), (8, 6.5), lines=1)  # fmt: skip
    draw(sheet.canvas, start, top - 0.93 * (words.size - key.size), key)
    _axis(sheet)
    _asked(view.asked, sheet)
    wide = min((sheet.width - _AXIS) / columns, 22.0)
    for number, day in enumerate(some):
        _bar(day, view, _AXIS + number * wide, wide, sheet)
        _under(day, view, _AXIS + number * wide, wide, sheet)


def _down(chance: float) -> float:
    """How far below the top of the chart a chance lies, in mm."""
    return _TITLE + _BARS * (1 - min(max(chance, 0.0), 1.0))


def _axis(sheet: Sheet) -> None:
    canvas = sheet.canvas
    for share in (0, 25, 50, 75, 100):
        x, y = sheet.point(_AXIS, _down(share / 100))
        label = fit(f"{share} %", ((_AXIS - 2) * MM, 12), (8, 6.5), lines=1)
        across = width_of("".join(label.lines), label.size)
        draw(canvas, x - across - 1.6 * MM, y + label.height / 2, label)
        canvas.setLineWidth(1.0 if share == 0 else THINNEST)
        canvas.line(x - 1 * MM, y, x + (sheet.width - _AXIS) * MM, y)


def _bar(day: DateView, view: DatesView, left: float, wide: float, sheet: Sheet) -> None:
    """A bar as high as the chance; the level asked for shows white in a filled one."""
    canvas, bar = sheet.canvas, wide * 0.56
    x, y = sheet.point(left + (wide - bar) / 2, _down(0))
    _, top = sheet.point(0, _down(day.chance))
    if day.state is DateState.IMPOSSIBLE or top <= y:
        return
    safe = day.state is DateState.SAFE and not view.vans
    canvas.saveState()
    canvas.setLineWidth(1.2)
    # White, so that the lines behind a hollow bar do not make it look hatched.
    canvas.setFillGray(0 if safe else 1)
    canvas.rect(x, y, bar * MM, top - y, stroke=1, fill=1)
    if safe:
        _, level = sheet.point(0, _down(view.asked))
        canvas.setStrokeGray(1)
        canvas.line(x + 1, level, x + bar * MM - 1, level)
    canvas.restoreState()


def _middle(sheet: Sheet, text: Fitted, middle: float, top: float) -> float:
    """Each line in the middle; returns the foot of the last."""
    x, _ = sheet.point(middle, 0)
    for line in text.lines:
        across = width_of(line, text.size, text.bold)
        top = draw(sheet.canvas, x - across / 2, top, replace(text, lines=(line,)))
    return top


def _under(day: DateView, view: DatesView, left: float, wide: float, sheet: Sheet) -> None:
    """Date, state, chance and cost below a bar; the earliest safe date in a frame."""
    x, top = sheet.point(left, _down(0) + 1.2)
    room = (wide - 2.2) * MM
    first = day.on == view.earliest
    safe = day.state is DateState.SAFE
    state = _(_STATES[day.state])
    if safe and view.vans:
        state = _("? SAFE{vans}", vans=if_vans(view.vans))
    sure = chance_of_date(day, view.vans, percent(day.chance))
    texts = (
        fit(dated(day.on, "%a"), (room, 12), (9, 6), bold=first, lines=1),
        fit(f"{day.on.day} {dated(day.on, '%b')}", (room, 14), (10.5, 6), bold=True, lines=1),
        fit(
            state, (room, 58 if view.vans else 24), (9.5, 6), bold=True, lines=6 if view.vans else 2
        ),
        fit(sure, (room, 24), (10, 6), bold=safe, lines=2),
        *_rest(day, view, room),
        fit(_cost(day), (room, 26), (9, 6), lines=2),
        fit(_("here by"), (room, 12), (8, 6), lines=1),
        fit(f"{day.by.day} {dated(day.by, '%b')}", (room, 12), (8, 6), lines=1),
    )
    foot = top
    for text in texts:
        foot = _middle(sheet, text, left + wide / 2, foot)
    if first:
        sheet.canvas.setLineWidth(1.4)
        sheet.canvas.rect(x, foot - 0.8 * MM, wide * MM, top - foot + 1 * MM)


def _rest(day: DateView, view: DatesView, room: float) -> Iterator[Fitted]:
    """How sure what is offered is, where nobody offers all of it."""
    if day.rest is not None:
        sure = at_most(view.vans, percent(day.rest))
        yield fit(_("{sure} of what is offered", sure=sure), (room, 26), (8, 6), lines=3)


def _cost(day: DateView) -> str:
    if day.cost is None and (day.chance or day.rest):
        return _("nothing to buy")
    return _(_NO_COST[day.state]) if day.cost is None else money(day.cost)


def _asked(asked: float, sheet: Sheet) -> None:
    """The level asked for: a heavy dashed line behind the bars."""
    canvas = sheet.canvas
    x, y = sheet.point(_AXIS, _down(asked))
    canvas.saveState()
    canvas.setLineWidth(1.6)
    canvas.setDash(4, 2)
    canvas.line(x, y, x + (sheet.width - _AXIS) * MM, y)
    canvas.restoreState()
