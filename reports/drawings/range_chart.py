"""The range chart: wrenches as bars and figures as marks on a logarithmic scale in N·m."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from kitting.facts.tool_words import FigureVerdict
from kitting.reports.drawings.ranges import LogScale, lanes, scale_for
from kitting.reports.sheet import Block, Sheet
from kitting.reports.text import MM, Fitted, draw, fit, width_of
from kitting.views.tools import FigureView, ScaleView, ToolCheckView
from kitting.wording.figures import day
from kitting.wording.language import _, in_figures
from kitting.wording.reasons import say
from kitting.wording.tools import FIGURE_MARKS, scale_text

# More than these on one chart would no longer be read at a glance; a further chart follows.
_WRENCHES, _FIGURES = 12, 16
# No chart is higher than this, in mm: it has to find room on any page.
_HIGHEST = 210.0
# Columns in mm: names on the left, printed scales on the right.
_NAMES, _SCALES = 44.0, 44.0
_LANE, _AXIS, _BAR, _AIR = 4.8, 8.0, 2.8, 2.0
_MARK = 1.3


@dataclass(frozen=True, slots=True)
class _Lane:
    """A wrench with its texts: name and reason on the left, printed scale on the right."""

    scale: ScaleView
    left: tuple[Fitted, ...]
    right: tuple[Fitted, ...]

    @property
    def height(self) -> float:
        """In mm, with the air below it."""
        tallest = max(sum(text.height for text in side) for side in (self.left, self.right))
        return max(_LANE, tallest / MM + 1.2)


@dataclass(frozen=True, slots=True)
class _Mark:
    """A figure: where it lies on the scale, its words, and its lane above the bars."""

    x: float
    words: Fitted
    covered: bool
    lane: int


@dataclass(frozen=True, slots=True)
class _Chart:
    scale: LogScale
    title: Fitted
    key: Fitted
    marks: tuple[_Mark, ...]
    lanes: tuple[_Lane, ...]

    @property
    def lower(self) -> float:
        """How far below the top of the title the key begins, in points: their feet are level."""
        return 0.93 * (self.title.size - self.key.size)

    @property
    def head(self) -> float:
        """Height of the title and the key beside it, in mm."""
        return max(self.title.height, self.lower + self.key.height) / MM + 0.5

    @property
    def over(self) -> float:
        """Height of the figures above the bars."""
        return _LANE * (1 + max((mark.lane for mark in self.marks), default=-1)) + 1

    @property
    def height(self) -> float:
        """Height of it all, in mm."""
        return self.head + self.over + sum(lane.height for lane in self.lanes) + _AXIS + _AIR


def range_charts(view: ToolCheckView, sheet: Sheet) -> Iterator[Block]:
    """One chart, or several where one would be too crowded; none where nothing has a torque."""
    values = [figure.newton_metres for figure in view.figures]
    values += [edge for scale in view.scales for edge in (scale.low, scale.high)]
    scale = scale_for(values, sheet.width - _NAMES - _SCALES)
    if scale is None:
        return
    figures = sorted(view.figures, key=lambda figure: (figure.newton_metres, figure.published.unit))
    heading = _heading(_("TORQUE RANGES"), sheet)
    charts = []
    for some in _parts(figures, _FIGURES):
        marks = _marks(some, scale)
        room = _HIGHEST - _Chart(scale, *heading, marks, ()).height
        charts += [(marks, few) for few in _fill(list(map(_lane, view.scales)), room)]
    for number, (marks, few) in enumerate(charts, 1):
        if len(charts) > 1:
            told = _("TORQUE RANGES {number} of {count}", number=number, count=len(charts))
            heading = _heading(told, sheet)
        chart = _Chart(scale, *heading, marks, few)
        yield Block(chart.height, partial(_paint, chart))


def _heading(text: str, sheet: Sheet) -> tuple[Fitted, Fitted]:
    """The title, and the key that stands beside it."""
    title = fit(text, (60 * MM, 14), (10.5, 8), bold=True, lines=1)
    key = _(
        "N·m, logarithmic · solid bar: usable · dashed bar: away"
        " · filled mark: a wrench does it · hollow mark: none does"
    )
    room = sheet.width * MM - _beside(title)
    return title, fit(key, (room, 18), (7.5, 6.5), lines=2)


def _beside(title: Fitted) -> float:
    """How far right of the title's left edge its key begins, in points."""
    return width_of("".join(title.lines), title.size, True) + 3 * MM


