"""Reach: which tool of the boxes most jobs depend on, and which offer would open most jobs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import Box, Requirement, prepare
from kitting.facts.names import natural_key
from kitting.facts.tool_words import RangePolicy, ToolTask
from kitting.services.planning.draft import draft_jobs
from kitting.services.planning.judged import Draft
from kitting.services.planning.read_car import read_car
from kitting.services.planning.read_work import read_work
from kitting.services.planning.request import ToolDay
from kitting.services.tools.fasteners import fasteners, general_tool_needs
from kitting.services.tools.gaps import Gap, find_gaps
from kitting.services.tools.inventory import Offer, OwnedTools, read_offered, read_owned
from kitting.services.tools.requirements import requirements
from kitting.tables.vehicles import Vehicle
from kitting.views.tools import CriticalView, GapView, OpeningView, ReachView, ToolOfferView

_CARS = select(Vehicle.model_id, Vehicle.registration).order_by(
    Vehicle.build_date.is_(None), Vehicle.registration_key
)


def reach(
    session: Session,
    boxes: Sequence[str],
    on: date,
    policy: RangePolicy = RangePolicy.MARKED,
    today: date | None = None,
) -> ReachView:
    """What the jobs of the whole catalogue depend on, with the boxes as they are at a date.

    One car of every model stands for the model. A job of which something cannot be proven is not
    possible; where a figure, a head or a variant is open, no offer opens it. An offer `opens` the
    jobs whose every gap it closes with what is there, and helps those that `wait` for more. A tool
    of the boxes `blocks` the jobs that could be done with it and not without it.
    """
    owned, offered = read_owned(session, boxes, ToolDay(on, today)), read_offered(session, on)
    gaps: dict[str, list[Gap]] = {}
    needed: dict[int, set[str]] = defaultdict(set)
    jobs: set[str] = set()
    unproven: set[str] = set()
    dependences = _Dependences(owned, policy)
    for model, facts in _drafts(session, on):
        jobs |= {f"{model} {name}" for name in facts.names.jobs.values()}
        for gap in find_gaps(facts, owned, offered, policy):
            for job in gap.jobs:
                gaps.setdefault(f"{model} {job}", []).append(gap)
        for tool, job in dependences.of(facts):
            needed[tool].add(f"{model} {job}")
        unproven |= {f"{model} {job}" for job in _unproven(facts)}
    openings = [_opening(offer, gaps, unproven) for offer in offered.offers]
    return ReachView(
        jobs=len(jobs),
        possible=tuple(sorted(jobs - set(gaps) - unproven, key=natural_key)),
        offers=_ranked(found for found in openings if found.opens or found.waits),
        not_on_offer=_ranked(_not_on_offer(gaps, unproven)),
        critical=tuple(_critical(owned, needed, set(gaps) | unproven)),
    )


def _drafts(session: Session, on: date) -> Iterator[tuple[str, Draft]]:
    """Every job that can be planned, drafted at once for one car of each model."""
    cars: dict[int, str] = {}
    for model, registration in session.execute(_CARS):
        cars.setdefault(model, registration)
    for registration in cars.values():
        car = read_car(session, registration, on)
        work = read_work(session, car)
        possible = tuple(job for job in work.jobs if not job.missing)
        yield car.model, draft_jobs(session, car, work, possible, on)


def _unproven(facts: Draft) -> Iterator[str]:
    """The jobs that ask for something that waits for a variant, or of which not all is stated."""
    for asked in requirements(fasteners(facts, stopped=True)):
        if asked.unknown is not None or asked.variants:
            yield from asked.jobs


class _Dependences:
    """The tools of some boxes without which something could not be done."""

    def __init__(self, owned: OwnedTools, policy: RangePolicy) -> None:
        self._owned, self._policy = owned, policy
        self._box = prepare(owned.tools, policy)
        self._without: dict[int, Box] = {}
        self._known: dict[Requirement, frozenset[int]] = {}

    def of(self, facts: Draft) -> Iterator[tuple[int, str]]:
        """(tool, job) where something that the job asks for cannot be done without the tool."""
        for asked in requirements(fasteners(facts, stopped=True)):
            if asked.unknown is None:
                if asked.requirement not in self._known:
                    self._known[asked.requirement] = self._needed(asked.requirement)
                needed = self._known[asked.requirement]
                yield from ((tool, job) for tool in sorted(needed) for job in asked.jobs)
        for need in general_tool_needs(facts):
            here = self._owned.general_here(need.name)
            if len(here) == 1:
                yield from ((here[0].key, job) for job in need.jobs)

    def _needed(self, requirement: Requirement) -> frozenset[int]:
        """Only the tools of one train can be needed by all: each is taken out in turn."""
        trains = search(requirement, self._box).trains
        if not trains:
            return frozenset()
        shared = frozenset.intersection(*(frozenset(t.key for t in one.tools) for one in trains))
        return frozenset(
            key for key in shared if not search(requirement, self._box_without(key)).trains
        )

    def _box_without(self, key: int) -> Box:
        if key not in self._without:
            left = (tool for tool in self._owned.tools if tool.key != key)
            self._without[key] = prepare(left, self._policy)
        return self._without[key]


def _critical(
    owned: OwnedTools, needed: Mapping[int, set[str]], blocked: set[str]
) -> Iterator[CriticalView]:
    """Tools by how many jobs that can be done now would be lost with them."""
    lost = {tool: jobs - blocked for tool, jobs in needed.items()}
    codes = {tool.key: tool.code for tool in owned.tools}
    for key in sorted(lost, key=lambda key: (-len(lost[key]), natural_key(codes[key]))):
        if lost[key]:
            jobs = tuple(sorted(lost[key], key=natural_key))
            yield CriticalView(tool=codes[key], box=owned.box_of[key], blocks=jobs)


def _ranked(found: Iterable[OpeningView]) -> tuple[OpeningView, ...]:
    return tuple(
        sorted(found, key=lambda view: (-len(view.opens), -len(view.waits), *_by_name(view)))
    )


def _by_name(view: OpeningView) -> tuple[object, ...]:
    """Offers by code; gaps by what has to be done, on what, to which figure."""
    if view.gap is None:
        return (natural_key(view.offer.code if view.offer else ""),)
    what = view.gap.what
    return (
        tuple(ToolTask).index(what.task),
        natural_key(what.tool or str(what.head or "")),
        what.left_hand,
        what.torque.newton_metres if what.torque else 0,
        what.tolerance or 0,
        view.gap.number,
    )


def _not_on_offer(gaps: Mapping[str, Sequence[Gap]], unproven: Set[str]) -> Iterator[OpeningView]:
    """Gaps that nothing on offer closes, with the jobs that wait for them."""
    waits: dict[GapView, list[str]] = defaultdict(list)
    alone: dict[GapView, list[str]] = defaultdict(list)
    for job, found in gaps.items():
        for gap in found:
            if not gap.ways:
                only = len(found) == 1 and job not in unproven
                (alone if only else waits)[gap.view].append(job)
    for gap_view in {**alone, **waits}:
        yield OpeningView(
            offer=None, gap=gap_view, opens=tuple(alone[gap_view]), waits=tuple(waits[gap_view])
        )


def _opening(offer: Offer, gaps: Mapping[str, Sequence[Gap]], unproven: Set[str]) -> OpeningView:
    opens, waits = [], []
    for job, found in gaps.items():
        closed = [any(way <= offer.brings for way in gap.ways) for gap in found]
        if all(closed) and job not in unproven:
            opens.append(job)
        elif any(closed):
            waits.append(job)
    return OpeningView(
        offer=ToolOfferView(code=offer.code, name=offer.name, way=offer.way),
        gap=None,
        opens=tuple(sorted(opens)),
        waits=tuple(sorted(waits)),
    )
