"""The same two questions put to general optimisers, as somebody would write them down there."""

from __future__ import annotations

import math
import warnings
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from kitting.calc.purchasing.sourcing import Delivery, Offer

Ways = Sequence[frozenset[str]]
LIMIT = 30.0  # seconds for one instance
_SCALE = 10**9  # of logarithms, where only whole numbers are taken


class GaveUpError(Exception):
    """The solver had no proof when its time was over."""


def _bands(offer: Offer) -> list[tuple[int, int, int]]:
    """(price, fewest, most packs) per price of an offer."""
    prices = sorted(offer.prices, key=lambda price: price.from_packs)
    most = offer.available or 10_000
    ends = [price.from_packs - 1 for price in prices[1:]] + [most]
    return [
        (price.minor, max(offer.minimum, price.from_packs), min(end, most))
        for price, end in zip(prices, ends, strict=True)
        if max(offer.minimum, price.from_packs) <= min(end, most)
    ]


def buy_pulp(
    needs: Mapping[int, int], offers: Sequence[Offer], deliveries: Sequence[Delivery], target: float
) -> int:
    """The least cost of a purchase, by PuLP and the CBC that comes with it."""
    import pulp

    model = pulp.LpProblem("buy", pulp.LpMinimize)
    used = {d.key: model.add_variable(f"u{d.key}", cat="Binary") for d in deliveries}
    brought: dict[int, list[Any]] = defaultdict(list)
    goods: dict[int, list[Any]] = defaultdict(list)
    for offer in offers:
        chosen = []
        for number, (price, low, high) in enumerate(_bands(offer)):
            at_all = model.add_variable(f"b{offer.key}_{number}", cat="Binary")
            packs = model.add_variable(f"p{offer.key}_{number}", 0, high, cat="Integer")
            model += packs <= high * at_all
            model += packs >= low * at_all
            chosen.append(at_all)
            brought[offer.item].append(packs * (offer.pack // 1000))
            goods[offer.delivery].append(packs * price)
        model += pulp.lpSum(chosen) <= used[offer.delivery]
    for item, need in needs.items():
        model += pulp.lpSum(brought[item]) >= need // 1000
    money = [term for terms in goods.values() for term in terms]
    for d in deliveries:
        money.append(used[d.key] * d.carriage)
        if d.carriage_free is not None and d.carriage:
            spared = model.add_variable(f"f{d.key}", cat="Binary")
            model += spared <= used[d.key]
            model += pulp.lpSum(goods[d.key]) >= d.carriage_free * spared
            money.append(spared * -d.carriage)
    model += pulp.lpSum(used[d.key] * -math.log(d.chance) for d in deliveries) <= -math.log(target)
    model.setObjective(pulp.lpSum(money))
    return _least_by_cbc(model)


def buy_cpsat(
    needs: Mapping[int, int], offers: Sequence[Offer], deliveries: Sequence[Delivery], target: float
) -> int:
    """The least cost of a purchase, by OR-Tools' solver over whole numbers."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    used = {d.key: model.new_bool_var("") for d in deliveries}
    brought: dict[int, list[Any]] = defaultdict(list)
    goods: dict[int, list[Any]] = defaultdict(list)
    for offer in offers:
        chosen = []
        for price, low, high in _bands(offer):
            at_all, packs = model.new_bool_var(""), model.new_int_var(0, high, "")
            model.add(packs <= high * at_all)
            model.add(packs >= low * at_all)
            chosen.append(at_all)
            brought[offer.item].append(packs * (offer.pack // 1000))
            goods[offer.delivery].append(packs * price)
        model.add(sum(chosen) <= used[offer.delivery])
    for item, need in needs.items():
        model.add(sum(brought[item]) >= need // 1000)
    money = [term for terms in goods.values() for term in terms]
    for d in deliveries:
        money.append(used[d.key] * d.carriage)
        if d.carriage_free is not None and d.carriage:
            spared = model.new_bool_var("")
            model.add(spared <= used[d.key])
            model.add(sum(goods[d.key]) >= d.carriage_free * spared)
            money.append(spared * -d.carriage)
    doubts = [used[d.key] * round(-math.log(d.chance) * _SCALE) for d in deliveries]
    model.add(sum(doubts) <= round(-math.log(target) * _SCALE))
    model.minimize(sum(money))
    return _least(model)


def _least_by_cbc(model: Any) -> int:
    import pulp

    with warnings.catch_warnings():
        # PuLP 4 will no longer bring a CBC; until then it warns of that.
        warnings.simplefilter("ignore", DeprecationWarning)
        # Costs are whole: a gap below one is none.
        model.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=0, gapAbs=0.5, timeLimit=LIMIT))
    if model.sol_status != pulp.LpSolutionOptimal:
        raise GaveUpError
    return round(pulp.value(model.objective))


def _least(model: Any) -> int:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = LIMIT
    if solver.solve(model) != cp_model.OPTIMAL:
        raise GaveUpError
    return round(solver.objective_value)


Tools = Sequence[tuple[int, frozenset[str]]]


def _minimal(ways: Ways) -> list[frozenset[str]]:
    return [way for way in set(ways) if not any(other < way for other in ways)]


def tools_pulp(offers: Tools, gaps: Sequence[Ways]) -> int:
    """The least cost of offers that close every gap, by PuLP and its CBC."""
    import pulp

    model = pulp.LpProblem("tools", pulp.LpMinimize)
    taken = [model.add_variable(f"o{n}", cat="Binary") for n in range(len(offers))]
    model.setObjective(pulp.lpSum(cost * v for (cost, _), v in zip(offers, taken, strict=True)))
    there: dict[str, list[Any]] = defaultdict(list)
    for (_, brings), variable in zip(offers, taken, strict=True):
        for tool in brings:
            there[tool].append(variable)
    closed: dict[frozenset[str], Any] = {}
    for ways in gaps:
        for way in _minimal(ways):
            if way not in closed:
                closed[way] = model.add_variable(f"w{len(closed)}", 0, 1)
                for tool in way:
                    model += closed[way] <= pulp.lpSum(there[tool])
        model += pulp.lpSum(closed[way] for way in _minimal(ways)) >= 1
    return _least_by_cbc(model)


def tools_cpsat(offers: Tools, gaps: Sequence[Ways]) -> int:
    """The least cost of offers that close every gap, by OR-Tools' solver."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    taken = [model.new_bool_var("") for _ in offers]
    there: dict[str, list[Any]] = defaultdict(list)
    for (_, brings), variable in zip(offers, taken, strict=True):
        for tool in brings:
            there[tool].append(variable)
    closed: dict[frozenset[str], Any] = {}
    for ways in gaps:
        for way in _minimal(ways):
            if way not in closed:
                closed[way] = model.new_bool_var("")
                for tool in way:
                    model.add(closed[way] <= sum(there[tool]))
        model.add(sum(closed[way] for way in _minimal(ways)) >= 1)
    model.minimize(sum(cost * v for (cost, _), v in zip(offers, taken, strict=True)))
    return _least(model)
