"""Sets of deliveries: no bound is above a purchase, and what is decided is the best of all.

Offers and deliveries are invented or drawn.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from every_purchase import Counted, Drawn, counted, purchases

from kitting.calc.purchasing import supplier_sets
from kitting.calc.purchasing.programme import Programme
from kitting.calc.purchasing.sourcing import (
    Delivery,
    Limits,
    Line,
    Offer,
    Price,
    Purchase,
    Worth,
    source,
)
from kitting.calc.purchasing.sourcing_case import Case, stated
from kitting.calc.purchasing.supplier_sets import _Items, _lateness, _Sets, _sets, by_sets

UNIT = 1000
RING, CLAMP = 1, 2


def drawn(seed: int) -> Drawn:
    """Up to three deliveries and four offers of two items, with all that makes them awkward."""
    luck = random.Random(seed)
    deliveries = [
        Delivery(
            n,
            carriage=luck.choice((0, 7, 20)),
            carriage_free=luck.choice((None, None, 25, 60)),
            minimum=luck.choice((0, 0, 0, 25)),
            chance=luck.choice((20, 20, 19, 18, 16, 10)) / 20,
        )
        for n in range(luck.randint(1, 3))
    ]
    offers = [
        Offer(
            n,
            item=luck.randint(0, 1),
            delivery=luck.randrange(len(deliveries)),
            pack=luck.choice((500, 1000, 1000, 2500)),
            prices=tuple(
                Price(*one) for one in ({1: 25} | {luck.randint(1, 5): luck.randint(0, 30)}).items()
            ),
            minimum=luck.choice((1, 1, 2, 3)),
            multiple=luck.choice((1, 1, 2)),
            available=luck.choice((None, 3, 6)),
        )
        for n in range(luck.choice((2, 3, 3, 3, 4)))
    ]
    needs = {offer.item: luck.choice((400, 1000, 2000, 3500)) for offer in offers}
    tiers = [
        Worth(luck.randint(0, 1), luck.randint(0, 15), luck.choice((500, 1000, 3000)))
        for _ in range(luck.randint(0, 2))
    ]
    forced = {luck.randrange(len(offers)): luck.randint(1, 2)} if luck.random() < 0.2 else {}
    target = Fraction(luck.choice((0, 0, 200, 288, 324, 361)), 400)
    return Drawn(needs, offers, deliveries, target, tiers, forced)


def case_of(case: Drawn) -> Case | None:
    limits = Limits(case.forced)
    return stated(
        case.needs, case.offers, case.deliveries, float(case.target), case.worth, limits
    )  # fmt: skip


def own_count(case: Drawn, found: Purchase) -> Counted:
    packs = {line.offer: line.packs for line in found.lines}
    counted_again = counted(case, [packs.get(offer.key, 0) for offer in case.offers])
    assert counted_again is not None
    return counted_again


def test_200_cases_cost_what_the_cheapest_of_all_their_purchases_costs_by_either_way() -> None:
    ways: Counter[str] = Counter()
    for seed in range(200):
        case = drawn(seed)
        asked = case_of(case)
        possible = list(purchases(case))
        found = case.found()
        if asked is None or found is None:
            assert not possible, seed
            assert found is None, seed
            ways["nothing"] += 1
            continue
        least = min((other.cost for other in possible), default=found.cost)
        assert own_count(case, found).cost == found.cost, seed
        if max((line.packs for line in found.lines), default=0) > 7:  # more than is enumerated
            assert found.cost <= least, seed
            ways["beyond"] += 1
            continue
        assert found.cost == least, seed
        solved = Programme(asked).cheapest()
        assert solved is not None, seed
        assert solved.cost == least, seed
        decided = by_sets(asked)
        assert decided is not None, seed
        ways["open" if decided.open else "decided"] += 1
    # Each of the ways is one that was gone.
    assert ways["decided"] > 60, ways
    assert ways["open"] > 20, ways
    assert ways["nothing"] > 5, ways
    assert ways["beyond"] < 10, ways


@pytest.mark.parametrize("seed", range(0, 200, 4))
def test_no_purchase_is_below_its_bound_and_a_better_one_is_only_in_a_set_left_open(
    seed: int,
) -> None:
    case = drawn(seed)
    asked = case_of(case)
    if asked is None:
        assert not list(purchases(case))
        return
    costs = _Sets(asked, _Items(asked))
    least = {used: costs.least(used) for used in _sets(asked)}
    decided = by_sets(asked)
    assert decided is not None
    best = decided.best and (
        decided.best.cost,
        _lateness(asked, [key for key, _ in decided.best.carriage]),
    )
    for other in purchases(case):
        bound = least[other.deliveries]
        assert bound is not None
        assert bound <= other.cost
        rank = other.cost, _lateness(asked, other.deliveries)
        assert other.deliveries in decided.open or (best is not None and rank >= best)


def single(key: int, item: int, minor: int, delivery: int) -> Offer:
    return Offer(key, item, delivery, UNIT, (Price(1, minor),))


TWO = [single(1, RING, 500, 1), single(2, RING, 450, 2), single(3, CLAMP, 300, 1)]
BOTH = {RING: UNIT, CLAMP: UNIT}


def test_a_plain_choice_is_decided_without_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    deliveries = [Delivery(1, carriage=100), Delivery(2, carriage=60)]
    monkeypatch.setattr(Programme, "__init__", lambda *_: pytest.fail("the solver was asked"))
    found = source(BOTH, TWO, deliveries)
    assert found is not None
    assert (found.lines, found.cost) == ((Line(1, 1, 500), Line(3, 1, 300)), 900)
    cheaper = source(BOTH, TWO, [deliveries[0], Delivery(2, carriage=9)])
    assert cheaper is not None
    assert (cheaper.lines, cheaper.cost) == ((Line(2, 1, 450), Line(3, 1, 300)), 859)


def test_a_limit_of_free_carriage_within_reach_leaves_its_set_open() -> None:
    part, near = single(1, RING, 4600, 1), single(2, CLAMP, 200, 1)
    free = Delivery(1, carriage=695, carriage_free=5000)
    asked = stated(BOTH, [part, near], [free], 0.0, (), Limits())
    assert asked is not None
    decided = by_sets(asked)
    assert decided is not None
    assert decided.open == ((1,),)
    found = source(BOTH, [part, near], [free])
    assert found is not None
    assert (found.lines, found.cost) == ((Line(1, 1, 4600), Line(2, 2, 400)), 5000)


def test_a_limit_out_of_reach_is_paid_for_in_the_bound() -> None:
    asked = stated({RING: UNIT}, TWO[:1], [Delivery(1, 695, 5000)], 0.0, (), Limits())
    assert asked is not None
    decided = by_sets(asked)
    assert decided is not None
    assert decided.open == ()
    assert decided.best is not None
    assert decided.best.cost == 1195


@pytest.mark.parametrize("limit", ["MOST_SETS", "MOST_SUMS", "_MOST_MONEY", "_MOST_ITEMS"])
def test_a_case_with_too_much_to_try_is_left_to_the_solver(
    limit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    deliveries = [Delivery(1, carriage=100), Delivery(2, carriage=60)]
    asked = stated(BOTH, TWO, deliveries, 0.0, (), Limits())
    assert asked is not None
    assert by_sets(asked) is not None
    monkeypatch.setattr(supplier_sets, limit, 0)
    assert by_sets(asked) is None
    found = source(BOTH, TWO, deliveries)
    assert found is not None
    assert found.cost == 900


def test_sets_are_those_that_reach_the_target_together() -> None:
    offers = [single(n, n, 100, n) for n in (1, 2, 3)]
    deliveries = [Delivery(1, chance=0.9), Delivery(2, chance=0.9), Delivery(3)]
    asked = stated(dict.fromkeys((1, 2, 3), UNIT), offers, deliveries, 0.85, (), Limits())
    assert asked is not None
    assert set(_sets(asked)) == {(), (1,), (2,), (3,), (1, 3), (2, 3)}
    exact = replace(asked, target=0.81)
    assert (1, 2, 3) in set(_sets(exact))
