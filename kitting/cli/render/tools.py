"""Tools on the screen: lists, the check with its range chart, purchases, reach."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import with_steps
from kitting.cli.render import headings
from kitting.cli.render.days import day_text
from kitting.cli.render.tables import plain_table
from kitting.facts.tool_words import FigureVerdict, ToolVerdict
from kitting.views.tools import (
    BuyView,
    NeedView,
    OpeningView,
    ReachView,
    ScaleView,
    ToolCheckView,
    ToolListing,
)
from kitting.wording.figures import money
from kitting.wording.language import _, n_, word_text
from kitting.wording.reasons import say
from kitting.wording.tool_buying import (
    aim_text,
    brings_texts,
    closing_text,
    left_out_text,
    opening_text,
)
from kitting.wording.tools import (
    FIGURE_MARKS,
    gap_text,
    marks_text,
    requirement_text,
    scale_text,
    train_text,
    where_text,
)

_MOST = 10
_VERDICTS = {ToolVerdict.UNKNOWN: "CANNOT BE PROVEN", ToolVerdict.STOPPED: "STOPPED"}


def show_list(console: Console, tools: Sequence[ToolListing]) -> None:
    """Every tool with where it is."""
    table = plain_table(
        headings.BOX,
        headings.CODE,
        headings.WHAT,
        headings.TURNS,
        headings.SQUARE,
        headings.SCALE,
        headings.WHERE,
    )
    for tool in tools:
        square = " → ".join(f"{side} in" for side in (tool.takes, tool.gives) if side)
        name = tool.name if tool.name != tool.code else tool.sort
        turns = str(tool.turns) if tool.turns else ""
        table.add_row(tool.box, tool.code, name, turns, square, marks_text(tool), where_text(tool))
    console.print(table)


def to_state(wrenches: Iterable[ToolListing | ScaleView]) -> Iterator[str]:
    """Which wrenches prove no figure, for the steps of their scale, and the command of each."""
    for wrench in wrenches:
        if wrench.lacks_steps:
            told = _(
                "{box} {tool}: the steps of its scale are not stated", box=wrench.box,
                tool=wrench.code,
            )  # fmt: skip
            step = next_step(Action.STATE_RESOLUTION, box=wrench.box, tool=wrench.code)
            yield with_steps(told, (step,))


def show_check(console: Console, view: ToolCheckView) -> None:
    """Gaps first, then what is there, then the range chart."""
    states = [need.state for need in view.needs]
    gaps, stopped = states.count(ToolVerdict.GAP), states.count(ToolVerdict.STOPPED)
    unknown = states.count(ToolVerdict.UNKNOWN)
    waiting = [n_("{count} stopped", "{count} stopped", stopped)] if stopped else []
    console.print(f"{view.vehicle}: {', '.join(view.jobs)}", style="bold")
    console.print(
        _(
            "Boxes {boxes} on {on}, range policy {policy}",
            boxes=", ".join(view.boxes),
            on=day_text(view.on),
            policy=view.policy,
        )
    )
    have = states.count(ToolVerdict.HAVE)
    told = [
        n_("{count} gap", "{count} gaps", gaps),
        *waiting,
        _("{count} that cannot be proven", count=unknown),
        n_("{count} in order", "{count} in order", have),
    ]
    console.print(", ".join(told))
    for state in ToolVerdict:
        needs = [need for need in view.needs if need.state == state]
        if needs:
            console.print()
            _needs(console, needs, state)
    if view.scales or view.figures:
        console.print()
        console.print(_("TORQUE RANGES  N·m, logarithmic"), style="bold")
        for line in range_chart(view, console.width):
            console.print(line)


def _needs(console: Console, needs: Sequence[NeedView], state: ToolVerdict) -> None:
    have = state == ToolVerdict.HAVE
    table = plain_table(
        headings.BARE, headings.WHAT, headings.HOW if have else headings.WHY_NOT, headings.WHERE
    )
    mark = word_text(state).upper()
    for need in needs:
        trains = [train_text(train) for train in need.trains]
        how = [*trains, *map(say, need.assumed)] if have else [*map(say, need.reasons)]
        places = [*need.places[:3], _("and {places} more", places=len(need.places) - 3)][
            : len(need.places)
        ][:4]
        table.add_row(mark, requirement_text(need.what), "\n".join(how), "\n".join(places))
    console.print(table)


def range_chart(view: ToolCheckView, line: int) -> list[str]:
    """Wrenches as bars and figures as marks on a logarithmic scale, in lines of at most `line`.

    A bar of ═ can be used, one of ┄ cannot; a figure is ● where a wrench does it, else ○.
    """
    values = [figure.newton_metres for figure in view.figures]
    values += [edge for scale in view.scales for edge in (scale.low, scale.high) if edge > 0]
    if not values:
        return []
    names = [f"{scale.box} {scale.code}" for scale in view.scales]
    names += [str(figure.published) for figure in view.figures]
    name_width = max(map(len, names))
    tails = [scale_text(scale.scale) for scale in view.scales] + [
        _(mark) for mark in FIGURE_MARKS.values()
    ]
    width = max(16, line - name_width - max(map(len, tails)) - 6)
    low, high = math.log10(min(values) * 0.9), math.log10(max(values) * 1.1)

    def place(value: float) -> int:
        share = (math.log10(max(value, 10**low)) - low) / (high - low)
        return min(width - 1, max(0, round(share * (width - 1))))

    lines = []
    for scale in view.scales:
        start, end = place(scale.low), place(scale.high)
        bar = " " * start + ("┄" if scale.away else "═") * (end - start + 1)
        name = f"{scale.box} {scale.code}".ljust(name_width)
        lines.append(f"  {name}  {bar.ljust(width)}  {scale_text(scale.scale)}")
        if scale.away:
            lines.append(f"  {''.ljust(name_width)}  {' ' * start}{say(scale.away)}")
    for figure in view.figures:
        mark = "●" if figure.state == FigureVerdict.HAVE else "○"
        word = _(FIGURE_MARKS[figure.state])
        marks = (" " * place(figure.newton_metres) + mark).ljust(width)
        lines.append(f"  {str(figure.published).rjust(name_width)}  {marks}  {word}".rstrip())
    return lines


def show_buy(console: Console, view: BuyView) -> None:
    """What to buy, what each thing closes, and what the next best would cost."""
    if view.bought and view.total is not None:
        total = money(view.total)
        console.print(
            _("The cheapest way to {aim}, proven: {total}", aim=aim_text(view.closed), total=total),
            style="bold",
        )
        table = plain_table(
            headings.PRICE, headings.OFFER, headings.WAY, headings.BRINGS, headings.NEEDED_FOR
        )
        for bought in view.bought:
            table.add_row(
                money(bought.price),
                f"{bought.offer}: {bought.name}, {bought.supplier}",
                bought.way,
                "\n".join(brings_texts(bought)),
                "\n".join(map(closing_text, bought.closes)),
            )
        console.print(table)
        if view.next_cheapest:
            others = ", ".join(view.next_offers)
            console.print(
                _(
                    "The next cheapest choice costs {next_cheapest}: {others}",
                    next_cheapest=money(view.next_cheapest),
                    others=others,
                )
            )
        else:
            console.print(_("No other choice of offers closes them."))
    elif not view.not_closed and not view.not_proven:
        console.print(_("There is no gap to close."))
    for gap in view.not_closed:
        console.print(_("NOT CLOSED by anything on offer: {gap}", gap=gap_text(gap)))
    for need in view.not_proven:
        why = "; ".join(map(say, need.reasons))
        console.print(f"{_(_VERDICTS[need.state])}: {requirement_text(need.what)}: {why}")
    for offer in view.left_out:
        console.print(
            _("NOT COMPARED, in another currency: {left_out}", left_out=left_out_text(offer))
        )


def show_reach(console: Console, view: ReachView) -> None:
    """What opens most jobs, what is not on offer, what most jobs depend on."""
    console.print(
        _("{possible} of {jobs} jobs can be done now", possible=len(view.possible), jobs=view.jobs),
        style="bold",
    )
    _openings(console, _("WHAT WOULD OPEN JOBS"), view.offers)
    _openings(console, _("MISSING, AND NOT ON OFFER"), view.not_on_offer)
    if view.critical:
        console.print()
        console.print(_("WHAT THEY DEPEND ON: without it, these could not be done"), style="bold")
        table = plain_table(headings.JOBS, headings.TOOL, headings.WHICH)
        for row in view.critical[:_MOST]:
            table.add_row(str(len(row.blocks)), f"{row.box} {row.tool}", _few(row.blocks))
        console.print(table)


def _openings(console: Console, title: str, rows: Sequence[OpeningView]) -> None:
    if not rows:
        return
    console.print()
    console.print(title, style="bold")
    table = plain_table(headings.OPENS, headings.HELPS, headings.WHAT, headings.JOBS)
    for row in rows[:_MOST]:
        jobs = _few(row.opens or row.waits)
        table.add_row(str(len(row.opens)), str(len(row.waits)), opening_text(row), jobs)
    console.print(table)
    if len(rows) > _MOST:
        console.print(_("and {rows} more: see --json", rows=len(rows) - _MOST))


def _few(jobs: Sequence[str], most: int = 4) -> str:
    left = len(jobs) - most
    return ", ".join(jobs[:most]) + (" " + _("and {left} more", left=left) if left > 0 else "")
