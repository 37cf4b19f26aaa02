"""Sourcing by days: each need by its own day, against an independent programme of scipy."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from kitting.calc.purchasing.awaited import Coming, Offered, Sought
from kitting.calc.purchasing.days import Days
from kitting.calc.purchasing.sourcing import Delivery, Limits, Offer, Price, source
from kitting.calc.purchasing.sourcing_by_days import lacking_by_days, source_by_days

RING, SEAL, BOLT = 1, 2, 3
UNIT = 1000


def one(key: int, item: int, delivery: int, minor: int) -> Offer:
    return Offer(key, item, delivery, UNIT, (Price(1, minor),))


def test_p11_what_comes_for_the_later_day_only_serves_the_later_day() -> None:
    """By hand: at the first day all would cost 28 + 28 = 56; each at its own 20 + 6 = 26."""
    quick, slow = Delivery(1), Delivery(2)
    offers = [one(1, RING, 1, 2000), one(2, SEAL, 1, 3600), one(3, SEAL, 2, 600)]
    days = Days(({RING: UNIT}, {SEAL: UNIT}), (0.95, 0.95), {1: (1.0, 1.0), 2: (0.0, 0.99)})
    found = source_by_days(days, offers, [quick, slow])
    assert found is not None
    assert found.purchase.cost == 2600
    assert found.relied.deliveries == (frozenset({1}), frozenset({2}))
    assert found.relied.chances == (1.0, 0.99)
    early = Days(({RING: UNIT, SEAL: UNIT},), (0.95,), {1: (1.0,), 2: (0.0,)})
    all_early = source_by_days(early, offers, [quick, slow])
    assert all_early is not None
    assert all_early.purchase.cost == 5600


def test_days_share_a_pack_that_comes_for_the_first_of_them() -> None:
    ten = Offer(1, RING, 1, 10 * UNIT, (Price(1, 840),))
    days = Days(({RING: 3 * UNIT}, {RING: 4 * UNIT}), (0.9, 0.9), {1: (0.95, 1.0)})
    found = source_by_days(days, [ten], [Delivery(1, carriage=695)])
    assert found is not None
    assert (found.purchase.lines[0].packs, found.purchase.cost) == (1, 1535)
    assert found.purchase.chance == 0.95


def test_p12_parts_of_two_lead_times_are_one_order_with_one_carriage_and_one_least_value() -> None:
    """By hand: 500 + 300 and carriage 1000 once; apart each would miss the least value of 700."""
    deliveries = [
        Delivery(1, carriage=1000, minimum=700, chance=0.99, order=7),
        Delivery(2, carriage=1000, minimum=700, chance=0.97, order=7),
    ]
    offers = [one(1, RING, 1, 500), one(2, SEAL, 2, 300)]
    found = source({RING: UNIT, SEAL: UNIT}, offers, deliveries, 0.9)
    assert found is not None
    assert (found.cost, found.carriage) == (1800, ((1, 1000), (2, 0)))
    assert found.chance == pytest.approx(0.99 * 0.97)
    free = [Delivery(d.key, 1000, 800, 0, d.chance, 7) for d in deliveries]
    saved = source({RING: UNIT, SEAL: UNIT}, offers, free, 0.9)
    assert saved is not None
    assert saved.cost == 800


def test_a_day_that_nothing_reaches_is_named_and_nothing_is_bought() -> None:
    days = Days(({RING: UNIT}, {RING: UNIT}), (0.9, 0.9), {1: (0.1, 0.95)})
    assert lacking_by_days(days, [one(1, RING, 1, 5)]) == ((RING,), ())
    assert source_by_days(days, [one(1, RING, 1, 5)], [Delivery(1)]) is None


def test_chances_of_a_day_multiply_and_those_of_two_days_do_not() -> None:
    """Two deliveries of nine tenths: not both for one day of 0.85, but one for each day."""
    offers = [one(1, RING, 1, 5), one(2, SEAL, 2, 5)]
    deliveries, chances = [Delivery(1), Delivery(2)], {1: (0.9, 0.9), 2: (0.9, 0.9)}
    apart = Days(({RING: UNIT}, {SEAL: UNIT}), (0.85, 0.85), chances)
    assert source_by_days(apart, offers, deliveries) is not None
    together = Days(({RING: UNIT, SEAL: UNIT}, {RING: UNIT}), (0.85, 0.85), chances)
    assert source_by_days(together, offers, deliveries) is None


def test_with_a_supplier_barred_the_next_best_is_found() -> None:
    days = Days(({RING: UNIT}, {RING: UNIT}), (0.5, 0.5), {1: (1.0, 1.0), 2: (1.0, 1.0)})
    offers = [one(1, RING, 1, 5), one(2, RING, 2, 9)]
    found = source_by_days(days, offers, [Delivery(1), Delivery(2)], (), Limits(barred=[1]))
    assert found is not None
    assert found.purchase.cost == 18


@dataclass(frozen=True)
class Drawn:
    """A case as it is asked, with goods on their way."""

    needs: tuple[dict[int, int], ...]
    coming: list[Coming]
    offers: list[Offer]
    deliveries: list[Delivery]
    chances: dict[int, tuple[float, ...]]
    target: float

    @property
    def sought(self) -> Sought:
        offered = Offered(self.offers, self.deliveries, self.chances)
        return Sought(self.needs, self.coming, offered, self.target)

    def days_chance(self, day: int, deliveries: frozenset[int]) -> float:
        return math.prod(self.chances[key][day] for key in sorted(deliveries))


def drawn(rng: np.random.Generator) -> Drawn:
    """Two to four days, two to three suppliers of up to two lead times each, three items."""
    days = int(rng.integers(2, 5))
    deliveries, chances, offers = [], {}, []
    for supplier in range(int(rng.integers(2, 4))):
        carriage, least = int(rng.integers(0, 9)) * 100, int(rng.integers(0, 3)) * 400
        free = int(rng.integers(10, 40)) * 100 if rng.random() < 0.5 else None
        for lead in range(int(rng.integers(1, 3))):
            key = 10 * supplier + lead
            deliveries.append(Delivery(key, carriage, free, least, 1.0, supplier))
            late = rng.choice([0.0, 0.5, 0.9, 0.97, 0.99, 0.999, 1.0], size=days)
            chances[key] = tuple(sorted(late.tolist()))
            for item in (RING, SEAL, BOLT):
                if rng.random() < 0.7:
                    offers.append(_offer(rng, len(offers) + 1, item, key))
    needs = tuple(
        {item: int(rng.integers(0, 6)) * UNIT for item in (RING, SEAL, BOLT)} for _ in range(days)
    )
    coming = [
        Coming(
            key,
            tuple({RING: int(rng.integers(0, 3)) * UNIT} for _ in range(days)),
            tuple(sorted(rng.choice([0.3, 0.96, 0.98, 1.0], size=days).tolist())),
        )
        for key in range(int(rng.integers(0, 3)))
    ]
    return Drawn(needs, coming, offers, deliveries, chances, float(rng.choice([0.5, 0.9, 0.95])))


def _offer(rng: np.random.Generator, key: int, item: int, delivery: int) -> Offer:
    price = int(rng.integers(20, 400))
    prices = [Price(1, price)]
    if rng.random() < 0.4:
        prices.append(Price(int(rng.integers(2, 8)), int(price * rng.uniform(0.5, 0.95))))
    limit = int(rng.integers(3, 20)) if rng.random() < 0.3 else None
    pack = int(rng.choice([1, 1, 2, 5])) * UNIT
    return Offer(key, item, delivery, pack, tuple(prices), int(rng.integers(1, 3)), 1, limit)


class _Model:
    """Rows and columns of a programme for scipy, collected one at a time."""

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.whole: list[int] = []
        self.most: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def column(self, cost: float = 0.0, most: float = 1.0, whole: int = 1) -> int:
        self.costs.append(cost)
        self.whole.append(whole)
        self.most.append(most)
        return len(self.costs) - 1

    def row(self, terms: dict[int, float], low: float = -np.inf, high: float = np.inf) -> None:
        self.rows.append((terms, low, high))

    def least(self) -> int | None:
        matrix = np.zeros((len(self.rows), len(self.costs)))
        for number, (terms, _, _) in enumerate(self.rows):
            for column, factor in terms.items():
                matrix[number, column] = factor
        limits = LinearConstraint(
            matrix, [low for _, low, _ in self.rows], [high for *_, high in self.rows]
        )
        found = milp(
            self.costs, integrality=self.whole, bounds=Bounds(0, self.most), constraints=limits,
            options={"mip_rel_gap": 0.0},
        )  # fmt: skip
        return None if found.x is None else round(found.fun)


MOST = 60  # packs: more than any case needs


def by_scipy(case: Drawn) -> int | None:
    """The least cost by another programme: packs at a price, shares of each offer for each day.

    What a day waits for is relied on or bought again. What comes too late for every day is not
    bought, not even to reach a least order value.
    """
    model, needs = _Model(), all_needed(case)
    used = {delivery.key: model.column() for delivery in case.deliveries}
    goods: dict[int | None, dict[int, float]] = {one.order: {} for one in case.deliveries}
    bought: dict[int, dict[int, float]] = {}
    for offer in case.offers:
        (order,) = (one.order for one in case.deliveries if one.key == offer.delivery)
        packs = _priced(model, offer, used[offer.delivery])
        bought[offer.key] = dict.fromkeys(packs, offer.pack // UNIT)
        goods[order].update(packs)
    _ordered(model, case, used, goods)
    shares: dict[int, dict[int, float]] = {offer.key: {} for offer in case.offers}
    serves: dict[int, dict[int, float]] = {key: {} for key in used}
    for day, lacking in enumerate(needs):
        asked = case.target - 1e-12
        relies = {key: model.column() for key in used if case.chances[key][day] >= asked}
        for key, column in relies.items():
            serves[key][column] = 1
        logs = {c: -math.log(case.chances[key][day]) for key, c in relies.items()}
        waits = {model.column(): one for one in case.coming if one.items[day][RING]}
        logs |= {c: -math.log(one.chances[day]) for c, one in waits.items()}
        model.row(logs, high=-math.log(asked) + 1e-9)
        for item, need in lacking.items():
            met: dict[int, float] = {
                c: one.items[day][RING] / UNIT for c, one in waits.items() if item == RING
            }
            for offer in case.offers:
                if offer.item == item and offer.delivery in relies:
                    share = model.column(0, need / UNIT, 0)
                    model.row({share: 1, relies[offer.delivery]: -need / UNIT}, high=0)
                    met[share] = 1
                    shares[offer.key][share] = 1
            model.row(met, low=need / UNIT)
    for offer in case.offers:
        model.row({**shares[offer.key], **{c: -n for c, n in bought[offer.key].items()}}, high=0)
    for key in used:
        if not serves[key]:
            model.row({used[key]: 1}, high=0)
    return model.least()


def _priced(model: _Model, offer: Offer, used: int) -> dict[int, float]:
    """The packs of an offer at each of its prices, one at most: column by price."""
    starts = [price.from_packs for price in offer.prices]
    chosen: dict[int, float] = {}
    found: dict[int, float] = {}
    for price, end in zip(offer.prices, [*(s - 1 for s in starts[1:]), MOST], strict=True):
        top = min(end, MOST if offer.available is None else offer.available)
        low = max(price.from_packs, offer.minimum)
        if top >= low:
            at_all, packs = model.column(), model.column(price.minor, MOST)
            model.row({packs: 1, at_all: -top}, high=0)
            model.row({packs: 1, at_all: -low}, low=0)
            chosen[at_all] = 1
            found[packs] = price.minor
    model.row({**chosen, used: -1}, high=0)
    return found


def _ordered(
    model: _Model, case: Drawn, used: dict[int, int], goods: dict[int | None, dict[int, float]]
) -> None:
    """Each order pays carriage once, reaches its least value, and may be free of carriage."""
    for order, terms in {one.order: one for one in case.deliveries}.items():
        placed = model.column(terms.carriage)
        for one_delivery in case.deliveries:
            if one_delivery.order == order:
                model.row({used[one_delivery.key]: 1, placed: -1}, high=0)
        model.row({**goods[order], placed: -terms.minimum}, low=0)
        if terms.carriage_free is not None:
            spared = model.column(-terms.carriage)
            model.row({spared: 1, placed: -1}, high=0)
            model.row({**goods[order], spared: -terms.carriage_free}, low=0)


def all_needed(case: Drawn) -> list[dict[int, int]]:
    """What each day needs, on its way or not."""
    return [
        {**lacking, RING: lacking[RING] + sum(one.items[day][RING] for one in case.coming)}
        for day, lacking in enumerate(case.needs)
    ]


def test_200_purchases_cost_what_an_independent_programme_finds() -> None:
    rng, bought, none = np.random.default_rng(16), 0, 0
    for number in range(200):
        case = drawn(rng)
        answer, least = case.sought.answer(), by_scipy(case)
        assert case.sought.can_be_had is (least is not None), number
        assert bool(answer.missing) is (least is None), number
        if least is None:
            none += 1
            continue
        found = answer.found
        assert (0 if found is None else found.purchase.cost) == least, number
        bought += found is not None
        for day, (chance, waited) in enumerate(zip(answer.chances, answer.waited, strict=True)):
            relied = frozenset() if found is None else found.relied.deliveries[day]
            waits = [one for one in case.coming if one.items[day][RING]]
            surely = [one.chances[day] for one in waits if one.key not in answer.late[day]]
            assert chance >= case.target - 1e-9
            assert waited == pytest.approx(math.prod(surely))
            assert chance == pytest.approx(case.days_chance(day, relied) * waited)
    assert bought > 80
    assert none > 10
