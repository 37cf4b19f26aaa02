"""Meanwhile: what another job would add."""

from __future__ import annotations

import pytest

from kitting.calc.planning.access import JointOpening, StepNode
from kitting.calc.planning.additional_work import Addition, additions, threshold
from kitting.errors import KittingError

STEPS = {
    1: StepNode(1, "A1", 1200, (), (JointOpening(10),)),
    2: StepNode(2, "P1", 1800, (1,), (JointOpening(11),)),
    3: StepNode(3, "P2", 1900, (1,), (JointOpening(12),)),
    4: StepNode(4, "Q", 500, (), (JointOpening(13),)),
    5: StepNode(5, "R", 700, (1,), (JointOpening(10, times=2),)),
}


def test_the_job_of_which_most_is_done_anyway_comes_first() -> None:
    found = additions(STEPS, {"J1": [2]}, {"J2": [3], "J3": [4]})
    assert found == [
        Addition("J2", 3100, 1900, (12,)),
        Addition("J3", 500, 500, (13,)),
    ]


def test_a_joint_opened_more_often_is_no_new_one() -> None:
    assert additions(STEPS, {"J1": [2]}, {"J4": [5]}) == [Addition("J4", 1900, 700, ())]


def test_a_job_that_is_wholly_done_anyway_adds_nothing() -> None:
    assert additions(STEPS, {"J1": [2]}, {"J5": [1]}) == [Addition("J5", 1200, 0, ())]


def test_renewing_meanwhile_pays_from_a_chance_of_a_tenth_on() -> None:
    # Common practice, no source; invented prices: 18 + 6 pounds now against 3.4 h at 60 pounds.
    assert threshold(2400, 20400) == 2400 / 22800
    assert round(threshold(2400, 20400), 3) == 0.105


def test_what_costs_nothing_now_pays_at_any_chance() -> None:
    assert threshold(0, 20400) == 0.0
    assert threshold(0, 0) == 0.0


def test_coming_back_for_nothing_never_pays_for_renewing_now() -> None:
    assert threshold(2400, 0) == 1.0


@pytest.mark.parametrize(("now", "back"), [(-1, 100), (100, -1)])
def test_a_cost_below_nothing_is_refused(now: int, back: int) -> None:
    with pytest.raises(KittingError, match="below 0"):
        threshold(now, back)


def test_a_job_that_takes_no_time_is_ranked_as_one_that_is_done_anyway() -> None:
    steps = STEPS | {6: StepNode(6, "Z", 0, (), (JointOpening(14),))}
    found = additions(steps, {"J1": [2]}, {"J2": [3], "J5": [1], "J6": [6]})
    assert [addition.job for addition in found] == ["J5", "J6", "J2"]
