"""General tools: those that steps and kinds ask for by name, with the place and the jobs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kitting.services.planning.judged import Draft
from kitting.services.planning.uses import use_place


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
            place = f"step {facts.names.steps[step]}"
            yield GeneralAsk(tool, place, facts.access.asked_by[step])
    for use in facts.every_use:
        for tool in contents.kind_tools.get(use.item.kind.key, ()):
            yield GeneralAsk(tool, use_place(facts, use), use.jobs)
    for part in facts.every_part:
        place = f"{facts.names.joints[part.fit.joint]}: {part.fit.position}"
        for tool in contents.kind_tools.get(part.item.kind.key, ()):
            yield GeneralAsk(tool, place, part.jobs)
