"""Columns of offers: what is removed never changes the cheapest cost, against plain enumeration.

Offers and gaps are invented or drawn.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kitting.calc.tools import column_search
from kitting.calc.tools.column_bounds import PARTS, Counted
from kitting.calc.tools.column_search import Search
from kitting.calc.tools.columns import Cover, TooManyError, columns_of
from kitting.calc.tools.purchase import ToolOffer, Ways, _asked, _solved, _worth_asking, cheapest

SETS = st.frozensets(st.sampled_from("uvwxyz"), min_size=1, max_size=4)
WAYS = st.lists(
    st.frozensets(st.sampled_from("uvwxyz"), min_size=1, max_size=3), min_size=1, max_size=3
)
OFFERS = st.lists(st.tuples(st.integers(0, 40), SETS), min_size=1, max_size=8).map(
    lambda drawn: [ToolOffer(f"O{n}", cost, tools) for n, (cost, tools) in enumerate(drawn)]
)
GAPS = st.lists(WAYS, min_size=1, max_size=4)


def closed(offers: Sequence[ToolOffer], ways: Ways) -> bool:
    brought = frozenset[str]().union(*(offer.brings for offer in offers))
    return any(way <= brought for way in ways)


def purchases(offers: Sequence[ToolOffer], gaps: Sequence[Ways]) -> list[tuple[ToolOffer, ...]]:
    """Every set of offers that closes every gap."""
    return [
        chosen
        for size in range(len(offers) + 1)
        for chosen in combinations(offers, size)
        if all(closed(chosen, ways) for ways in gaps)
    ]


def cost(chosen: Sequence[ToolOffer]) -> int:
    return sum(offer.cost for offer in chosen)


def cover(offers: Sequence[ToolOffer], gaps: Sequence[Ways]) -> Cover:
    return Cover([o.cost for o in offers], [o.brings for o in offers], gaps)


def drawn_shop(seed: int) -> tuple[list[ToolOffer], dict[str, Ways]]:
    """Up to 40 offers of up to five tools; up to 15 gaps of up to five ways of up to four tools."""
    luck = random.Random(seed)
    tools = [f"t{n}" for n in range(luck.randint(5, 30))]
    dearest = luck.choice((3, 50, 9_000))
    offers = [
        ToolOffer(f"o{n:02}", luck.randint(0, dearest), frozenset(luck.choices(tools, k=luck.randint(1, 5))))
        for n in range(luck.randint(10, 40))
    ]  # fmt: skip
    gaps: dict[str, Ways] = {
        f"g{n}": [
            frozenset(luck.choices(tools, k=luck.randint(1, 4))) for _ in range(luck.randint(1, 5))
        ]
        for n in range(luck.randint(2, 15))
    }
    return offers, gaps


@given(offers=OFFERS, gaps=GAPS)
@settings(deadline=None)
def test_offers_left_out_as_dominated_never_change_the_cheapest_cost(
    offers: list[ToolOffer], gaps: list[Ways]
) -> None:
    asked = _asked(gaps, offers)
    kept = _worth_asking(offers, asked)
    assert {offer.code for offer in kept} <= {offer.code for offer in offers}
    costs = [cost(chosen) for chosen in purchases(offers, gaps)]
    assert min(costs, default=None) == min(
        [cost(chosen) for chosen in purchases(kept, asked)], default=None
    )


def test_of_two_offers_alike_the_first_is_kept_and_a_dearer_smaller_one_is_left_out() -> None:
    first, second = ToolOffer("A", 5, frozenset("uv")), ToolOffer("B", 5, frozenset("uv"))
    dearer, cheaper = ToolOffer("C", 6, frozenset("u")), ToolOffer("D", 4, frozenset("v"))
    asked = [[frozenset("u")], [frozenset("v")]]
    assert _worth_asking([first, second, dearer, cheaper], asked) == [first, cheaper]


@given(offers=OFFERS, ways=WAYS, most=st.integers(0, 80))
@settings(deadline=None)
def test_whatever_closes_a_gap_within_a_price_has_a_column_in_it(
    offers: list[ToolOffer], ways: Ways, most: int
) -> None:
    found = columns_of(cover(offers, [ways]), ways, most)
    for column in found:
        of_it = [offer for n, offer in enumerate(offers) if column >> n & 1]
        assert closed(of_it, ways)
        assert cost(of_it) <= most
    for chosen in purchases(offers, [ways]):
        taken = sum(1 << offers.index(offer) for offer in chosen)
        if cost(chosen) <= most:
            assert any(column & taken == column for column in found)


@given(offers=OFFERS, gaps=GAPS, limit=st.integers(0, 100), seed=st.integers(0, 99))
@settings(deadline=None)
def test_columns_left_out_by_a_bound_never_belong_to_a_purchase_within_the_limit(
    offers: list[ToolOffer], gaps: list[Ways], limit: int, seed: int
) -> None:
    search = Search(cover(offers, gaps))
    search.limit = limit
    search.seen.clear()
    root = search._root()
    allowed = [chosen for chosen in purchases(offers, gaps) if cost(chosen) <= limit]
    if root is None:
        assert not allowed
        return
    # Any shares make a valid bound, sensible or not.
    drawn = np.random.default_rng(seed).uniform(0, 2, len(root.shares)) * root.shares
    left = search._possible(replace(root, shares=drawn))
    if left is None:  # nothing is left, or what has to be taken is itself a purchase
        assert all(cost(chosen) > search.limit for chosen in allowed)
        return
    rows = [
        (gap, {int(left.offers[pair]) for pair in pairs if pair})
        for gap, pairs in zip(left.gap.tolist(), left.columns.T.tolist(), strict=True)
    ]
    needed = {n for n in range(len(offers)) if left.taken >> n & 1}
    assert left.paid == sum(offers[n].cost for n in needed)
    for chosen in allowed:
        taken = {offers.index(offer) for offer in chosen}
        assert needed <= taken
        for gap in set(left.gap.tolist()):
            assert any(gap == number and column <= taken for number, column in rows)
        for gap in set(range(len(gaps))) - set(left.gap.tolist()):
            assert closed([offers[n] for n in needed], gaps[gap])


@given(offers=OFFERS, gaps=GAPS, seed=st.integers(0, 99))
@settings(deadline=None)
def test_no_purchase_with_or_without_an_offer_is_below_the_bound_of_that(
    offers: list[ToolOffer], gaps: list[Ways], seed: int
) -> None:
    search = Search(cover(offers, gaps))
    search.limit = sum(offer.cost for offer in offers)  # so that nothing is left out
    root = search._root()
    possible = purchases(offers, gaps)
    if root is None:
        assert not possible
        return
    drawn = np.random.default_rng(seed).uniform(0, 2, len(root.shares)) * root.shares
    counted = Counted(search.prices, replace(root, shares=drawn))
    with_each, without_each = counted.with_each().tolist(), counted.without_each().tolist()
    for chosen in possible:
        parts = cost(chosen) * PARTS
        assert counted.bound <= parts
        for number, offer in enumerate(offers):
            bounds = with_each if offer in chosen else without_each
            assert bounds[number] <= parts


def test_the_search_costs_what_the_solver_costs_and_so_do_the_next_two() -> None:
    compared = 0
    for seed in range(60):
        offers, gaps = drawn_shop(seed)
        known: list[frozenset[str]] = []
        for _ in range(3):
            found = cheapest(offers, gaps, known)
            asked = _asked(gaps.values(), offers)
            solved = _solved(offers, asked, known) if all(asked) else None
            assert (found and found.cost) == (solved and cost(solved)), (seed, known)
            if not found or not found.offers:
                break
            bought = [offer for offer in offers if offer.code in found.offers]
            assert all(closed(bought, ways) for ways in gaps.values())
            assert not any(one <= set(found.offers) for one in known)
            known.append(frozenset(found.offers))
            compared += 1
    assert compared > 60


def test_200_shops_are_bought_from_for_what_the_cheapest_of_all_purchases_costs() -> None:
    bought = 0
    for seed in range(200):
        luck = random.Random(seed)
        tools = "tuvwxyz"[: luck.randint(3, 7)]
        offers = [
            ToolOffer(f"o{n}", luck.randint(0, 40), frozenset(luck.choices(tools, k=luck.randint(1, 3))))
            for n in range(luck.randint(4, 9))
        ]  # fmt: skip
        gaps: dict[str, Ways] = {
            f"g{n}": [
                frozenset(luck.choices(tools, k=luck.randint(1, 3)))
                for _ in range(luck.randint(1, 3))
            ]
            for n in range(luck.randint(1, 5))
        }
        found = cheapest(offers, gaps)
        least = min(map(cost, purchases(offers, list(gaps.values()))), default=None)
        assert (found and found.cost) == least, seed
        bought += found is not None
    assert bought > 100


@pytest.mark.parametrize("limit", ["MOST_COLUMNS", "MOST_NODES", "_MOST_MONEY"])
def test_a_case_too_large_to_search_is_left_to_the_solver(
    limit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    offers = [ToolOffer(one, price, frozenset(one)) for one, price in (("AB", 30), ("BC", 30), ("CA", 30), ("D", 7))]  # fmt: skip
    gaps: dict[str, Ways] = {tool: [frozenset(tool)] for tool in "ABCD"}
    searched = cheapest(offers, gaps)
    assert searched is not None
    assert searched.cost == 67
    monkeypatch.setattr(column_search, limit, 0)
    cover_of_all = cover(offers, list(gaps.values()))
    with pytest.raises(TooManyError):
        Search(cover_of_all).run()
    solved = cheapest(offers, gaps)
    assert solved is not None
    assert solved.cost == 67
