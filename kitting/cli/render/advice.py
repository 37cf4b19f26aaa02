"""Sureness on the screen: risks, spares, the frontier, what was learned, levels."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from kitting.cli.render.purchasing import percent
from kitting.cli.render.tables import plain_table
from kitting.views.completion import HoldView, LearnedView, SureView


def show_sure(console: Console, view: SureView) -> None:
    """The chance first, then what to bring, why, and what more would cost."""
    jobs, most = ", ".join(view.jobs), "at most " if view.unknown else ""
    target = f"{view.target * 100:g}%"
    console.print(
        f"{view.vehicle}: {jobs} on {view.on}: the chance to end without a second order is"
        f" {most}{percent(view.without)} with no spare",
        style="bold",
    )
    if view.reached and any(risk.spares for risk in view.risks):
        console.print(
            f"{percent(view.chance)} with the spares below, {view.cost} lost if none is used: the"
            f" least for {target}, proven"
        )
    elif not view.reached:
        had = percent(view.chance)
        console.print(f"No spares reach {target}: the most that can be had is {had}.")
    if view.unknown:
        console.print(f"NOT COUNTING {', '.join(view.unknown)}: nobody states how often it fails")
    if view.risks:
        console.print(
            f"(seals of one car fail together; if they did not: {percent(view.independent)})"
        )
        console.print()
        _risks(console, view)
    _frontier(console, view)
    if view.estimate is not None:
        estimate = view.estimate
        console.print()
        console.print(
            f"Parts: {estimate.now} now, {estimate.expected} on average, {estimate.upper} at most"
            " with 90 %. Agree that limit first."
        )
        for text in estimate.unpriced:
            console.print(f"NO PRICE: {text}")
    if view.stop:
        console.print(f"STOP POINT: {view.stop}")


def _risks(console: Console, view: SureView) -> None:
    table = plain_table("bring", "item", "may fail", "spread", "looked at", "loss", "why")
    for risk in view.risks:
        bring = f"{risk.spares} of {risk.pieces}"
        seen = f"{risk.failed} of {risk.looked} failed" if risk.looked else "none yet"
        why = [*risk.shifts, *(["one fails, all are renewed"] if risk.group else [])]
        why += [f"{risk.in_stock} free here"] if risk.in_stock else []
        if risk.worth_above is not None:
            worth = "worth" if risk.any_fails > risk.worth_above else "not worth"
            why.append(
                f"{percent(risk.any_fails)} that any fails: one is {worth} bringing above"
                f" {percent(risk.worth_above)}"
            )
        table.add_row(
            bring, risk.item, percent(risk.chance), f"{risk.low:.0%} to {risk.high:.0%}", seen,
            risk.loss or "no price", ", ".join(why),
        )  # fmt: skip
    console.print(table)


def _frontier(console: Console, view: SureView) -> None:
    if len(view.frontier) < 2:
        return
    console.print()
    console.print("What more would cost", style="bold")
    table = plain_table("chance", "", "loss", "spares")
    for point in view.frontier:
        filled = round(point.chance * 20)
        bar = "█" * filled + "·" * (20 - filled)
        table.add_row(percent(point.chance), bar, point.cost, ", ".join(point.spares) or "none")
    console.print(table)


def show_learned(console: Console, found: Sequence[LearnedView]) -> None:
    """What was learned, the most looked at first."""
    table = plain_table("item", "unit", "looked at", "failed", "assumed", "now", "spread", "why")
    for row in found:
        table.add_row(
            row.item, row.unit or "any", str(row.looked), str(row.failed), percent(row.prior),
            percent(row.chance), f"{row.low:.0%} to {row.high:.0%}", ", ".join(row.reasons),
        )  # fmt: skip
    console.print(table)
    if not found:
        console.print("Nobody has recorded what was found yet: kitting found, kitting findings.")


def show_hold(console: Console, view: HoldView) -> None:
    """Levels to hold."""
    asked = f"a budget of {view.budget}" if view.budget else f"{view.target or 0:.0%}"
    console.print(
        f"{view.branch}, for {asked}: {view.value} tied up, nothing short in a lead time with"
        f" {percent(view.chance)}",
        style="bold",
    )
    table = plain_table("hold", "free now", "item", "price", "why")
    for line in view.lines:
        hold = str(line.level)
        table.add_row(hold, str(line.on_hand), f"{line.item} {line.name}", line.price, line.why)
    console.print(table)
    for text in view.refused:
        console.print(f"REFUSED: {text}")
    for text in view.unpriced:
        console.print(f"NO PRICE: {text}")
    for said in (view.replay, view.pooled):
        if said:
            console.print(said)
