"""Chances of delivery are what they say: of orders promised with p the share in time is p.

Suppliers are simulated whose lead-time law is known, and what is learned of so many receipts of
theirs promises one more order. Everything is seeded.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from kitting.calc.purchasing.delivery import WORD_COUNTS_AS, LeadTime

RECEIPTS = [5, 10, 50, 500]
_DAYS = 40
_Law = np.ndarray[tuple[int], np.dtype[np.float64]]


def stated_law(typical: int, late: int) -> _Law:
    """The chance of each day by the supplier's word, the rest on the last day."""
    by_day = [LeadTime(typical, late).stated(day) for day in range(_DAYS - 1)]
    return np.diff(np.array([0.0, *by_day, 1.0]))


def learned(law: _Law, count: int, stated: tuple[int, int], rng: np.random.Generator) -> LeadTime:
    """What so many receipts of a supplier of this law teach."""
    took = rng.choice(_DAYS, size=count, p=law)
    return LeadTime(*stated, tuple(took.tolist()))


def some_suppliers(rng: np.random.Generator, stated: tuple[int, int], number: int) -> list[_Law]:
    """Suppliers that keep their word more or less: laws about the stated one (Dirichlet)."""
    said = stated_law(*stated)
    laws = []
    for _ in range(number):
        strength = rng.choice(WORD_COUNTS_AS)
        # A sum of many draws that repeat each other: a law of a Dirichlet process about `said`.
        sticks = rng.beta(1.0, strength, size=800)
        sticks[-1] = 1.0
        shares = sticks * np.cumprod([1.0, *(1.0 - sticks[:-1])])
        days = rng.choice(_DAYS, size=800, p=said)
        laws.append(np.bincount(days, weights=shares, minlength=_DAYS))
    return [law / law.sum() for law in laws]


def in_time(law: _Law, day: int, rng: np.random.Generator) -> bool:
    """Whether one more order comes within so many days."""
    return bool(rng.choice(_DAYS, p=law) <= day)


def agrees(promised: Sequence[float], kept: Sequence[bool]) -> None:
    """The share that was kept is the mean of what was promised, within three standard errors."""
    chances = np.array(promised)
    error = np.sqrt((chances * (1 - chances)).sum()) / len(chances)
    assert abs(np.mean(kept) - chances.mean()) <= 3 * error


@pytest.mark.parametrize("count", RECEIPTS)
@pytest.mark.parametrize("stated", [(1, 2), (3, 6)])
def test_of_orders_promised_with_p_the_share_in_time_is_p(
    count: int, stated: tuple[int, int]
) -> None:
    """The day of the job is whatever it is: told apart by what was promised for it."""
    rng = np.random.default_rng(5)
    promises: list[tuple[float, bool]] = []
    for law in some_suppliers(rng, stated, 600):
        lead = learned(law, count, stated, rng)
        for day in range(stated[0], stated[1] + 3):
            promises.append((lead.chance(day), in_time(law, day, rng)))
    for low, high in [(0.0, 0.5), (0.5, 0.8), (0.8, 0.9), (0.9, 0.96), (0.96, 1.0)]:
        within = [one for one in promises if low < one[0] <= high]
        if len(within) >= 30:
            agrees([p for p, _ in within], [kept for _, kept in within])
    assert max(p for p, _ in promises) > 0.96


@pytest.mark.parametrize("count", RECEIPTS)
@pytest.mark.parametrize("target", [0.8, 0.95])
def test_a_day_that_was_chosen_for_its_chance_keeps_it(count: int, target: float) -> None:
    """Choosing the first day that is sure enough among many does not make it less sure."""
    rng = np.random.default_rng(6)
    promised, kept = [], []
    for law in some_suppliers(rng, (2, 4), 1000):
        lead = learned(law, count, (2, 4), rng)
        day = lead.quantile(target)
        promised.append(lead.chance(day))
        kept.append(in_time(law, day, rng))
    assert min(promised) >= target - 1e-9
    agrees(promised, kept)


@pytest.mark.parametrize("count", RECEIPTS)
@pytest.mark.parametrize("stated", [(1, 1), (1, 2), (3, 5), (4, 9)])
def test_who_keeps_its_word_exactly_is_promised_within_a_point_and_a_half(
    count: int, stated: tuple[int, int]
) -> None:
    """Judged by the law itself, not by drawn orders, so that nothing hides in the error."""
    rng = np.random.default_rng(7)
    law = stated_law(*stated)
    sure, true = [], []
    for _ in range(200):
        lead = learned(law, count, stated, rng)
        day = lead.quantile(0.95)
        sure.append(lead.chance(day))
        true.append(law[: day + 1].sum())
    assert abs(np.mean(sure) - np.mean(true)) <= 0.015


@pytest.mark.parametrize(("count", "error"), [(50, 0.04), (500, 0.01)])
@pytest.mark.parametrize("comes", [(1, 2), (3, 5), (5, 9)])
def test_a_word_that_is_wrong_is_learned_to_be(
    count: int, error: float, comes: tuple[int, int]
) -> None:
    """All of these state two days, three where it is late."""
    rng = np.random.default_rng(8)
    law = stated_law(*comes)
    sure, true = [], []
    for _ in range(100):
        lead = learned(law, count, (2, 3), rng)
        day = lead.quantile(0.95)
        sure.append(lead.chance(day))
        true.append(law[: day + 1].sum())
    assert np.mean(sure) - np.mean(true) <= error
