"""Access: which steps the jobs need, in which order, and which joints those steps open."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import chain

from kitting.calc.planning.ways import (
    CERTAIN,
    OpenOption,
    Ways,
    least,
    simplest,
    ways_of_steps,
)
from kitting.errors import CatalogueCycleError


@dataclass(frozen=True, slots=True)
class JointOpening:
    """A step opens `joint` `times` times, and `reopened` times more after test runs."""

    joint: int
    times: int = 1
    reopened: int = 0


@dataclass(frozen=True, slots=True)
class StepNode:
    """A step as the graph sees it. `hours` in thousandths of an hour, `needs` are step keys.

    `option` is the open option under which it is done at all; None: it is done.
    """

    key: int
    code: str
    hours: int
    needs: tuple[int, ...] = ()
    opens: tuple[JointOpening, ...] = ()
    option: OpenOption | None = None


@dataclass(frozen=True, slots=True)
class Access:
    """The strip-down that some jobs need together.

    `order` lists step keys, each after what it needs; `asked_by` gives the jobs per step;
    `opened` how often each joint is opened; `opened_by` the steps that do so. `total` and `apart`
    are thousandths of an hour: done together, and the sum of the jobs done one by one.
    `step_waits` and `joint_waits` say under which open options what is not certain is done or
    opened: such steps are in the order, and in no hours. `job_waits` says the same of a job and a
    joint, where the joint may be opened without the job opening it. `opened` of a joint that steps
    open under open options is the least that it may be, if it is opened at all.
    """

    order: tuple[int, ...]
    asked_by: Mapping[int, tuple[str, ...]]
    opened: Mapping[int, int]
    opened_by: Mapping[int, tuple[int, ...]]
    total: int
    apart: int
    alone: Mapping[str, int]
    step_waits: Mapping[int, Ways] = field(default_factory=dict)
    joint_waits: Mapping[int, Ways] = field(default_factory=dict)
    job_waits: Mapping[tuple[str, int], Ways] = field(default_factory=dict)

    @property
    def saved(self) -> int:
        """Thousandths of an hour that doing the jobs together saves."""
        return self.apart - self.total

    def jobs_of_joint(self, joint: int) -> tuple[str, ...]:
        """The jobs for which a joint is opened, sorted."""
        jobs = {job for step in self.opened_by.get(joint, ()) for job in self.asked_by[step]}
        return tuple(sorted(jobs))


def closure(steps: Mapping[int, StepNode], wanted: Iterable[int]) -> frozenset[int]:
    """Every step that the wanted ones need, themselves included."""
    seen: set[int] = set()
    waiting = list(wanted)
    while waiting:
        key = waiting.pop()
        if key not in seen:
            seen.add(key)
            waiting.extend(steps[key].needs)
    return frozenset(seen)


def in_order(steps: Mapping[int, StepNode], chosen: Iterable[int]) -> tuple[int, ...]:
    """The chosen steps, each after what it needs; ties by their place in `steps`.

    Raises CatalogueCycleError naming the ring when steps need one another.
    """
    rank = {key: place for place, key in enumerate(steps)}
    left = {key: set(steps[key].needs) for key in chosen}
    needed_by: dict[int, list[int]] = {key: [] for key in left}
    for key, needs in left.items():
        for need in needs:
            needed_by[need].append(key)
    ready = [(rank[key], key) for key, needs in left.items() if not needs]
    heapq.heapify(ready)
    order: list[int] = []
    while ready:
        _, key = heapq.heappop(ready)
        order.append(key)
        for follower in needed_by[key]:
            left[follower].discard(key)
            if not left[follower]:
                heapq.heappush(ready, (rank[follower], follower))
    if len(order) < len(left):
        raise CatalogueCycleError(_ring_message(steps, set(left) - set(order)))
    return tuple(order)


def find_ring(needs: Mapping[int, Iterable[int]]) -> tuple[int, ...]:
    """One ring among things that need one another, its first member repeated last; () if none."""
    state: dict[int, int] = {}  # 1 on the path, 2 done
    for start in needs:
        path: list[tuple[int, list[int]]] = []
        if start not in state:
            state[start] = 1
            path.append((start, sorted(needs[start])))
        while path:
            key, waiting = path[-1]
            if not waiting:
                state[key] = 2
                path.pop()
                continue
            following = waiting.pop(0)
            if state.get(following) == 1:
                ring = [key for key, _ in path]
                return (*ring[ring.index(following) :], following)
            if following not in state and following in needs:
                state[following] = 1
                path.append((following, sorted(needs[following])))
    return ()


def _ring_message(steps: Mapping[int, StepNode], stuck: set[int]) -> str:
    ring = find_ring({key: [n for n in steps[key].needs if n in stuck] for key in stuck})
    named = " → ".join(steps[key].code for key in ring)
    return f"steps need one another in a ring: {named}. Take one of these needs out"


def access(
    steps: Mapping[int, StepNode],
    jobs: Mapping[str, Iterable[int]],
    begun: Iterable[int] = (),
) -> Access:
    """Union of the strip-downs of the jobs, and of the steps that were begun without any of them.

    A step is done once, whoever asks for it. A joint is opened as often as the step that opens
    it most often does, plus every reopening that a step states.

    Parameters: `steps` by key, in catalogue order; `jobs`, the step keys each job needs in the end;
    `begun`, keys of steps that no job may ask for any more and that have to go on again.
    Raises CatalogueCycleError when the steps need one another in a ring.
    Checked against networkx in tests/outside/test_closure.py.
    """
    wants = {job: tuple(keys) for job, keys in jobs.items()}
    per_job = {job: closure(steps, keys) for job, keys in wants.items()}
    asked = frozenset[int]().union(*per_job.values())
    begun = tuple(begun)
    went_on = closure(steps, begun)
    planned = in_order(steps, asked | went_on)
    ways = ways_of_steps(steps, planned, chain(begun, *wants.values()))
    # Of each job by itself: another job may do for certain what this one does in some case.
    own = {job: ways_of_steps(steps, planned, keys) for job, keys in wants.items()}
    order = tuple(key for key in planned if key in ways)
    certain = _certain(ways)
    openings: dict[int, dict[int, JointOpening]] = {}  # by joint, then step
    for key in order:
        for opening in steps[key].opens:
            openings.setdefault(opening.joint, {})[key] = opening
    alone = {job: _hours(steps, _certain(found)) for job, found in own.items()}
    joint_ways = {joint: _together(ways, by) for joint, by in openings.items()}
    return Access(
        order=order,
        asked_by={
            key: tuple(sorted(job for job, found in own.items() if key in found)) for key in order
        },
        opened={
            joint: least([(ways[key], one.times, one.reopened) for key, one in by.items()])
            for joint, by in openings.items()
        },
        opened_by={joint: tuple(by) for joint, by in openings.items()},
        total=_hours(steps, certain),
        apart=sum(alone.values()) + _hours(steps, (went_on - asked) & certain),
        alone=alone,
        step_waits={key: ways[key] for key in order if key not in certain},
        joint_waits={joint: found for joint, found in joint_ways.items() if found != CERTAIN},
        job_waits={
            (job, joint): opens
            for job, found in own.items()
            for joint, by in openings.items()
            if (opens := _together(found, by)) and opens != joint_ways[joint]
        },
    )


def _certain(ways: Mapping[int, Ways]) -> set[int]:
    return {key for key, found in ways.items() if found == CERTAIN}


def _together(ways: Mapping[int, Ways], keys: Iterable[int]) -> Ways:
    """The ways in which any of some steps is done."""
    return simplest(way for key in keys for way in ways.get(key, ()))


def _hours(steps: Mapping[int, StepNode], chosen: Iterable[int]) -> int:
    return sum(steps[key].hours for key in chosen)
