"""General tools: those that steps and kinds ask for by name, with the place and the jobs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kitting.services.planning.draft import Draft
from kitting.services.planning.lines import use_place


@dataclass(frozen=True, slots=True)
class GeneralAsk:
    """One place that asks for a general tool, and the jobs that reach it."""

    tool: str
    place: str
    jobs: tuple[str, ...]


def general_tools(facts: Draft) -> Iterator[GeneralAsk]:
    """Every place that asks for a general tool: steps first, then uses, then positions."""
    contents = facts.contents
    for step in facts.access.order:
        for tool in contents.step_tools.get(step, ()):
            yield GeneralAsk(
                tool, f"step {facts.names.steps[step]}", tuple(facts.access.asked_by[step])
            )
    for use in (*facts.uses, *facts.held_uses):
        for tool in contents.kind_tools.get(contents.items[use.item].kind.id, ()):
            yield GeneralAsk(tool, use_place(facts, use), use.jobs)
    for need in (*facts.parts, *facts.held_parts):
        place = f"{facts.names.joints[need.fit.joint]}: {need.fit.position}"
        for tool in contents.kind_tools.get(contents.items[need.fit.item].kind.id, ()):
            yield GeneralAsk(tool, place, need.jobs)
