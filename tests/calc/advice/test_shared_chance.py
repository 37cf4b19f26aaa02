"""Looks of one item at several places share what is believed of its chance."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from kitting.calc.advice.looks import Looks, needed
from kitting.calc.advice.shared_chance import beta_nodes, needed_at_all
from kitting.calc.advice.spares import Line, chance_of


def test_one_in_a_group_and_one_apart_fail_together() -> None:
    """Beta(2, 8): 1 − E[p²] = 1 − (2·3)/(10·11)."""
    line = Line(1, (Looks(1, 0.2, weight=10.0), Looks(1, 0.2, group=True, weight=10.0)), (0, 1, 2))
    assert chance_of([line], {1: 1}) == pytest.approx(1 - 6 / 110)
    assert chance_of([line], {}) == pytest.approx(8 * 9 / 110)


@given(
    st.lists(st.tuples(st.integers(1, 4), st.integers(1, 3)), min_size=2, max_size=4),
    st.floats(0.02, 0.9),
    st.floats(0.5, 40.0),
)
def test_places_of_one_chance_are_as_one_place_with_all_looks(
    places: list[tuple[int, int]], chance: float, weight: float
) -> None:
    looks = [Looks(pieces, chance, weight=weight, openings=times) for pieces, times in places]
    whole = Looks(sum(one.most for one in looks), chance, weight=weight)
    assert needed_at_all(looks) == pytest.approx(needed(whole), abs=1e-9)


@settings(deadline=None, max_examples=25)
@given(st.floats(0.05, 0.6), st.floats(0.05, 0.6), st.floats(2.0, 20.0))
def test_moved_chances_stand_at_the_same_quantile(one: float, two: float, weight: float) -> None:
    """Against scipy's quantiles, over the shares from 0 to 1 in small steps."""
    looks = [Looks(1, one, weight=weight), Looks(1, two, weight=weight)]
    shares = (np.arange(20_000) + 0.5) / 20_000
    first, second = (stats.beta.ppf(shares, c * weight, (1 - c) * weight) for c in (one, two))
    neither, both = float(np.mean((1 - first) * (1 - second))), float(np.mean(first * second))
    found = needed_at_all(looks)
    assert (found[0], found[2]) == pytest.approx((neither, both), abs=2e-4)
    assert math.fsum(found) == pytest.approx(1.0)


def test_what_is_independent_stays_so() -> None:
    apart = [Looks(2, 0.1), Looks(1, 0.1)]
    assert needed_at_all(apart) == pytest.approx(needed(Looks(3, 0.1)))


@given(st.floats(0.1, 5.0), st.floats(0.1, 5.0), st.integers(1, 12))
def test_nodes_are_exact_for_the_moments_of_a_beta(alpha: float, beta: float, count: int) -> None:
    """E[x^k] = Π (α + i)/(α + β + i)."""
    nodes, weights = beta_nodes(count, alpha, beta)
    for power in range(2 * count):
        moment = math.prod((alpha + i) / (alpha + beta + i) for i in range(power))
        assert float(np.sum(weights * nodes**power)) == pytest.approx(moment, abs=1e-10)
