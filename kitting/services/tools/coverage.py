"""Reach: which tool of the boxes most jobs depend on, and which offer would open most jobs."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import likeness, prepare
from kitting.facts.names import natural_key
from kitting.services.planning.draft import draft_jobs
from kitting.services.planning.judge import Draft
from kitting.services.planning.read_car import read_car
from kitting.services.planning.read_work import read_work
from kitting.services.tools.check import general_asks, requirements
from kitting.services.tools.inventory import OwnedTools, read_offered, read_owned
from kitting.services.tools.purchase import Gap, find_gaps
from kitting.tables import toolbox as tables
from kitting.tables.vehicles import Vehicle
from kitting.views.tools import CriticalView, OpeningView, ReachView


def reach(session: Session, boxes: Sequence[str], on: date, policy: str = "marked") -> ReachView:
    """What the jobs of the whole catalogue depend on, with the boxes as they are at a date.

    One car of every model stands for the model. An offer `opens` the jobs whose every gap it
    closes with what is there, and helps those that `wait` for more. A tool of the boxes `blocks`
    the jobs that could be done with it and not without it.
    """
    owned, offered = read_owned(session, boxes, on), read_offered(session)
    gaps: dict[str, list[Gap]] = {}
    needed: dict[int, set[str]] = defaultdict(set)
    jobs: set[str] = set()
    for registration in _one_per_model(session):
        car = read_car(session, registration, on)
        work = read_work(session, car)
        possible = tuple(job for job in work.jobs if not job.missing)
        facts = draft_jobs(session, car, work, possible, on)
        jobs |= {f"{car.model} {name}" for name in facts.names.jobs.values()}
        for gap in find_gaps(facts, owned, offered, policy):
            for job in gap.jobs:
                gaps.setdefault(f"{car.model} {job}", []).append(gap)
        for tool, job in _dependences(facts, owned, policy):
            needed[tool].add(f"{car.model} {job}")
    openings = [
        _opening(offer, offered.brings.get(key, frozenset()), gaps)
        for key, offer in offered.offers.items()
    ]
    return ReachView(
        jobs=len(jobs),
        possible=tuple(sorted(jobs - set(gaps), key=natural_key)),
        offers=_ranked(found for found in openings if found.opens or found.waits),
        not_on_offer=_ranked(_not_on_offer(gaps)),
        critical=tuple(_critical(owned, needed, set(gaps))),
    )


def _one_per_model(session: Session) -> list[str]:
    cars: dict[int, str] = {}
    for model, registration in session.execute(
        select(Vehicle.model_id, Vehicle.registration).order_by(
            Vehicle.build_date.is_(None), Vehicle.registration_key
        )
    ):
        cars.setdefault(model, registration)
    return list(cars.values())


def _dependences(facts: Draft, owned: OwnedTools, policy: str) -> Iterator[tuple[int, str]]:
    """(tool, job) where every train that can do something the job asks for holds the tool.

    A tool of which there are two alike is no such tool: the search takes one for both.
    """
    box = prepare(owned.tools, policy)
    count = Counter(likeness(tool) for tool in owned.tools if tool.away is None)
    single = {tool.key for tool in owned.tools if count[likeness(tool)] == 1}
    for asked in requirements(facts):
        trains = search(asked.requirement, box).trains if asked.unknown is None else ()
        if trains:
            shared = frozenset.intersection(
                *(frozenset(tool.key for tool in train.tools) for train in trains)
            )
            yield from ((tool, job) for tool in shared & single for job in asked.jobs)
    for general in general_asks(facts):
        here = owned.general_here(general.name)
        if len(here) == 1:
            yield from ((here[0].key, job) for job in general.jobs)


def _critical(
    owned: OwnedTools, needed: Mapping[int, set[str]], blocked: set[str]
) -> Iterator[CriticalView]:
    """Tools by how many jobs that can be done now would be lost with them."""
    lost = {tool: jobs - blocked for tool, jobs in needed.items()}
    tools = {tool.key: tool for tool in owned.tools}
    for key in sorted(lost, key=lambda key: (-len(lost[key]), natural_key(tools[key].code))):
        if lost[key]:
            jobs = tuple(sorted(lost[key], key=natural_key))
            yield CriticalView(tools[key].code, owned.box_of[key], jobs)


def _ranked(found: Iterable[OpeningView]) -> tuple[OpeningView, ...]:
    return tuple(sorted(found, key=lambda v: (-len(v.opens), -len(v.waits), natural_key(v.tool))))


def _not_on_offer(gaps: Mapping[str, Sequence[Gap]]) -> Iterator[OpeningView]:
    """Gaps that nothing on offer closes, with the jobs that wait for them."""
    waits: dict[str, list[str]] = defaultdict(list)
    alone: dict[str, list[str]] = defaultdict(list)
    for job, found in gaps.items():
        for gap in found:
            if not gap.ways:
                (alone if len(found) == 1 else waits)[gap.what].append(job)
    for what in {**alone, **waits}:
        yield OpeningView(what, None, tuple(alone[what]), tuple(waits[what]))


def _opening(
    offer: tables.ToolOffer, brings: frozenset[str], gaps: Mapping[str, Sequence[Gap]]
) -> OpeningView:
    opens, waits = [], []
    for job, found in gaps.items():
        closed = [any(way <= brings for way in gap.ways) for gap in found]
        if all(closed):
            opens.append(job)
        elif any(closed):
            waits.append(job)
    name = f"{offer.code}: {offer.name}"
    return OpeningView(name, offer.way, tuple(sorted(opens)), tuple(sorted(waits)))
