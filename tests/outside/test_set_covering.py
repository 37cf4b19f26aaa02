"""Purchases against set-covering problems of the OR-Library with published optima.

J. E. Beasley, OR-Library (data/README.md). Columns are offers, rows are gaps, and a gap is closed
by the one tool of its name: the code that solves them is the code that buys tools.
"""

from __future__ import annotations

import pytest
from published import DATA

from kitting.calc.tools.purchase import ToolOffer, cheapest


def problem(name: str) -> tuple[list[int], list[list[int]]]:
    """Column costs, and for each row the columns (from 0) that cover it."""
    numbers = iter(map(int, (DATA / f"{name}.txt").read_text(encoding="ascii").split()))
    height, width = next(numbers), next(numbers)
    costs = [next(numbers) for _ in range(width)]
    covers = [[next(numbers) - 1 for _ in range(next(numbers))] for _ in range(height)]
    assert next(numbers, None) is None
    return costs, covers


@pytest.mark.parametrize(
    ("name", "columns", "optimum"), [("scp41", 1000, 429), ("scp51", 2000, 253)]
)
def test_the_cheapest_purchase_is_the_published_optimum(
    name: str, columns: int, optimum: int
) -> None:
    costs, covers = problem(name)
    assert (len(costs), len(covers)) == (columns, 200)
    brings: list[set[str]] = [set() for _ in costs]
    for row, covering in enumerate(covers):
        for column in covering:
            brings[column].add(str(row))
    offers = [
        ToolOffer(f"{column:04}", cost, frozenset(brings[column]))
        for column, cost in enumerate(costs)
    ]
    found = cheapest(offers, {str(row): [frozenset([str(row)])] for row in range(len(covers))})
    assert found is not None
    assert found.cost == optimum
    bought = {int(code) for code in found.offers}
    assert sum(costs[column] for column in bought) == optimum
    assert all(bought & set(covering) for covering in covers)
