"""Stock levels against examples of a textbook.

L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, as quoted
in the documentation of a public package; each result also recomputed by enumeration.

Not mapped, because nothing here plans with normal demand or chooses order sizes: Examples 3.1,
3.5 and 3.8 (economic order quantity), 4.1 to 4.4 (normal demand), 4.7 as (s, S) policy, 5.1 to 5.6
(normal demand), and joint replenishment. Examples 3.9 and 3.27 stand in test_lot_sizing.py. Of
Example 5.8 only the cost is reproduced, from our chances: (r, Q) is searched in the test.
"""

from __future__ import annotations

import math

import pytest

from kitting.calc.advice.base_stock import ItemDemand, levels_for_target
from kitting.calc.advice.poisson import poisson_cdf


def newsvendor_cost(level: int, mean: float, left: float, short: float) -> float:
    """Expected cost per period, from the chances: pieces left are the sum of P(use <= k)."""
    over = math.fsum(poisson_cdf(k, mean) for k in range(level))
    return left * over + short * (over + mean - level)


@pytest.mark.parametrize(
    ("mean", "left", "short", "level", "cost"),
    [
        pytest.param(50.0, 0.18, 0.70, 56, 1.7972352118, id="Example 4.1 data, Poisson demand"),
        pytest.param(6.0, 1.0, 4.0, 8, 3.5701069458, id="Example 4.7 data, newsvendor"),
    ],
)
def test_level_at_the_critical_ratio_is_the_newsvendors(
    mean: float, left: float, short: float, level: int, cost: float
) -> None:
    found = levels_for_target([ItemDemand("paper", mean, 1)], short / (short + left))
    assert found.levels == {"paper": level}
    assert newsvendor_cost(level, mean, left, short) == pytest.approx(cost, abs=1e-9)


@pytest.mark.parametrize("lead", [1, 2, 5])
def test_base_stock_is_the_newsvendors_level_for_the_demand_over_the_lead_time(lead: int) -> None:
    """Chapter 4 of the book: least cost of holding and backorders, found here by enumeration."""
    mean = 1.5 * lead
    best = min(range(60), key=lambda level: newsvendor_cost(level, mean, 20.0, 150.0))
    found = levels_for_target([ItemDemand("part", mean, 1)], 150 / 170)
    assert found.levels == {"part": best}


def test_cost_of_reorder_point_and_quantity_is_that_of_example_5_8() -> None:
    def cost(point: int, quantity: int) -> float:
        each = (
            newsvendor_cost(max(at, 0), 3.0, 20.0, 150.0) - 150.0 * min(at, 0)
            for at in range(point + 1, point + quantity + 1)
        )
        return (100.0 * 1.5 + math.fsum(each)) / quantity

    best = min(
        ((point, quantity) for point in range(-3, 25) for quantity in range(1, 40)),
        key=lambda choice: cost(*choice),
    )
    assert best == (3, 5)
    assert cost(3, 5) == pytest.approx(107.92358063314975, abs=1e-9)
