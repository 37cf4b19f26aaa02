"""Does the car stand long enough: a comparison, worst first, unknown never enough."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.tightening.cure import laying, stands, worst
from kitting.errors import FigureError
from kitting.facts.durations import parse_minutes
from kitting.facts.tightening_reasons import LayingRemark
from kitting.facts.words import CureVerdict
from kitting.wording.figures import minutes as shown
from kitting.wording.reasons import say

MINUTES = st.integers(1, 100_000)


@pytest.mark.parametrize(
    ("cure", "parked", "verdict"),
    [
        (1440, 180, "not enough"),
        (1440, 1439, "not enough"),
        (1440, 1440, "enough"),
        (None, 100_000, "unknown"),
    ],
)
def test_a_car_has_to_stand_at_least_the_cure_time(
    cure: int | None, parked: int, verdict: str
) -> None:
    assert stands(cure, parked) == verdict


@pytest.mark.parametrize(("cure", "parked"), [(10, 0), (0, 10), (None, -1)])
def test_a_time_that_is_none_is_refused(cure: int | None, parked: int) -> None:
    with pytest.raises(FigureError, match="more than zero"):
        stands(cure, parked)


def test_together_the_worst_counts_in_any_order() -> None:
    for order in permutations(CureVerdict):
        assert worst(order) == "not enough"
    assert worst(["enough", "unknown"]) == worst(["unknown", "enough"]) == "unknown"
    assert worst(["enough", "enough"]) == "enough"
    assert worst([]) == "nothing to set"


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (1, "1 min"),
        (10, "10 min"),
        (60, "1 h"),
        (90, "1 h 30 min"),
        (1440, "24 h"),
        (1500, "25 h"),
        (2880, "2 days"),
        (10_080, "7 days"),
    ],
)
def test_minutes_are_shown_as_they_are_said(minutes: int, text: str) -> None:
    assert shown(minutes) == text


@given(MINUTES)
def test_what_is_shown_reads_back_as_the_same_time(minutes: int) -> None:
    words = shown(minutes).split()
    pairs = [" ".join(words[at : at + 2]) for at in range(0, len(words), 2)]
    assert sum(map(parse_minutes, pairs)) == minutes


@given(MINUTES, MINUTES, MINUTES)
def test_standing_longer_never_makes_it_worse(cure: int, parked: int, more: int) -> None:
    before, after = (
        list(CureVerdict).index(stands(cure, time)) for time in (parked, parked + more)
    )
    assert after >= before


@pytest.mark.parametrize(
    ("length", "speed", "open_minutes", "told"),
    [
        (
            30_000_000, 1_500, 10,
            "TOO LONG FOR ITS OPEN TIME: 30 m of bead take 20 min at 1.5 m/min, and have to"
            " be closed within 10 min",
        ),
        (14_990_000, 1_500, 10, "14.99 m of bead take 10 min at 1.5 m/min, of 10 min open time"),
        (1_640_000, 1_500, 10, "1.64 m of bead take 2 min at 1.5 m/min, of 10 min open time"),
        (
            30_000_000, None, 10,
            "30 m of bead have to be laid faster than 3 m/min to be closed within 10 min; how"
            " fast it is laid is not stated",
        ),
        (4_000_000, 1_500, None, "whether 4 m of bead can be laid in time is not known"),
        (4_000_000, None, None, "whether 4 m of bead can be laid in time is not known"),
    ],
)  # fmt: skip
def test_the_time_that_a_bead_takes_is_set_against_the_open_time(
    length: int, speed: int | None, open_minutes: int | None, told: str
) -> None:
    assert say(laying(length, speed, open_minutes)) == told


def test_a_bead_that_takes_exactly_its_open_time_is_too_long() -> None:
    assert laying(14_999_999, 1_500, 10).code is LayingRemark.IN_TIME
    assert laying(15_000_000, 1_500, 10).code is LayingRemark.TOO_LONG
