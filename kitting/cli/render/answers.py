"""Answers about a plan on the screen: why, and what else meanwhile."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.tree import Tree

from kitting.cli.render import headings
from kitting.cli.render.amounts import exact
from kitting.cli.render.tables import plain_table
from kitting.views.explanations import MeanwhileView, WhyView
from kitting.wording.language import _
from kitting.wording.plan import addition_notes, chain_text, not_ranked, subject
from kitting.wording.reasons import as_text, say
from kitting.wording.work_day import hours_text


def show_why(console: Console, found: Sequence[WhyView]) -> None:
    """Each explanation as a tree."""
    for entry in found:
        tree = Tree(subject(entry), highlight=False)
        tree.add(say(entry.answer))
        tree.add(_("decided by {decided_by}", decided_by=say(entry.decided_by)))
        for lost in entry.overruled:
            reference = as_text(lost.said_by)
            tree.add(
                _(
                    "not followed: {source} says {rule} ({reference}): {because}",
                    source=lost.source,
                    rule=lost.rule,
                    reference=reference,
                    because=say(lost.because),
                )
            )
        for chain in entry.chains:
            tree.add(chain_text(chain))
        for change in entry.changes:
            tree.add(_("note: {change}", change=say(change)))
        console.print(tree)


def show_meanwhile(console: Console, view: MeanwhileView) -> None:
    """Other jobs, the one of which most is done anyway first."""
    console.print(
        _(
            "{registration}: with {jobs} ({hours}) stripped, another job would add",
            registration=view.vehicle.registration,
            jobs=", ".join(view.jobs),
            hours=hours_text(view.hours),
        ),
        style="bold",
    )
    table = plain_table(
        headings.JOB, headings.WHAT, headings.ADDS, headings.INSTEAD_OF, headings.PARTS,
        headings.NEW_JOINTS, headings.NOTE,
    )  # fmt: skip
    for other in view.additions:
        table.add_row(
            other.code,
            other.name,
            hours_text(other.hours_added),
            hours_text(other.hours_alone),
            exact(other.parts_added, "each"),
            ", ".join(other.joints_added) or _("none"),
            "; ".join(addition_notes(other)),
        )
    console.print(table)
    for job in view.not_ranked:
        console.print(_("not ranked: {not_ranked}", not_ranked=not_ranked(job)))
    console.print(_("Offered, never added unasked."))
