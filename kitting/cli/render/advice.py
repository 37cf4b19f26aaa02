"""Completion chances on the screen: risks, spares, the frontier, what was learned, levels."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.actions import Action, next_step
from kitting.cli.actions import with_steps
from kitting.cli.render import headings
from kitting.cli.render.days import day_text
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
from kitting.wording.findings import reason_text
from kitting.wording.language import _, general_text
from kitting.wording.reasons import say
from kitting.wording.verdicts import doubt_text


def show_completion(console: Console, view: CompletionView) -> None:
    """The chance first, then what to bring, why, and what more would cost."""
    target = f"{view.target * 100:g}%"
    console.print(
        _(
            "{vehicle}: {jobs} on {on}: the chance to end without a second order is {without}",
            vehicle=view.vehicle,
            jobs=", ".join(view.jobs),
            on=day_text(view.on),
            without=_without(view),
        ),
        style="bold",
    )
    for booked in view.booked:
        console.print(booked_text(booked))
    if view.doubts:
        console.print(_("NOT FINE, whatever passes its look:"), style="bold")
    for doubt in view.doubts:
        console.print(f"  {doubt_text(doubt)}")
    _reached(console, view, target)
    _not_counted(console, view)
    if view.risks:
        console.print(
            _(
                "(seals of one car fail together; if they did not: {independent})",
                independent=percent(view.independent),
            )
        )
        console.print()
        _risks(console, view.risks)
    _frontier(console, view)
    estimate = view.estimate
    console.print()
    limit = _("Agree that limit first.")
    if estimate.unpriced:
        limit = _("Agree that limit first, and what has no price.")
    console.print(
        _(
            "Parts in whole packs: {now} now, {expected} on average, with 90 % no more "
            "than {likely}; {upper} at most, if all fails and one order brings it. "
            "{limit} {estimate_tax}",
            now=money(estimate.now),
            expected=money(estimate.expected),
            likely=money(estimate.likely),
            upper=money(estimate.upper),
            limit=limit,
            estimate_tax=estimate_tax(estimate),
        )
    )
    for item in estimate.unpriced:
        console.print(_("NO PRICE: {item}", item=item))
    if view.stop:
        console.print(_("STOP POINT: {stop}", stop=say(view.stop)))
    if view.taken:
        steps = [next_step(Action.BUY, booking=view.taken.booking)]
        console.print(with_steps(taken(view.taken), steps), style="bold")


def _not_counted(console: Console, view: CompletionView) -> None:
    if without_rate := [one for one in view.unknown if not one.waits_for]:
        named = ", ".join(f"{one.item} ({general_text(one.kind)})" for one in without_rate)
        console.print(
            _(
                "NOT COUNTING {named}: nobody states how often it fails, nothing was found",
                named=named,
            )
        )
    for one in view.unknown:
        if one.waits_for:
            waits = ", ".join(map(say, one.waits_for))
            console.print(
                _(
                    "NOT COUNTING {item} ({kind}): it waits for {waits}",
                    item=one.item,
                    kind=general_text(one.kind),
                    waits=waits,
                )
            )


def _without(view: CompletionView) -> str:
    """The chance with no spare; nobody knows that of a kit that is not fine."""
    most = _("at most ") if view.unknown else ""
    chance = _("{most}{without} with no spare", most=most, without=percent(view.without))
    if view.doubts:
        return _("NOT KNOWN: the kit is not fine as it is. If it were, {chance}", chance=chance)
    return chance


def _reached(console: Console, view: CompletionView, target: str) -> None:
    """The chance with the spares, or that no spares reach it."""
    fine = _(", once the kit is fine") if view.doubts else ""
    if view.cost is None:
        had = percent(view.chance)
        console.print(
            _(
                "No spares reach {target}: the most that can be had is {had}{fine}.",
                target=target,
                had=had,
                fine=fine,
            )
        )
    elif any(risk.spares for risk in view.risks):
        console.print(
            _(
                "{chance} with the spares below{fine}, {cost} lost if none is used: the "
                "least for {target}, proven",
                chance=percent(view.chance),
                fine=fine,
                cost=money(view.cost),
                target=target,
            )
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
        seen = (
            _("{failed} of {inspected} failed", failed=risk.failed, inspected=risk.inspected)
            if risk.inspected
            else _("none yet")
        )
        why = [*shifts(risk), *looked_at(risk), *at_hand(risk)]
        why += [said for said in (rests_on(risk), worth(risk)) if said]
        table.add_row(
            _("{spares} of {looks}", spares=risk.spares, looks=risk.looks), risk.item,
            percent(risk.chance),
            _("{low} to {high}", low=percent(risk.low, 0), high=percent(risk.high, 0)), seen,
            _("no price") if risk.loss is None else money(risk.loss),
            ", ".join(why),
        )  # fmt: skip
    console.print(table)


def _frontier(console: Console, view: CompletionView) -> None:
    if len(view.frontier) < 2:
        return
    console.print()
    console.print(_("What more would cost"), style="bold")
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
            row.item, row.unit or _("any"), str(row.inspected), str(row.failed),
            _("unknown") if row.prior is None else percent(row.prior), percent(row.chance),
            _("{low} to {high}", low=percent(row.low, 0), high=percent(row.high, 0)),
            ", ".join(
                [*([alone] if (alone := rests_on(row)) else []), *map(reason_text, row.reasons)]
            ),
        )  # fmt: skip
    console.print(table)
    if not found:
        step = next_step(Action.RECORD_FINDING)
        console.print(with_steps(_("Nobody has recorded what was found yet"), [step]))


def show_levels(console: Console, view: LevelsView) -> None:
    """How much to keep of what, and what that would have done."""
    asked = (
        f"{view.target or 0:.0%}"
        if view.budget is None
        else _("a budget of {budget}", budget=money(view.budget))
    )
    console.print(
        _(
            "{branch}, for {asked}: {value} tied up, nothing short in a lead time with {chance}",
            branch=view.branch,
            asked=asked,
            value=money(view.value),
            chance=percent(view.chance),
        ),
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
        console.print(_("REFUSED: {refused}", refused=refused(one)))
    for item in view.unpriced:
        console.print(_("NO PRICE: {item}", item=item))
    if view.replay:
        console.print(replay(view.replay))
    if view.pooled:
        console.print(pooling(view.pooled))
    if view.not_pooled:
        console.print(say(view.not_pooled))
