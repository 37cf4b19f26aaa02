"""Sourcing against facility location problems of the OR-Library with published optima.

J. E. Beasley, OR-Library (data/README.md). Each customer is an item of which one is needed, each
warehouse a delivery with its fixed cost as carriage: the code that solves them is the code that
buys parts.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from published import DATA

from kitting.calc.purchasing.sourcing import Delivery, Offer, Price, source

SCALE = 100_000  # the files have five decimals


def problem(name: str) -> tuple[list[int], list[list[int]]]:
    """Fixed costs of the warehouses, and for each customer the costs of serving it from each."""
    words = iter((DATA / f"{name}.txt").read_text(encoding="ascii").split())

    def money() -> int:
        scaled = Decimal(next(words)) * SCALE
        assert scaled == int(scaled)
        return int(scaled)

    warehouses, customers = int(next(words)), int(next(words))
    fixed = []
    for _ in range(warehouses):
        next(words)  # the capacity: all that is wanted, so that it never binds
        fixed.append(money())
    serving = []
    for _ in range(customers):
        next(words)  # the demand: the costs are those of all of it
        serving.append([money() for _ in range(warehouses)])
    assert next(words, None) is None
    return fixed, serving


@pytest.mark.parametrize(
    ("name", "warehouses", "optimum"),
    [
        ("cap71", 16, "932615.7500"),
        ("cap74", 16, "1034976.9750"),
        ("cap102", 25, "854704.2000"),
        ("cap131", 50, "793439.5625"),
    ],
)
def test_the_purchase_of_least_cost_is_the_published_optimum(
    name: str, warehouses: int, optimum: str
) -> None:
    fixed, serving = problem(name)
    assert (len(fixed), len(serving)) == (warehouses, 50)
    offers = [
        Offer(customer * warehouses + warehouse, customer, warehouse, 1000, (Price(1, cost),))
        for customer, costs in enumerate(serving)
        for warehouse, cost in enumerate(costs)
    ]
    deliveries = [Delivery(warehouse, cost) for warehouse, cost in enumerate(fixed)]
    found = source(dict.fromkeys(range(50), 1000), offers, deliveries)
    assert found is not None
    assert Decimal(found.cost) / SCALE == Decimal(optimum)
    # Added up again from the chosen lines alone.
    served = [divmod(line.offer, warehouses) for line in found.lines]
    assert [customer for customer, _ in served] == list(range(50))
    opened = {warehouse for _, warehouse in served}
    again = sum(serving[customer][warehouse] for customer, warehouse in served)
    assert again + sum(fixed[warehouse] for warehouse in opened) == found.cost
