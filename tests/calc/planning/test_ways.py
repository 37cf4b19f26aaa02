"""Ways to a step: each open split is tried out, and the graph walked without what it excludes."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.planning.access import JointOpening, StepNode, access
from kitting.calc.planning.ways import CERTAIN, OpenOption, Ways, simplest

SPLITS: Mapping[int, tuple[int, ...]] = {1: (10, 11), 2: (20, 21, 22)}
OPTIONS = [OpenOption(split, one, every) for split, every in SPLITS.items() for one in every]


@st.composite
def graphs(draw: st.DrawFn) -> dict[int, StepNode]:
    """Steps that need earlier ones, some for one option only, each opening a joint or two."""
    steps: dict[int, StepNode] = {}
    for key in range(1, draw(st.integers(1, 7)) + 1):
        needs = draw(st.sets(st.sampled_from(sorted(steps)))) if steps else set()
        opens = draw(st.sets(st.integers(100, 103), max_size=2))
        times = st.tuples(st.integers(1, 3), st.integers(0, 1))
        steps[key] = StepNode(
            key,
            f"S{key}",
            draw(st.integers(0, 900)),
            tuple(sorted(needs)),
            tuple(JointOpening(joint, *draw(times)) for joint in sorted(opens)),
            draw(st.sampled_from([None, None, *OPTIONS])),
        )
    return steps


def done(steps: Mapping[int, StepNode], wanted: int, has: frozenset[int]) -> set[int]:
    """The steps of a job on a car with these options, walked one by one."""
    if steps[wanted].option is not None and steps[wanted].option.option not in has:
        return set()
    return {wanted}.union(*(done(steps, need, has) for need in steps[wanted].needs))


def holds(ways: Ways, has: frozenset[int]) -> bool:
    return any(all(one.option in has for one in way) for way in ways)


@given(graphs(), st.data())
@settings(max_examples=150)
def test_steps_and_joints_are_those_of_every_way_the_splits_may_come_out(
    steps: dict[int, StepNode], data: st.DataObject
) -> None:
    wanted = data.draw(st.sampled_from(sorted(steps)))
    found = access(steps, {"J": [wanted]})
    cars = [frozenset(has) for has in product(*SPLITS.values())]
    each = {has: done(steps, wanted, has) for has in cars}
    assert set(found.order) == set().union(*each.values())
    for has, expected in each.items():
        waits = found.step_waits
        assert {s for s in found.order if s not in waits or holds(waits[s], has)} == expected
        opened = {one.joint for step in expected for one in steps[step].opens}
        joints = found.joint_waits
        assert {j for j in found.opened if j not in joints or holds(joints[j], has)} == opened
    certain = set.intersection(*each.values())
    assert set(found.order) - set(found.step_waits) == certain
    assert found.total == found.alone["J"] == sum(steps[step].hours for step in certain)


@given(graphs(), st.data())
@settings(max_examples=150)
def test_of_several_jobs_each_is_judged_by_itself_and_the_least_is_certain(
    steps: dict[int, StepNode], data: st.DataObject
) -> None:
    jobs = {
        name: [data.draw(st.sampled_from(sorted(steps)))] for name in ("J", "K", "L")[: len(steps)]
    }
    found = access(steps, jobs)
    cars = [frozenset(has) for has in product(*SPLITS.values())]
    each = {has: {job: done(steps, wanted, has) for job, (wanted,) in jobs.items()} for has in cars}
    for job in jobs:
        always = set.intersection(*(of[job] for of in each.values()))
        assert found.alone[job] == sum(steps[step].hours for step in always)
        ever = set().union(*(of[job] for of in each.values()))
        assert {step for step in found.order if job in found.asked_by[step]} == ever
    together = {has: set().union(*of.values()) for has, of in each.items()}
    assert found.total == sum(steps[s].hours for s in set.intersection(*together.values()))
    for joint, opened in found.opened.items():
        counts = [times_of(steps, done_then, joint) for done_then in together.values()]
        assert opened == min(filter(None, counts))
        for job in jobs:
            opens = {has for has, of in each.items() if times_of(steps, of[job], joint)}
            if opens:
                waits = found.job_waits.get((job, joint), found.joint_waits.get(joint, CERTAIN))
                assert {has for has in cars if holds(waits, has)} == opens


def times_of(steps: Mapping[int, StepNode], done_then: set[int], joint: int) -> int:
    openings = [one for step in done_then for one in steps[step].opens if one.joint == joint]
    return max((one.times for one in openings), default=0) + sum(one.reopened for one in openings)


def test_what_decides_nothing_is_no_part_of_a_way() -> None:
    one = OPTIONS[0]
    of_others = [frozenset({one, other}) for other in OPTIONS if other.split == 2]
    assert simplest(of_others) == {frozenset({one})}
    assert simplest(of_others[:2]) == set(of_others[:2])


def test_ways_that_leave_no_case_out_are_certain() -> None:
    left, right = (frozenset({option}) for option in OPTIONS[:2])
    assert simplest([left, right]) == CERTAIN
    assert simplest([left]) == {left}


def test_a_way_within_another_is_dropped() -> None:
    one, both = frozenset({OPTIONS[0]}), frozenset({OPTIONS[0], OPTIONS[2]})
    assert simplest([both, one]) == {one}


def test_a_step_whose_options_exclude_each_other_is_never_done() -> None:
    steps = {
        1: StepNode(1, "CABLE", 500, (), (), OPTIONS[0]),
        2: StepNode(2, "MOTOR", 300, (1,), (), OPTIONS[1]),
    }
    found = access(steps, {"J": [2]})
    assert found.order == (2,)
    assert found.total == 0
