"""Failure rates: chances learned level by level, against scipy and against planted rates.

The worked figures are our own reckoning; the chances and shifts in them are invented.
"""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]

from kitting.calc.advice.failure_rates import (
    POOL_WEIGHT,
    PRIOR_WEIGHT,
    SHIFTS,
    Belief,
    Inspected,
    Prior,
    beta_below,
    posterior,
    shifted,
)
from kitting.errors import KittingError
from kitting.facts.words import RateShift

PARAMETER = st.floats(0.2, 400.0)


def test_two_failures_of_nine_move_fifteen_per_cent_to_eighteen() -> None:
    # Common practice (conjugate Beta), no source; the prior is invented.
    belief = posterior(Prior(0.15), Inspected(2, 9))
    assert PRIOR_WEIGHT == 10.0
    assert (belief.alpha, belief.beta, belief.inspected) == (3.5, 15.5, 9)
    assert belief.mean == 3.5 / 19
    assert round(belief.mean, 3) == 0.184


def test_without_any_level_the_prior_is_believed() -> None:
    assert posterior(Prior(0.25, 8.0)) == Belief(2.0, 6.0, 0)


def test_each_level_starts_from_the_one_before_at_a_capped_weight() -> None:
    # Beta(3.5, 15.5) is worth 19 inspections; it goes on with 10.
    belief = posterior(Prior(0.15), Inspected(2, 9), Inspected(1, 2))
    assert POOL_WEIGHT == 10.0
    assert belief.alpha == pytest.approx(35 / 19 + 1)
    assert belief.beta == pytest.approx(155 / 19 + 1)
    assert belief.inspected == 11
    assert belief.weight == pytest.approx(12.0)


def test_a_light_level_is_not_made_heavier_for_the_next() -> None:
    assert posterior(Prior(0.5, 2.0), Inspected(0, 2), Inspected(0, 0)) == Belief(1.0, 3.0, 2)


def test_a_level_without_inspections_keeps_the_mean_and_widens_the_spread() -> None:
    kind = posterior(Prior(0.15), Inspected(30, 90))
    item = posterior(Prior(0.15), Inspected(30, 90), Inspected(0, 0))
    assert item.mean == pytest.approx(kind.mean)
    assert item.spread()[0] < kind.spread()[0] < kind.spread()[1] < item.spread()[1]


def test_one_failure_of_one_moves_an_item_no_further_than_a_tenth_of_the_way() -> None:
    kind = posterior(Prior(0.15), Inspected(15, 100))
    item = posterior(Prior(0.15), Inspected(15, 100), Inspected(1, 1))
    assert item.mean - kind.mean == pytest.approx((1.0 - kind.mean) / 11)


def test_age_and_heat_move_fifteen_per_cent_to_forty_seven() -> None:
    # Invented shifts: -1.73 + 0.7 + 0.9 = -0.13.
    found = shifted(0.15, SHIFTS[RateShift.OVER_8_YEARS], SHIFTS[RateShift.HOT_SIDE])
    assert round(found, 3) == 0.466


def test_the_shifts_are_the_invented_ones() -> None:
    assert dict(SHIFTS) == {
        RateShift.OVER_8_YEARS: 0.7,
        RateShift.HOT_SIDE: 0.9,
        RateShift.EARLIER_REMOVAL: 0.6,
        RateShift.UNDER_2_YEARS: -0.5,
    }


@given(st.floats(0.001, 0.999), st.lists(st.floats(-3.0, 3.0), max_size=4))
def test_a_shift_can_be_taken_back(chance: float, shifts: list[float]) -> None:
    assert shifted(shifted(chance, *shifts), *(-s for s in shifts)) == pytest.approx(chance)


def test_what_is_certain_is_not_shifted() -> None:
    assert (shifted(0.0, 5.0), shifted(1.0, -5.0)) == (0.0, 1.0)


def test_extreme_shifts_stay_chances() -> None:
    assert shifted(0.5, 2000.0) == 1.0
    assert shifted(0.5, -2000.0) == 0.0


