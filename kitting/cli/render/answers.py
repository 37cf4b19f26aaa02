"""Answers about a plan on the screen: why, and what else meanwhile."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.tree import Tree

from kitting.cli.render.plan import hours_text
from kitting.facts.units import format_quantity
from kitting.services.planning.explain import opened_text
from kitting.views.explanations import AdditionView, ChainView, MeanwhileView, WhyView


def show_why(console: Console, found: Sequence[WhyView]) -> None:
    """Each explanation as a tree."""
    for entry in found:
        tree = Tree(entry.subject, highlight=False)
        tree.add(entry.said)
        tree.add(f"decided by {entry.decided_by}")
        for lost in entry.overruled:
            tree.add(
                f"not followed: {lost.source} says {lost.rule} ({lost.said_by}): {lost.because}"
            )
        for chain in entry.chains:
            tree.add(chain_text(chain))
        for change in entry.changes:
            tree.add(f"note: {change}")
        console.print(tree)


def chain_text(chain: ChainView) -> str:
    """ "J1 → step P1 → step A1 → joint intake (opened once) → port 1, port 2"."""
    parts = [chain.job, *(f"step {step}" for step in chain.steps)]
    if chain.joint:
        parts.append(f"joint {chain.joint} (opened {opened_text(chain.opened)})")
    if chain.positions:
        parts.append(", ".join(chain.positions))
    return " → ".join(parts)


def show_meanwhile(console: Console, view: MeanwhileView) -> None:
    """Other jobs, the one of which most is done anyway first."""
    console.print(
        f"{view.vehicle.registration}: with {', '.join(view.jobs)} ({hours_text(view.hours)})"
        " stripped, another job would add",
        style="bold",
    )
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for heading in ("job", "what", "adds", "instead of", "parts", "new joints", "note"):
        right = heading in ("adds", "instead of", "parts")
        table.add_column(heading, justify="right" if right else "left")
    for other in view.additions:
        notes = [f"settle {', '.join(other.stopped_by)} first"] if other.stopped_by else []
        notes += weighing(other) + ([other.declined] if other.declined else [])
        table.add_row(
            other.code,
            other.name,
            hours_text(other.hours_added),
            hours_text(other.hours_alone),
            format_quantity(other.parts_added, "each"),
            ", ".join(other.joints_added) or "none",
            "; ".join(notes),
        )
    console.print(table)
    for reason in view.not_ranked:
        console.print(f"not ranked: {reason}")
    console.print("Offered, never added unasked.")


def weighing(other: AdditionView) -> list[str]:
    """What a job costs now and later, and the chance of failing above which now costs less."""
    if other.cost_now is None:
        return []
    told = f"{other.cost_now} now, {other.cost_back} for coming back"
    if other.unpriced:
        return [f"{told}, without a price for {', '.join(other.unpriced)}"]
    if other.worth_above is None:
        return [told]
    above = f"{other.worth_above:.1%}"
    return [f"{told}: worth it if it fails before the next visit with more than {above}"]