def _parts(figures: Sequence[FigureView], most: int) -> list[Sequence[FigureView]]:
    """Figures in parts of nearly equal size, at least one part."""
    count = max(1, -(-len(figures) // most))
    size = -(-len(figures) // count)
    return [figures[n * size : (n + 1) * size] for n in range(count)]


def _fill(bars: Sequence[_Lane], room: float) -> list[tuple[_Lane, ...]]:
    """Wrenches in as many parts as they need, each no higher than `room` mm; at least one part."""
    found: list[tuple[_Lane, ...]] = [()]
    for bar in bars:
        high = sum(one.height for one in found[-1]) + bar.height
        if found[-1] and (high > room or len(found[-1]) == _WRENCHES):
            found.append(())
        found[-1] = (*found[-1], bar)
    return found


def _marks(figures: Sequence[FigureView], scale: LogScale) -> tuple[_Mark, ...]:
    places, words = [], []
    for figure in figures:
        covered = figure.state == FigureVerdict.HAVE
        mark = _(FIGURE_MARKS[figure.state])
        text = f"{in_figures(str(figure.published))} {mark}".rstrip()
        place = scale.at(figure.newton_metres)
        places.append(place)
        # Words reach over the column of scales, which is free up there.
        room = (scale.width - place + _SCALES - 2 * _MARK) * MM
        words.append(fit(text, (room, 12), (8, 6.5), bold=not covered, lines=1))
    wide = [_MARK + 0.6 + _width(text) for text in words]
    found = zip(places, words, figures, lanes(places, wide), strict=True)
    return tuple(
        _Mark(x, text, fig.state == FigureVerdict.HAVE, lane) for x, text, fig, lane in found
    )


def _width(text: Fitted) -> float:
    return max((width_of(line, text.size, text.bold) for line in text.lines), default=0.0) / MM


def _lane(scale: ScaleView) -> _Lane:
    left, right = (_NAMES - 2) * MM, (_SCALES - 3) * MM
    name = fit(f"{scale.box} {scale.code}", (left, 40), (9.5, 7.5), bold=True, lines=2)
    names, scales = [name], [fit(scale_text(scale.scale), (right, 40), (9, 7), lines=2)]
    if scale.away is not None:
        names.append(fit(_("AWAY: {why}", why=say(scale.away)), (left, 60), (8, 7), lines=4))
    elif scale.calibrated_to is not None:
        until = _("calibrated to {date}", date=day(scale.calibrated_to))
        scales.append(fit(until, (right, 24), (7.5, 6.5), lines=2))
    return _Lane(scale, tuple(names), tuple(scales))


def _paint(chart: _Chart, sheet: Sheet) -> None:
    """Title, figures, bars, and the axis at the foot; lines from the figures lie below the bars."""
    x, top = sheet.point(0, 0)
    draw(sheet.canvas, x, top, chart.title)
    draw(sheet.canvas, x + _beside(chart.title), top - chart.lower, chart.key)
    foot = chart.height - _AXIS - _AIR
    _paint_marks(chart, foot, sheet)
    down = chart.head + chart.over
    for lane in chart.lanes:
        _paint_lane(lane, chart.scale, down, sheet)
        down += lane.height
    _paint_axis(chart.scale, foot, sheet)


def _paint_marks(chart: _Chart, foot: float, sheet: Sheet) -> None:
    canvas = sheet.canvas
    for mark in chart.marks:
        down = chart.head + chart.over - 1 - _LANE * (mark.lane + 1)
        x, top = sheet.point(_NAMES + mark.x, down)
        _, end = sheet.point(0, foot)
        tall = (_LANE - 1.0) * MM
        canvas.setLineWidth(0.7)
        canvas.line(x, top - tall, x, end)
        canvas.setLineWidth(0.9)
        canvas.rect(
            x - _MARK / 2 * MM, top - tall, _MARK * MM, tall, stroke=1, fill=int(mark.covered)
        )
        words = mark.words
        draw(canvas, x + (_MARK / 2 + 0.8) * MM, top - (tall - words.height) / 2, words)


def _paint_lane(lane: _Lane, scale: LogScale, down: float, sheet: Sheet) -> None:
    canvas = sheet.canvas
    x, top = sheet.point(0, down)
    for text in lane.left:
        top = draw(canvas, x, top, text)
    x, top = sheet.point(sheet.width - _SCALES + 3, down)
    for text in lane.right:
        top = draw(canvas, x, top, text)
    start, length = scale.bar(lane.scale.low, lane.scale.high)
    x, y = sheet.point(_NAMES + start, down + 0.5 + _BAR)
    canvas.setLineWidth(1.0)
    if lane.scale.away is None:
        canvas.rect(x, y, length * MM, _BAR * MM, stroke=1, fill=1)
        return
    canvas.saveState()
    canvas.setDash(2.5, 2)
    canvas.rect(x, y, length * MM, _BAR * MM, stroke=1, fill=0)
    canvas.restoreState()


def _paint_axis(scale: LogScale, foot: float, sheet: Sheet) -> None:
    canvas = sheet.canvas
    canvas.setLineWidth(0.8)
    x, y = sheet.point(_NAMES, foot)
    canvas.line(x, y, x + scale.width * MM, y)
    for value in scale.ticks():
        at = x + scale.at(value) * MM
        canvas.line(at, y, at, y - 1.3 * MM)
        label = fit(in_figures(_plain(value)), (14 * MM, 12), (8.5, 6.5), lines=1)
        draw(canvas, at - _width(label) * MM / 2, y - 1.6 * MM, label)
    unit = fit("N·m", (14 * MM, 12), (8.5, 6.5), bold=True, lines=1)
    draw(canvas, x + (scale.width + 2) * MM, y - 1.6 * MM, unit)


def _plain(value: float) -> str:
    """A tick without needless zeros and never without its leading one: 0.5, 1, 1000."""
    text = f"{value:.9f}"
    return text.rstrip("0").rstrip(".")
