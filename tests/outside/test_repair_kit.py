"""Repair kits against instances whose best answers were found by exhaustive enumeration.

The models are those of the papers named at each test; the figures are not from the papers
(data/README.md).
"""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import pytest
from published import DATA

from kitting.calc.repair_kit import (
    Part,
    StockPart,
    best_kit_by_budget,
    best_kit_by_cost,
    best_kit_for_jobs,
    by_ratio,
    cheapest_stock_for_rate,
    cheapest_stock_for_tour,
    frontier,
    tour_fill_rate,
)


def instance(name: str) -> dict[str, Any]:
    """An instance with every figure that has a point left as text, so that it stays exact."""
    text = (DATA / f"repair_kit_{name}.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text, parse_float=str)
    return found


A1, B1, C1, D1, E1 = (instance(name) for name in ("A1", "B1", "C1", "D1", "E1"))
A_PARTS = [
    Part(row["part"], row["probability_needed"], row["holding_cost_per_visit"])
    for row in A1["parts"]
]
B_PARTS = [
    Part(row["part"], row["probability_needed"], value=row["unit_value"]) for row in B1["parts"]
]
D_PARTS = [
    StockPart(row["part"], row["demand_pmf_units_0_1_2"], row["holding_cost_per_unit"])
    for row in D1["parts"]
]
E_PARTS = [
    Part(row["part"], row["probability_needed_per_job"], row["holding_cost_per_unit"])
    for row in E1["parts"]
]


def test_kit_of_least_cost_is_the_one_of_smith_chambers_and_shlifer() -> None:
    found = best_kit_by_cost(A_PARTS, A1["penalty_per_incomplete_job"])
    assert list(found.parts) == A1["optimal_kit"]
    assert found.total == Fraction(A1["optimal_total_cost"])
    assert found.cost == Fraction(A1["optimal_holding_cost"])
    assert found.chance == Fraction(A1["job_completion_rate"])
    assert [part.key for part in by_ratio(A_PARTS)] == A1["ratio_order"]


def test_without_a_penalty_worth_a_part_the_kit_stays_empty() -> None:
    found = best_kit_by_cost(A_PARTS, "0.01")
    assert found.parts == ()
    assert found.chance == Fraction(A1["empty_kit"]["job_completion_rate"])


@pytest.mark.parametrize("row", B1["results"], ids=lambda row: str(row["budget"]))
def test_kit_within_a_budget_is_the_one_of_graves(row: dict[str, Any]) -> None:
    found = best_kit_by_budget(B_PARTS, row["budget"])
    assert list(found.parts) == row["optimal_kit"]
    assert found.cost == Fraction(row["kit_value"])
    assert found.chance == Fraction(row["job_completion_rate"])


def test_frontier_of_value_and_chance_is_complete() -> None:
    found = [(list(kit.parts), kit.cost, kit.chance) for kit in frontier(B_PARTS)]
    assert len(found) == B1["efficient_frontier_points"] == 63
    assert found == [
        (row["kit"], Fraction(row["kit_value"]), Fraction(row["job_completion_rate"]))
        for row in B1["efficient_frontier"]
    ]


def test_kit_for_given_jobs_is_the_one_of_mamer_and_smith() -> None:
    jobs = [(row["needs"], row["jobs_per_period"]) for row in C1["jobs"]]
    found = best_kit_for_jobs(C1["holding_cost_per_period"], jobs, C1["penalty_per_incomplete_job"])
    assert list(found.parts) == C1["optimal_kit"]
    assert [C1["jobs"][at]["job"] for at in found.completed] == C1["jobs_completed"]
    assert found.total == Fraction(C1["optimal_total_cost"])
    assert found.holding == Fraction(C1["holding_cost"])
    assert found.rate == Fraction(C1["job_completion_rate"])


def test_stock_for_a_rate_is_the_one_of_bijvank_koole_and_vis() -> None:
    found = cheapest_stock_for_rate(D_PARTS, D1["required_job_fill_rate"])
    assert found.levels == D1["optimal_stock"]
    assert found.holding == Fraction(D1["optimal_holding_cost"])
    assert found.rate == Fraction(D1["job_fill_rate"])


def test_the_rate_for_each_part_alone_misses_it_for_the_job() -> None:
    alone = [cheapest_stock_for_rate([part], D1["required_job_fill_rate"]) for part in D_PARTS]
    contrast = D1["contrast_each_part_alone_at_target"]
    assert {key: n for stock in alone for key, n in stock.levels.items()} == contrast["stock"]
    assert sum(stock.holding for stock in alone) == Fraction(contrast["holding_cost"])
    reached = Fraction(1)
    for stock in alone:
        reached *= stock.rate
    assert reached == Fraction(contrast["job_fill_rate"])
    assert reached < Fraction(D1["required_job_fill_rate"])


def test_stock_for_a_tour_is_the_cheapest_of_all_sixty_four() -> None:
    found = cheapest_stock_for_tour(E_PARTS, E1["jobs_per_tour"], E1["required_job_fill_rate"])
    assert found.levels == E1["optimal_stock_all_or_nothing"]
    assert found.holding == Fraction(E1["optimal_holding_cost"])
    assert float(found.rate) == float(E1["job_fill_rate"])


@pytest.mark.parametrize("row", E1["evaluation_only"], ids=lambda row: str(row["stock"]))
def test_fill_rate_of_a_tour_by_either_rule(row: dict[str, Any]) -> None:
    whole = tour_fill_rate(E_PARTS, E1["jobs_per_tour"], row["stock"])
    loose = tour_fill_rate(E_PARTS, E1["jobs_per_tour"], row["stock"], all_or_nothing=False)
    assert float(whole) == float(row["job_fill_rate_all_or_nothing"])
    assert float(loose) == float(row["job_fill_rate_parts_always_taken"])
