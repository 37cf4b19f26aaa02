"""Completion chances on the screen: risks, spares, the frontier, what was learned, levels."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import with_steps
from kitting.cli.render import headings
from kitting.cli.render.purchasing import bar_of
from kitting.cli.render.tables import plain_table
from kitting.views.completion import CompletionView, LearnedView, LevelsView, RiskView
from kitting.wording.advice import (
    at_hand,
    estimate_tax,
    level_why,
    looked_at,
    pooling,
    refused,
    replay,
    rests_on,
    shifts,
    spares,
    taken,
    worth,
)
from kitting.wording.bookings import booked_text
from kitting.wording.figures import money, percent
from kitting.wording.reasons import say
from kitting.wording.verdicts import doubt_text


def show_completion(console: Console, view: CompletionView) -> None:
    """The chance first, then what to bring, why, and what more would cost."""
    target = f"{view.target * 100:g}%"
    console.print(
        f"{view.vehicle}: {', '.join(view.jobs)} on {view.on}: the chance to end without a second"
        f" order is {_without(view)}",
        style="bold",
    )
    for booked in view.booked:
        console.print(booked_text(booked))
    if view.doubts:
        console.print("NOT FINE, whatever passes its look:", style="bold")
    for doubt in view.doubts:
        console.print(f"  {doubt_text(doubt)}")
    _reached(console, view, target)
    _not_counted(console, view)
    if view.risks:
        console.print(
            f"(seals of one car fail together; if they did not: {percent(view.independent)})"
        )
        console.print()
        _risks(console, view.risks)
    _frontier(console, view)
    estimate = view.estimate
    console.print()
    limit = "Agree that limit first."
    if estimate.unpriced:
        limit = "Agree that limit first, and what has no price."
    console.print(
        f"Parts in whole packs: {money(estimate.now)} now, {money(estimate.expected)} on average,"
        f" with 90 % no more than {money(estimate.likely)}; {money(estimate.upper)} at most, if"
        f" all fails and one order brings it. {limit} {estimate_tax(estimate)}"
    )
    for item in estimate.unpriced:
        console.print(f"NO PRICE: {item}")
    if view.stop:
        console.print(f"STOP POINT: {say(view.stop)}")
    if view.taken:
        steps = [next_step(Action.BUY, booking=view.taken.booking)]
        console.print(with_steps(taken(view.taken), steps), style="bold")


def _not_counted(console: Console, view: CompletionView) -> None:
    if without_rate := [one for one in view.unknown if not one.waits_for]:
        named = ", ".join(f"{one.item} ({one.kind})" for one in without_rate)
        console.print(f"NOT COUNTING {named}: nobody states how often it fails, nothing was found")
    for one in view.unknown:
        if one.waits_for:
            waits = ", ".join(map(say, one.waits_for))
            console.print(f"NOT COUNTING {one.item} ({one.kind}): it waits for {waits}")


def _without(view: CompletionView) -> str:
    """The chance with no spare; nobody knows that of a kit that is not fine."""
    most = "at most " if view.unknown else ""
    chance = f"{most}{percent(view.without)} with no spare"
    if view.doubts:
        return f"NOT KNOWN: the kit is not fine as it is. If it were, {chance}"
    return chance


def _reached(console: Console, view: CompletionView, target: str) -> None:
    """The chance with the spares, or that no spares reach it."""
    fine = ", once the kit is fine" if view.doubts else ""
    if view.cost is None:
        had = percent(view.chance)
        console.print(f"No spares reach {target}: the most that can be had is {had}{fine}.")
    elif any(risk.spares for risk in view.risks):
        console.print(
            f"{percent(view.chance)} with the spares below{fine}, {money(view.cost)} lost if none"
            f" is used: the least for {target}, proven"
        )


def _risks(console: Console, risks: Sequence[RiskView]) -> None:
    table = plain_table(
        headings.BRING,
        headings.ITEM,
        headings.MAY_FAIL,
        headings.SPREAD,
        headings.INSPECTED,
        headings.LOSS,
        headings.WHY,
    )
    for risk in risks:
        seen = f"{risk.failed} of {risk.inspected} failed" if risk.inspected else "none yet"
        why = [*shifts(risk), *looked_at(risk), *at_hand(risk)]
        why += [said for said in (rests_on(risk), worth(risk)) if said]
        table.add_row(
            f"{risk.spares} of {risk.looks}", risk.item, percent(risk.chance),
            f"{risk.low:.0%} to {risk.high:.0%}", seen,
            "no price" if risk.loss is None else money(risk.loss),
            ", ".join(why),
        )  # fmt: skip
    console.print(table)


def _frontier(console: Console, view: CompletionView) -> None:
    if len(view.frontier) < 2:
        return
    console.print()
    console.print("What more would cost", style="bold")
    table = plain_table(headings.CHANCE, headings.BARE, headings.LOSS, headings.SPARES)
    for point in view.frontier:
        table.add_row(
            percent(point.chance), bar_of(point.chance), money(point.cost), spares(point.spares)
        )
    console.print(table)


def show_learned(console: Console, found: Sequence[LearnedView]) -> None:
    """What was learned, the most inspected first."""
    table = plain_table(
        headings.ITEM,
        headings.UNIT,
        headings.INSPECTED,
        headings.FAILED,
        headings.ASSUMED,
        headings.NOW,
        headings.SPREAD,
        headings.WHY,
    )
    for row in found:
        table.add_row(
            row.item, row.unit or "any", str(row.inspected), str(row.failed),
            "unknown" if row.prior is None else percent(row.prior), percent(row.chance),
            f"{row.low:.0%} to {row.high:.0%}",
            ", ".join([*([alone] if (alone := rests_on(row)) else []), *row.reasons]),
        )  # fmt: skip
    console.print(table)
    if not found:
        step = next_step(Action.RECORD_FINDING)
        console.print(with_steps("Nobody has recorded what was found yet", [step]))


def show_levels(console: Console, view: LevelsView) -> None:
    """How much to keep of what, and what that would have done."""
    asked = (
        f"{view.target or 0:.0%}" if view.budget is None else f"a budget of {money(view.budget)}"
    )
    console.print(
        f"{view.branch}, for {asked}: {money(view.value)} tied up, nothing short in a lead time"
        f" with {percent(view.chance)}",
        style="bold",
    )
    table = plain_table(
        headings.LEVEL, headings.FREE_NOW, headings.ITEM, headings.PRICE, headings.WHY
    )
    for line in view.lines:
        table.add_row(
            str(line.level), str(line.on_hand), f"{line.item} {line.name}", money(line.price),
            level_why(line),
        )  # fmt: skip
    console.print(table)
    for one in view.refused:
        console.print(f"REFUSED: {refused(one)}")
    for item in view.unpriced:
        console.print(f"NO PRICE: {item}")
    if view.replay:
        console.print(replay(view.replay))
    if view.pooled:
        console.print(pooling(view.pooled))
    if view.not_pooled:
        console.print(say(view.not_pooled))
