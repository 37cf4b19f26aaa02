"""Sourcing against the warehouse example of CSPLib, with and without capacities.

CSPLib problem 034, after P. Van Hentenryck, The OPL Optimization Programming Language, 1999
(data/README.md).
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

from published import rows

from kitting.calc.purchasing.sourcing import Delivery, Limits, Offer, Price, source

OPENING = 30
CAPACITY = {"Bonn": 1, "Bordeaux": 4, "London": 2, "Paris": 1, "Rome": 3}
NAMES = list(CAPACITY)

STORES = rows("warehouses.csv")
DELIVERIES = [Delivery(number, OPENING) for number in range(len(NAMES))]
OFFERS = [
    Offer(
        int(row["store"]) * 10 + number, int(row["store"]), number, 1000, (Price(1, int(row[n])),)
    )
    for row in STORES
    for number, n in enumerate(NAMES)
]
NEEDS = dict.fromkeys(range(10), 1000)


def cost(opened: Iterable[str]) -> int:
    """Every store served from the nearest of the warehouses opened."""
    names = list(opened)
    return OPENING * len(names) + sum(min(int(row[name]) for name in names) for row in STORES)


def test_without_capacities_the_cost_is_that_of_the_best_of_all_31_sets_of_warehouses() -> None:
    least = min(cost(names) for size in range(1, 6) for names in combinations(NAMES, size))
    assert least == 328
    found = source(NEEDS, OFFERS, DELIVERIES)
    assert found is not None
    assert found.cost == 328
    assert [NAMES[key] for key, _ in found.carriage] == ["Bonn", "Bordeaux", "Rome"]


def test_the_stores_of_the_published_plan_cost_the_published_383() -> None:
    # Capacities are no part of sourcing: the published plan is bought with all else barred.
    plan = {int(row["store"]): NAMES.index(row["served by"]) for row in STORES}
    served = [list(plan.values()).count(number) for number in range(len(NAMES))]
    assert all(count <= CAPACITY[name] for count, name in zip(served, NAMES, strict=True))
    others = [offer.key for offer in OFFERS if offer.delivery != plan[offer.item]]
    found = source(NEEDS, OFFERS, DELIVERIES, limits=Limits(barred=others))
    assert found is not None
    assert found.cost == 383