@given(st.floats(0.0, 1.0), PARAMETER, PARAMETER)
def test_the_incomplete_beta_function_agrees_with_scipy(x: float, a: float, b: float) -> None:
    assert beta_below(x, a, b) == pytest.approx(float(stats.beta.cdf(x, a, b)), abs=1e-10)


@given(PARAMETER, PARAMETER, st.floats(0.05, 0.99))
def test_the_spread_agrees_with_scipy(a: float, b: float, share: float) -> None:
    low, high = stats.beta.interval(share, a, b)
    assert Belief(a, b).spread(share) == pytest.approx((float(low), float(high)), abs=1e-9)


def test_a_large_record_has_a_narrow_spread() -> None:
    low, high = stats.beta.interval(0.9, 15_001.5, 85_008.5)
    assert Belief(15_001.5, 85_008.5).spread() == pytest.approx((low, high), abs=1e-9)


def test_a_certain_chance_has_no_spread() -> None:
    assert posterior(Prior(1.0), Inspected(3, 3)).spread() == (1.0, 1.0)
    assert posterior(Prior(0.0), Inspected(0, 3)).spread() == (0.0, 0.0)


@pytest.mark.parametrize(("failed", "looked"), [(-1, 3), (4, 3), (0, -1)])
def test_findings_that_cannot_be_are_refused(failed: int, looked: int) -> None:
    with pytest.raises(KittingError, match="cannot be"):
        Inspected(failed, looked)


@pytest.mark.parametrize(("mean", "weight"), [(-0.1, 10.0), (1.1, 10.0), (0.2, 0.0)])
def test_a_prior_that_is_no_distribution_is_refused(mean: float, weight: float) -> None:
    with pytest.raises(KittingError):
        Prior(mean, weight)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_a_share_that_is_no_share_is_refused(share: float) -> None:
    with pytest.raises(KittingError, match="share"):
        Belief(1.5, 8.5).spread(share)


@pytest.mark.parametrize("chance", [-0.1, 1.1])
def test_a_chance_that_is_none_is_not_shifted(chance: float) -> None:
    with pytest.raises(KittingError, match="chance"):
        shifted(chance, 0.1)


@pytest.mark.parametrize("rate", [0.03, 0.15, 0.5, 0.8])
def test_a_planted_rate_is_recovered_from_many_looks(rate: float) -> None:
    rng = random.Random(20_260_402)
    failed = sum(rng.random() < rate for _ in range(4000))
    belief = posterior(Prior(0.3), Inspected(failed, 4000))
    # Four standard errors of what was drawn, and what the prior can pull.
    assert abs(belief.mean - rate) < 4 * (rate * (1 - rate) / 4000) ** 0.5 + 10 / 4010


def test_the_ninety_per_cent_spread_holds_nine_planted_rates_in_ten() -> None:
    rng = random.Random(7)
    prior, held, trials = Prior(0.15), 0, 3000
    for _ in range(trials):
        rate = rng.betavariate(1.5, 8.5)
        looked = rng.randint(0, 40)
        failed = sum(rng.random() < rate for _ in range(looked))
        low, high = posterior(prior, Inspected(failed, looked)).spread()
        held += low <= rate <= high
    # 0.9 within three standard errors of 3000 trials.
    assert abs(held / trials - 0.9) < 3 * (0.9 * 0.1 / trials) ** 0.5


def test_items_that_differ_within_their_kind_are_held_by_the_pooled_spread() -> None:
    # Items vary about their kind as the pool weight says; the kind is known from many looks.
    rng = random.Random(11)
    held, trials = 0, 2000
    for _ in range(trials):
        rate = rng.betavariate(0.2 * POOL_WEIGHT, 0.8 * POOL_WEIGHT)
        looked = rng.randint(0, 12)
        failed = sum(rng.random() < rate for _ in range(looked))
        low, high = posterior(Prior(0.2), Inspected(400, 2000), Inspected(failed, looked)).spread()
        held += low <= rate <= high
    assert abs(held / trials - 0.9) < 3 * (0.9 * 0.1 / trials) ** 0.5
