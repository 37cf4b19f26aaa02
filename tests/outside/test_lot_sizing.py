"""Sourcing against textbook examples of lot sizing.

L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019
(data/README.md). The demand of each period is an item; an order placed in a period is a delivery
whose carriage is the fixed cost; a piece ordered earlier costs what it costs to hold it.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from published import rows

from kitting.calc.purchasing.sourcing import Delivery, Offer, Price, source

SCALE = 10  # holding costs have one decimal

EXAMPLES = rows("wagner_whitin.csv")


@pytest.mark.parametrize("example", EXAMPLES, ids=[row["example"] for row in EXAMPLES])
def test_orders_over_the_periods_are_those_of_the_textbook(example: dict[str, str]) -> None:
    demand = [int(pieces) for pieces in example["demand"].split()]
    holding = Fraction(example["holding"]) * SCALE
    assert holding.denominator == 1
    periods = range(len(demand))
    offers = [
        Offer(
            ordered * 10 + wanted,
            item=wanted,
            delivery=ordered,
            pack=1000,
            prices=(Price(1, int(holding) * (wanted - ordered)),),
        )
        for wanted in periods
        for ordered in range(wanted + 1)
    ]
    deliveries = [Delivery(ordered, int(example["fixed"]) * SCALE) for ordered in periods]
    needs = {wanted: demand[wanted] * 1000 for wanted in periods}
    found = source(needs, offers, deliveries)
    assert found is not None
    assert found.cost == int(example["cost"]) * SCALE
    orders = [0 for _ in periods]
    for line in found.lines:
        orders[line.offer // 10] += line.packs
    assert orders == [int(pieces) for pieces in example["orders"].split()]
