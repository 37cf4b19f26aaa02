"""Access: shared steps once, openings counted, rings refused."""

from __future__ import annotations

import pytest

from kitting.calc.planning.access import (
    JointOpening,
    StepNode,
    access,
    closure,
    find_ring,
    in_order,
)
from kitting.errors import CatalogueCycleError

INTAKE, PIPE, COOLER = 10, 11, 12
STEPS = {
    1: StepNode(1, "A1", 1200, (), (JointOpening(INTAKE),)),
    2: StepNode(2, "A2", 400),
    3: StepNode(3, "A3", 400),
    4: StepNode(4, "P1", 1800, (1, 2), (JointOpening(PIPE),)),
    5: StepNode(5, "P2", 1900, (1, 2, 3), (JointOpening(COOLER),)),
}


def test_a_step_that_two_jobs_need_is_done_once() -> None:
    # 3.4 + 3.9 − 1.6 = 5.7 h: worked figure of the trade guide, invented.
    found = access(STEPS, {"J1": [4], "J2": [5]})
    assert (found.alone["J1"], found.alone["J2"]) == (3400, 3900)
    assert (found.total, found.apart, found.saved) == (5700, 7300, 1600)
    assert found.asked_by[1] == ("J1", "J2")
    assert found.asked_by[3] == ("J2",)


def test_a_step_that_was_begun_goes_on_again_with_what_led_to_it_for_no_job() -> None:
    found = access(STEPS, {"J1": [4]}, begun=[5])
    assert found.order == (1, 2, 3, 4, 5)
    assert (found.asked_by[3], found.asked_by[5], found.asked_by[1]) == ((), (), ("J1",))
    assert found.opened == {INTAKE: 1, PIPE: 1, COOLER: 1}
    assert found.jobs_of_joint(COOLER) == ()
    # 3.4 h of J1, and 0.4 h and 1.9 h of what was begun beside it: shared steps once.
    assert (found.total, found.apart, found.saved) == (5700, 5700, 0)


def test_a_joint_opened_by_two_steps_is_opened_as_often_as_the_most_frequent_opener() -> None:
    steps = {
        1: StepNode(1, "A", 0, (), (JointOpening(INTAKE, times=2),)),
        2: StepNode(2, "B", 0, (), (JointOpening(INTAKE, times=1),)),
    }
    found = access(steps, {"J": [1, 2]})
    assert found.opened == {INTAKE: 2}
    assert found.opened_by == {INTAKE: (1, 2)}


def test_every_stated_reopening_counts_on_top() -> None:
    steps = {
        1: StepNode(1, "A", 0, (), (JointOpening(INTAKE, reopened=1),)),
        2: StepNode(2, "B", 0, (), (JointOpening(INTAKE, reopened=2),)),
    }
    assert access(steps, {"J": [1, 2]}).opened == {INTAKE: 4}


def test_steps_come_after_what_they_need_and_ties_keep_their_place() -> None:
    assert in_order(STEPS, closure(STEPS, [5, 4])) == (1, 2, 3, 4, 5)


def test_a_ring_is_refused_and_named() -> None:
    steps = {
        1: StepNode(1, "A", 0, (2,)),
        2: StepNode(2, "B", 0, (3,)),
        3: StepNode(3, "C", 0, (2,)),
    }
    with pytest.raises(CatalogueCycleError, match=r"ring: B → C → B"):
        access(steps, {"J": [1]})


def test_a_ring_that_no_job_asks_for_does_no_harm() -> None:
    steps = STEPS | {7: StepNode(7, "X", 0, (8,)), 8: StepNode(8, "Y", 0, (7,))}
    assert access(steps, {"J1": [4]}).order == (1, 2, 4)


def test_find_ring_answers_nothing_where_there_is_none() -> None:
    assert find_ring({1: [2, 3], 2: [3], 3: []}) == ()
    assert find_ring({1: [1]}) == (1, 1)


def test_a_ring_beyond_a_branch_that_ends_is_still_found() -> None:
    # 2 is done, and 4 too, before 3 leads back to 1.
    assert find_ring({1: [2, 3], 2: [4], 3: [2, 1], 4: []}) == (1, 3, 1)
    # What is needed and not among the things ends a branch.
    assert find_ring({1: [9, 2], 2: [9, 1]}) == (1, 2, 1)


def test_of_several_rings_the_first_by_key_is_named() -> None:
    assert find_ring({1: [2, 3], 2: [1], 3: [1]}) == (1, 2, 1)


def test_a_joint_that_a_step_only_reopens_counts_no_first_time() -> None:
    steps = {1: StepNode(1, "A", 0, (), (JointOpening(INTAKE, times=0, reopened=2),))}
    assert access(steps, {"J": [1]}).opened == {INTAKE: 2}


def test_what_is_done_is_not_walked_again() -> None:
    class Looked(dict[int, list[int]]):
        count = 0

        def __getitem__(self, key: int) -> list[int]:
            Looked.count += 1
            return super().__getitem__(key)

    needs = Looked({1: [2, 3], 2: [4], 3: [4], 4: []})
    assert find_ring(needs) == ()
    assert Looked.count == 4
