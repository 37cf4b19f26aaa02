"""Repair kits against every possible kit of small cases."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.repair_kit import (
    Part,
    StockPart,
    best_kit_by_budget,
    best_kit_by_cost,
    best_kit_for_jobs,
    cheapest_stock_for_rate,
    cheapest_stock_for_tour,
    frontier,
    tour_fill_rate,
)
from kitting.errors import FigureError, KittingError

percents = st.integers(0, 20).map(lambda n: Fraction(n, 20))


@st.composite
def part_lists(draw: st.DrawFn, most: int = 6) -> list[Part]:
    rows = draw(
        st.lists(st.tuples(percents, st.integers(0, 30), st.integers(0, 30)), max_size=most)
    )
    return [Part(f"p{at}", *row) for at, row in enumerate(rows)]


def sure(parts: list[Part], kit: tuple[int, ...]) -> Fraction:
    return math.prod(
        (1 - Fraction(p.chance) for p, held in zip(parts, kit, strict=True) if not held),
        start=Fraction(1),
    )


def kits(parts: list[Part]) -> list[tuple[int, ...]]:
    return list(product((0, 1), repeat=len(parts)))


@given(part_lists(), st.integers(0, 100))
def test_no_kit_costs_less(parts: list[Part], penalty: int) -> None:
    costs = [
        sum(Fraction(p.holding) for p, held in zip(parts, kit, strict=True) if held)
        + penalty * (1 - sure(parts, kit))
        for kit in kits(parts)
    ]
    found = best_kit_by_cost(parts, penalty)
    assert found.total == min(costs)
    assert found.chance == sure(parts, tuple(int(p.key in found.parts) for p in parts))
    assert found.total == found.cost + penalty * (1 - found.chance)


@given(part_lists(), st.integers(0, 120))
def test_no_kit_within_the_budget_is_surer(parts: list[Part], budget: int) -> None:
    values = {
        kit: sum(Fraction(p.value) for p, held in zip(parts, kit, strict=True) if held)
        for kit in kits(parts)
    }
    best = max(sure(parts, kit) for kit, value in values.items() if value <= budget)
    least = min(v for kit, v in values.items() if sure(parts, kit) == best)
    found = best_kit_by_budget(parts, budget)
    assert (found.chance, found.cost) == (best, least)
    points = [(kit.cost, kit.chance) for kit in frontier(parts, budget)]
    assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(points))


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.integers(0, 12), min_size=1, max_size=5),
    st.lists(st.tuples(st.sets(st.integers(0, 4), max_size=3), st.integers(0, 8)), max_size=5),
    st.integers(0, 6),
)
def test_no_kit_for_the_jobs_costs_less(
    costs: list[int], rows: list[tuple[set[int], int]], penalty: int
) -> None:
    holding = {f"p{at}": cost for at, cost in enumerate(costs)}
    jobs = [({f"p{n % len(costs)}" for n in needs}, often) for needs, often in rows]
    totals = []
    for kit in product((0, 1), repeat=len(costs)):
        held = {f"p{at}" for at, taken in enumerate(kit) if taken}
        missed = sum(often for needs, often in jobs if not needs <= held)
        totals.append(sum(holding[key] for key in held) + penalty * missed)
    found = best_kit_for_jobs(holding, jobs, penalty)
    assert found.total == min(totals)
    assert found.completed == tuple(
        at for at, (needs, _) in enumerate(jobs) if needs <= set(found.parts)
    )


pmfs = (
    st.lists(st.integers(0, 5), min_size=1, max_size=4)
    .filter(any)
    .map(lambda weights: [Fraction(weight, sum(weights)) for weight in weights])
)


@given(st.lists(st.tuples(pmfs, st.integers(0, 9)), max_size=4), percents)
def test_no_stock_that_reaches_the_rate_is_cheaper(
    rows: list[tuple[list[Fraction], int]], rate: Fraction
) -> None:
    parts = [StockPart(f"p{at}", pmf, cost) for at, (pmf, cost) in enumerate(rows)]
    reached: dict[int, Fraction] = {}
    for levels in product(*(range(len(pmf)) for pmf, _ in rows)):
        chance = math.prod(
            (sum(pmf[: n + 1], Fraction(0)) for (pmf, _), n in zip(rows, levels, strict=True)),
            start=Fraction(1),
        )
        if chance >= rate:
            cost = sum(n * price for (_, price), n in zip(rows, levels, strict=True))
            reached[cost] = max(chance, reached.get(cost, Fraction(0)))
    found = cheapest_stock_for_rate(parts, rate)
    assert found.holding == min(reached)
    assert found.rate == reached[min(reached)]


def by_every_path(parts: list[Part], jobs: int, stock: dict[str, int], whole: bool) -> Fraction:
    """Share of completed jobs, each pattern of needs of the whole tour looked at in turn."""
    done = Fraction(0)
    for needs in product(product((0, 1), repeat=len(parts)), repeat=jobs):
        chance, held, completed = Fraction(1), dict(stock), 0
        for job in needs:
            for part, wanted in zip(parts, job, strict=True):
                chance *= Fraction(part.chance) if wanted else 1 - Fraction(part.chance)
            keys = [part.key for part, wanted in zip(parts, job, strict=True) if wanted]
            complete = all(held[key] for key in keys)
            completed += complete
            for key in keys:
                if complete or (not whole and held[key]):
                    held[key] -= 1
        done += chance * completed
    return done / jobs


@settings(deadline=None, max_examples=40)
@given(part_lists(most=3), st.integers(1, 3), st.data(), st.booleans())
def test_fill_rate_of_a_tour_agrees_with_every_path(
    parts: list[Part], jobs: int, data: st.DataObject, whole: bool
) -> None:
    stock = {part.key: data.draw(st.integers(0, 3)) for part in parts}
    assert tour_fill_rate(parts, jobs, stock, whole) == by_every_path(parts, jobs, stock, whole)


@settings(deadline=None, max_examples=30)
@given(part_lists(most=2), st.integers(1, 3), percents, st.booleans())
def test_no_stock_for_the_tour_is_cheaper(
    parts: list[Part], jobs: int, rate: Fraction, whole: bool
) -> None:
    costs = []
    for levels in product(range(jobs + 1), repeat=len(parts)):
        stock = {part.key: n for part, n in zip(parts, levels, strict=True)}
        if by_every_path(parts, jobs, stock, whole) >= rate:
            costs.append(sum(n * Fraction(p.holding) for p, n in zip(parts, levels, strict=True)))
    found = cheapest_stock_for_tour(parts, jobs, rate, whole)
    assert found.holding == min(costs)
    assert found.rate == by_every_path(parts, jobs, dict(found.levels), whole) >= rate


def test_a_part_surely_needed_is_brought_if_the_rest_is_worth_it() -> None:
    parts = [Part("seal", 1, Decimal("2.50")), Part("bolt", "0.5", 1)]
    found = best_kit_by_cost(parts, 10)
    assert (found.parts, found.total) == (("seal", "bolt"), Fraction(7, 2))
    assert best_kit_by_cost(parts, 3).parts == ()


def test_a_tour_too_large_is_refused_with_a_next_step() -> None:
    parts = [Part(f"p{at}", "0.5") for at in range(12)]
    stock = {part.key: 5 for part in parts}
    with pytest.raises(KittingError, match="Take fewer jobs or parts at once"):
        tour_fill_rate(parts, 5, stock)


def test_figures_that_make_no_sense_are_refused_by_name() -> None:
    with pytest.raises(FigureError, match=r"chance of seal: 1\.2 is above 1"):
        best_kit_by_cost([Part("seal", "1.2", 1)], 1)
    with pytest.raises(FigureError, match="penalty: -1 is negative"):
        best_kit_by_cost([], -1)
    with pytest.raises(FigureError, match="is a float"):
        best_kit_by_cost([Part("seal", 0.1, 1)], 1)  # type: ignore[arg-type]
    with pytest.raises(FigureError, match=r"Chances of seal add up to 0\.9"):
        cheapest_stock_for_rate([StockPart("seal", ["0.5", "0.4"], 1)], 0)
    with pytest.raises(KittingError, match="Part seal is given twice"):
        frontier([Part("seal", 0), Part("seal", 0)])
    with pytest.raises(KittingError, match="clip: no holding cost"):
        best_kit_for_jobs({}, [({"clip"}, 1)], 1)
    with pytest.raises(KittingError, match="hose: in stock but not among the parts"):
        tour_fill_rate([], 1, {"hose": 1})
