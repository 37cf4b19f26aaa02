"""What some boxes cannot do of a draft, and every way to close it from what is on offer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import Box, prepare
from kitting.facts.tool_words import RangePolicy, ToolTask
from kitting.facts.verdicts import Verdict
from kitting.services.planning.judged import Draft
from kitting.services.tools.fasteners import fasteners, general_tool_needs
from kitting.services.tools.inventory import OfferedTools, OwnedTools
from kitting.services.tools.requirements import Asked, requirements
from kitting.views.tools import GapView, RequirementView

Ways = tuple[frozenset[str], ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """Something the boxes cannot do, the jobs that want it, and the sets of tools that close it.

    Empty `ways` mean that nothing on offer closes it. `places` say where it is wanted.
    """

    view: GapView
    jobs: tuple[str, ...]
    ways: Ways
    places: frozenset[str]


def find_gaps(
    facts: Draft, owned: OwnedTools, offered: OfferedTools, policy: RangePolicy
) -> list[Gap]:
    """What the boxes cannot do for certain, with every way to close it from what is on offer.

    Requirements of which nothing can be proven (no figure, no head), or that wait for a variant,
    are no gaps: no purchase closes them.
    """
    box = prepare(owned.tools, policy)
    both = prepare((*owned.tools, *offered.tools), policy)
    gaps = list[Gap]()
    for asked in requirements(fasteners(facts, stopped=True)):
        if asked.unknown is not None or asked.variants:
            continue
        verdict = search(asked.requirement, box).verdict
        if verdict is not Verdict.FINE:
            view = GapView(asked.view, unproven=verdict is Verdict.UNKNOWN)
            ways = _ways(asked, both, offered)
            gaps.append(Gap(view, asked.jobs, ways, frozenset(asked.places)))
    for need in general_tool_needs(facts):
        if not owned.general_here(need.name):
            what = RequirementView(ToolTask.GENERAL, tool=need.name)
            closing = [
                frozenset([tool.code])
                for tool in offered.tools
                if tool.general == need.name and tool.away is None
            ]
            ways = _enough(closing, offered)
            gaps.append(Gap(GapView(what), need.jobs, ways, frozenset(need.places)))
    return _numbered(_merged(gaps))


def _ways(asked: Asked, both: Box, offered: OfferedTools) -> Ways:
    found = search(asked.requirement, both).trains
    lacking = {frozenset(tool.code for tool in train.tools if tool.offered) for train in found}
    return _enough(lacking, offered)


def _enough(lacking: Iterable[frozenset[str]], offered: OfferedTools) -> Ways:
    """The sets of what offers bring that make up for what is lacking, in a fixed order."""
    ways = {way for codes in lacking for way in offered.brought.enough(codes)}
    return tuple(sorted(ways, key=lambda way: (len(way), sorted(way))))


def _merged(gaps: Iterable[Gap]) -> list[Gap]:
    """Gaps that read the same and are closed by the same tools are one."""
    merged: dict[tuple[GapView, Ways], Gap] = {}
    for gap in gaps:
        known = merged.get((gap.view, gap.ways))
        if known is not None:
            jobs = tuple(sorted({*gap.jobs, *known.jobs}))
            gap = replace(gap, jobs=jobs, places=gap.places | known.places)
        merged[gap.view, gap.ways] = gap
    return list(merged.values())


def _numbered(gaps: Iterable[Gap]) -> list[Gap]:
    """Gaps that read the same and are closed by other tools, with a number each."""
    count: dict[RequirementView, int] = {}
    found = []
    for gap in gaps:
        what = gap.view.what
        count[what] = count.get(what, 0) + 1
        found.append(replace(gap, view=replace(gap.view, number=count[what])))
    return found
