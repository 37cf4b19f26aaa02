"""Sourcing as a mixed-integer programme, in the manner of facility location.

A delivery is opened at the price of its carriage; packs, all-units breaks and a limit on the sum of
log chances come with it. What the solver answers is rounded to whole packs and counted again in
exact money.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from kitting.calc.purchasing.days import ROUNDING
from kitting.calc.purchasing.sourcing_case import (
    FEWER,
    Band,
    Case,
    Delivery,
    Purchase,
    lateness,
    settled,
)
from kitting.calc.solver import new_model, prove, total
from kitting.errors import KittingError

# The solver takes no factor as small as this. What is left out is made up for by the exact check
# of the chances of each answer.
NO_DOUBT = 1e-8


class Programme:
    """The mixed-integer programme of a case: solved for money, then for chance at that money."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.model: Any = new_model()
        # A large limit times a variable that is not quite 0 would pass for a smaller order.
        self.model.setOptionValue("mip_feasibility_tolerance", 1e-9)
        self.money: list[tuple[Any, int]] = []
        self.used = {key: self.model.addBinary() for key in case.deliveries}
        self.lots: list[tuple[Band, Any, int]] = []  # band, variable, lots per 1 of the variable
        by_offer: dict[int, list[Band]] = {}
        for band in case.bands:
            by_offer.setdefault(band.offer.key, []).append(band)
        for bands in by_offer.values():
            self._offer(bands)
        for item in sorted({band.offer.item for band in case.bands}):
            self._item(item)
        orders: dict[tuple[bool, int], list[Delivery]] = {}
        for delivery in case.deliveries.values():
            orders.setdefault(delivery.paid_as, []).append(delivery)
        for deliveries in orders.values():
            self._order(deliveries)
        if case.target > 0.0:
            self._chance()

    def only(self, sets: Sequence[Sequence[int]]) -> None:
        """Uses what all of these sets of deliveries use, and nothing that none of them does."""
        for key, used in self.used.items():
            count = sum(key in one for one in sets)
            if not count:
                self.model.addConstr(used <= 0.0)
            elif count == len(sets):
                self.model.addConstr(used >= 1.0)

    def _offer(self, bands: Sequence[Band]) -> None:
        """Lots of an offer at one of its prices, none unless its delivery is used."""
        used = self.used[bands[0].offer.delivery]
        chosen = []
        for band in bands:
            if band.low == band.high:
                variable, size = self.model.addBinary(), band.low
                at_all = variable
            else:
                variable, size = self.model.addIntegral(lb=0.0, ub=float(band.high)), 1
                at_all = self.model.addBinary()
                self.model.addConstr(variable <= float(band.high) * at_all)
                self.model.addConstr(variable >= float(band.low) * at_all)
            chosen.append(at_all)
            self.lots.append((band, variable, size))
            self.money.append((variable, band.lot_price * size))
        self.model.addConstr(total(chosen) <= used)
        least = self.case.forced.get(bands[0].offer.key, 0)
        if least:
            lots = [v * float(size) for band, v, size in self.lots if band.offer == bands[0].offer]
            self.model.addConstr(total(lots) >= -(-least // bands[0].offer.multiple))

    def _item(self, item: int) -> None:
        """What is needed of an item is bought, and what is left over is worth something."""
        need, tiers = self.case.needs.get(item, 0), self.case.worth.get(item, ())
        brought = [(v, band.lot * size) for band, v, size in self.lots if band.offer.item == item]
        if need:
            # A lot beyond the need counts as the need: whole lots meet it all the same, and parts
            # of a lot, which the solver bounds with, meet less of it.
            capped = [(variable, min(lot, need)) for variable, lot in brought]
            self._row(capped, need)
        if not tiers:
            return
        unit = math.gcd(need, *(lot for _, lot in brought), *(tier.most for tier in tiers))
        kept = [self.model.addVariable(lb=0.0, ub=float(tier.most // unit)) for tier in tiers]
        self._row([*brought, *((k, -unit) for k in kept)], need)
        values = [(k, tier.minor * unit) for k, tier in zip(kept, tiers, strict=True)]
        if all(value % 1000 == 0 for _, value in values):
            self.money += [(k, -value // 1000) for k, value in values]
        else:
            whole = self.model.addIntegral(lb=0.0)  # rounded down, as `settled` does
            self._row([*values, (whole, -1000)], 0)
            self.money.append((whole, -1))

    def _order(self, deliveries: Sequence[Delivery]) -> None:
        """Carriage of an order that is used, none from its limit on; its least order value."""
        delivery, used = deliveries[0], self.used[deliveries[0].key]
        if len(deliveries) > 1:
            used = self.model.addBinary()
            each = [self.used[one.key] for one in deliveries]
            for one in each:
                self.model.addConstr(one <= used)
            self.model.addConstr(used <= total(each))
        free, keys = delivery.carriage_free, {one.key for one in deliveries}
        goods = [
            (variable, band.lot_price * size)
            for band, variable, size in self.lots
            if band.offer.delivery in keys
        ]
        if delivery.minimum > 0:
            self._row([*goods, (used, -delivery.minimum)], 0)
        if delivery.carriage == 0 or (free is not None and free <= 0):
            return
        self.money.append((used, delivery.carriage))
        if free is not None:
            spared = self.model.addBinary()
            self.model.addConstr(spared <= used)
            self._row([*goods, (spared, -free)], 0)
            self.money.append((spared, -delivery.carriage))

    def _row(self, terms: Sequence[tuple[Any, int]], least: int) -> None:
        """The sum of the terms is at least `least`, in numbers as small as they can be."""
        unit = math.gcd(least, *(factor for _, factor in terms)) or 1
        parts = [variable * float(factor // unit) for variable, factor in terms if factor]
        if parts:
            self.model.addConstr(total(parts) >= float(least // unit))

    def _chance(self) -> None:
        """Chances multiply, so their logarithms add up to no less than that of the target."""
        doubtful = [
            self.used[key] * -math.log(delivery.chance)
            for key, delivery in self.case.deliveries.items()
            if -math.log(delivery.chance) > NO_DOUBT
        ]
        if doubtful:
            # A shade too wide, so that rounding shuts nothing out; `cheapest` checks again.
            self.model.addConstr(total(doubtful) <= -math.log(self.case.target) + 1e-7)

    def _aim(self, terms: Iterable[tuple[Any, float]]) -> None:
        """Makes the sum of the terms what is to be least."""
        for index in range(self.model.getNumCol()):
            self.model.changeColCost(index, 0.0)
        for variable, factor in terms:
            self.model.changeColCost(variable.index, float(factor))

    def _packs(self) -> dict[int, int]:
        """Packs per offer in the answer last found."""
        values = self.model.getSolution().col_value
        packs: dict[int, int] = {}
        for band, variable, size in self.lots:
            lots = round(values[variable.index]) * size
            if lots:
                key = band.offer.key
                packs[key] = packs.get(key, 0) + lots * band.offer.multiple
        return packs

    def _bar_together(self, packs: Mapping[int, int]) -> bool:
        """Forbids the deliveries of a purchase to be used together if they miss the target."""
        used = sorted({self.case.offers[key].delivery for key in packs})
        chances = [self.case.deliveries[key].chance for key in used]
        if math.prod(chances) >= self.case.target - ROUNDING:
            return False
        self.model.addConstr(total([self.used[key] for key in used]) <= len(used) - 1.0)
        return True

    def cheapest(self) -> Purchase | None:
        """A purchase of least cost; None if nothing meets the needs."""
        unit = math.gcd(*(factor for _, factor in self.money)) or 1
        self._aim((variable, factor // unit) for variable, factor in self.money)
        while prove(self.model, "the cheapest purchase"):
            packs = self._packs()
            if self._bar_together(packs):
                continue
            found = settled(self.case, packs)
            believed = self.model.getInfo().objective_function_value * unit
            # A sum of binary fractions is told to its first nine figures or so.
            if found is None or found.cost > believed + max(0.5, abs(believed) * 1e-9):
                raise KittingError(
                    "The cheapest purchase could not be counted to the last minor unit."
                    " Ask for less at once and try again"
                )
            return found
        return None

    def of_highest_chance(self, first: Purchase) -> Purchase:
        """Of the purchases that cost no more than `first`, one of the highest chance."""
        if len(first.carriage) == 0 or (len(first.carriage) == 1 and first.chance == 1.0):
            return first
        unit = math.gcd(*(factor for _, factor in self.money)) or 1
        paid = [variable * float(factor // unit) for variable, factor in self.money if factor]
        if paid:
            self.model.addConstr(total(paid) <= first.cost // unit + 0.5)
        self._aim((used, lateness(self.case.deliveries[key])) for key, used in self.used.items())
        if not prove(self.model, "the cheapest purchase of the highest chance"):
            return first
        second = settled(self.case, self._packs())
        # Where rounding let something dearer or less sure through, the first stands.
        if second is None or second.cost != first.cost or second.chance < first.chance - FEWER:
            return first
        return second

    def best_chance(self) -> float:
        """The highest chance of any purchase; 0.0 if nothing meets the needs."""
        if not self.case.bands:
            return 1.0
        self._aim(
            (used, lateness(self.case.deliveries[key]) - FEWER) for key, used in self.used.items()
        )
        if not prove(self.model, "the purchase of the highest chance"):
            return 0.0
        found = settled(self.case, self._packs())
        return found.chance if found else 0.0
