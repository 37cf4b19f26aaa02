"""A plan on one screen: what it comes to in counts, all that is not fine, and what to do next.

Nothing that is not fine is left out: every doubt is told, and what is stopped, unknown or off is
named line by line. What is fine is counted; the whole plan has it line by line.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from rich.console import Console

from kitting.cli.render import headings
from kitting.cli.render.plan import service_text
from kitting.cli.render.plan_heads import (
    show_clashes,
    show_heading,
    show_not_fine,
    show_unresolved,
)
from kitting.cli.render.tables import plain_table
from kitting.facts.verdicts import Verdict
from kitting.facts.words import Rule
from kitting.views.plan import LineView, PlanView, UseView
from kitting.wording.cautions import titles_text
from kitting.wording.figures import NO_FIGURE, times
from kitting.wording.language import N_, _, general_text, n_
from kitting.wording.plan import waits_text
from kitting.wording.reasons import say
from kitting.wording.verdicts import verdict_text

_RULES = {
    Rule.RENEW: N_("■ renew"),
    Rule.INSPECT: N_("◪ look at"),
    Rule.KEEP: N_("↩ keep"),
}


def show_short(
    console: Console, plan: PlanView, asked: str | None = None, assumed: Sequence[str] = ()
) -> None:
    """A plan on one screen.

    `asked` are the words after the command, ready to be copied (None: no command follows);
    `assumed` is what was settled for this answer only, as VARIANT=OPTION.
    """
    show_heading(console, plan)
    show_unresolved(console, plan, brings=False)
    show_clashes(console, plan)
    show_not_fine(console, plan)
    _figures_unknown(console, plan)
    _counts(console, plan)
    _around(console, plan)
    if asked is not None:
        _next(console, plan, asked, assumed)


def _figures_unknown(console: Console, plan: PlanView) -> None:
    """Fasteners without a figure that no doubt names."""
    doubts = [say(doubt.because) for doubt in plan.doubts]
    by_figure = [
        f"{place} ({one.item})"
        for one in plan.unknown_figures
        if not any((place := f"{one.joint}: {one.position}") in text for text in doubts)
    ]
    if by_figure:
        console.print()
        console.print(_(NO_FIGURE), style="bold")
    for text in by_figure:
        console.print(f"  {text}")


def _counts(console: Console, plan: PlanView) -> None:
    console.print()
    table = plain_table(headings.RULE, headings.ITEMS, headings.NOT_FINE, indent=2)
    groups: list[tuple[str, Sequence[LineView | UseView]]] = [
        (_(name), [line for line in plan.lines if line.rule == rule])
        for rule, name in _RULES.items()
    ]
    for name, entries in (*groups, (_("used up"), plan.uses)):
        if entries:
            table.add_row(name, str(len(entries)), _not_fine(entries))
    console.print(table)
    told = (
        n_("{count} step", "{count} steps", len(plan.steps)),
        n_("{count} joint opened", "{count} joints opened", len(plan.joints)),
        n_("{count} position to tighten", "{count} positions to tighten", len(plan.tightenings)),
        n_("{count} tool", "{count} tools", len(plan.tools)),
    )
    console.print(f"  {', '.join(told)}")
    for step in plan.steps:
        if step.stopped_by:
            console.print(f"  {step.code} {step.name}{waits_text(step.stopped_by)}")


def _not_fine(entries: Sequence[LineView | UseView]) -> str:
    """Every item that is not fine, by its verdict: "STOPPED: A, B"; empty where all are."""
    by_verdict: dict[Verdict, Counter[str]] = defaultdict(Counter)
    for entry in entries:
        by_verdict[entry.verdict][entry.item] += 1
    told = [
        f"{verdict_text(verdict)}: {', '.join(_often(by_verdict[verdict]))}"
        for verdict in Verdict
        if verdict is not Verdict.FINE and by_verdict[verdict]
    ]
    return "; ".join(told) or _("all fine")


def _often(items: Counter[str]) -> list[str]:
    return [item if count == 1 else f"{item} ({times(count)})" for item, count in items.items()]


def _around(console: Console, plan: PlanView) -> None:
    for licence in plan.licences:
        console.print("  " + _("licence: {name}", name=general_text(licence.name)))
    for service in plan.services:
        console.print(f"  {service_text(service)}")
    if plan.cautions:
        titles = titles_text(plan.cautions, "; ")
        console.print(
            _(
                "Cautions: {titles}. Read them whole with --full; the maker's data, local rules and"
                " licensed practice decide.",
                titles=titles,
            )
        )


def _next(console: Console, plan: PlanView, asked: str, assumed: Sequence[str]) -> None:
    """The commands that follow, each on one line of its own: they are there to be copied."""
    looks = [line for line in plan.lines if line.rule is Rule.INSPECT]
    unknown = ", ".join(line.item for line in looks if line.chance is None)
    console.print()
    console.print(_("NEXT"), style="bold")
    if unknown:
        text = _("No failure rate stated: {items}", items=unknown)
        console.print(f"  {text}")
    full = "".join(f" --assume {pair}" for pair in assumed)
    ways = [(_("Every line, with the reasons and the cautions:"), f"plan {asked}{full} --full")]
    waits = any(not split.only_looks for split in plan.unresolved)
    if assumed:
        text = _(
            "Assumed for this answer only, to be settled first: {pairs}", pairs=", ".join(assumed)
        )
        console.print(f"  {text}")
    elif not waits:
        ways.append((_("The chance to end without a second order:"), f"sure {asked}"))
        ways.append((_("To book it, and see what is short:"), f"book {asked}"))
    for text, words in ways:
        console.print(f"  {text} kitting {words}", soft_wrap=True)
