"""Sourcing by sets of deliveries: what each set that may be used together costs at least.

With the deliveries fixed, only least order values and free carriage tie one item to another. Those
aside, each item has a cheapest purchase of its own, and the items together with the carriage that
is sure to be paid bound the set from below. Where that purchase costs no more than its bound, the
set is decided; a set whose bound is dearer than what is found is left out. What is still open then
is for the solver.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from kitting.calc.purchasing.days import ROUNDING
from kitting.calc.purchasing.sourcing_case import (
    Band,
    Case,
    Purchase,
    lateness,
    settled,
    value_left,
)

MOST_SETS = 1024
MOST_SUMS = 10_000_000  # additions of all sets together
_MOST_MONEY = 2**40  # in minor units, for all that can be bought
_NEVER = 2**50  # the cost of what cannot be had: above all money, and a thousand fit in 64 bits
_MOST_ITEMS = 1000
_Key = tuple[int, int]  # cost in minor units, then how late and how many (`_lateness`)
_Costs = np.ndarray[tuple[int, ...], np.dtype[np.int64]]


@dataclass(frozen=True, slots=True)
class Decided:
    """The best purchase found, None if none; the sets of deliveries that may have a better one."""

    best: Purchase | None
    open: tuple[tuple[int, ...], ...]


def _lateness(case: Case, deliveries: Sequence[int]) -> int:
    """Less for a higher chance of all, then for fewer: what decides among equal costs.

    In parts of 10⁻¹² of a log chance, whole, so that sums do not depend on their order.
    """
    return sum(round(lateness(case.deliveries[key]) * 1e12) for key in deliveries)


def by_sets(case: Case) -> Decided | None:
    """What the bounds of all sets of deliveries decide; None for a case too large to try them."""
    sets = list(_sets(case))
    if len(sets) > MOST_SETS or _money(case) > _MOST_MONEY:
        return None
    items = _Items(case)
    width = items.wide + 1
    if items.count > _MOST_ITEMS or len(sets) * items.count * width * width > MOST_SUMS:
        return None
    return _decided(case, _Sets(case, items), sets)


def _decided(case: Case, costs: _Sets, sets: Sequence[tuple[int, ...]]) -> Decided:
    bounds: list[tuple[_Key, tuple[int, ...]]] = []
    for used in sets:
        least = costs.least(used)
        if least is not None:
            bounds.append(((least, _lateness(case, used)), used))
    best: Purchase | None = None
    reached: _Key | None = None
    doubtful: list[tuple[_Key, tuple[int, ...]]] = []
    for bound, used in sorted(bounds):
        if reached is not None and bound >= reached:
            continue
        found = settled(case, costs.packs(used))
        if found is not None:
            own = found.cost, _lateness(case, [key for key, _ in found.carriage])
            if reached is None or own < reached:
                best, reached = found, own
        if found is None or found.cost > bound[0]:
            doubtful.append((bound, used))
    left = (used for bound, used in doubtful if reached is None or bound < reached)
    return Decided(best, tuple(left))


def _sets(case: Case) -> Iterator[tuple[int, ...]]:
    """Sets of deliveries that reach the target together, each after what it begins with.

    No more than one above the limit.
    """
    keys = list(case.deliveries)
    waiting: list[tuple[tuple[int, ...], int, float]] = [((), 0, 1.0)]
    told = 0
    while waiting and told <= MOST_SETS:
        used, start, chance = waiting.pop()
        told += 1
        yield used
        for number in range(start, len(keys)):
            both = chance * case.deliveries[keys[number]].chance
            if both >= case.target - ROUNDING:
                waiting.append(((*used, keys[number]), number + 1, both))


def _money(case: Case) -> int:
    """More than any purchase costs or any of what is left over is worth."""
    goods = sum(band.high * band.lot_price for band in case.bands)
    carriage = sum(delivery.carriage for delivery in case.deliveries.values())
    worth = sum(tier.minor * tier.most for tiers in case.worth.values() for tier in tiers)
    return goods + carriage + worth


class _Offered:
    """What so many units of an item cost at least from one offer, and the packs that are it."""

    def __init__(self, bands: Sequence[Band], unit: int, most: int, least: int) -> None:
        offer = bands[0].offer
        self.key = offer.key
        found: list[tuple[int, int]] = [(_NEVER, 0)] * (most + 1)
        for band in bands:
            low, lot = max(band.low, -(-least // offer.multiple)), band.lot // unit
            for amount in range(most + 1):
                lots = max(low, -(-amount // lot))
                if lots <= band.high:
                    tried = lots * band.lot_price, lots * offer.multiple
                    found[amount] = min(found[amount], tried)
        if not least:
            found[0] = min(found[0], (0, 0))
        self.costs = [cost for cost, _ in found]
        self.packs = [packs for _, packs in found]


class _Items:
    """Items in units of which every lot, need and tier is a whole number.

    `costs` per delivery: items in rows, what at least 0, 1, 2 … units cost from it in columns.
    """

    def __init__(self, case: Case) -> None:
        by_item: dict[int, dict[int, list[Band]]] = {}
        for band in case.bands:
            by_item.setdefault(band.offer.item, {}).setdefault(band.offer.key, []).append(band)
        self.order = sorted(by_item)
        self.count = len(self.order)
        self.units = [_unit(case, item, by_item[item]) for item in self.order]
        self.most = [
            (case.needs.get(item, 0) + sum(tier.most for tier in case.worth.get(item, ()))) // unit
            for item, unit in zip(self.order, self.units, strict=True)
        ]
        self.wide = max(self.most, default=0)
        self.by_item = by_item


def _unit(case: Case, item: int, offers: dict[int, list[Band]]) -> int:
    lots = (band.lot for bands in offers.values() for band in bands)
    tiers = (tier.most for tier in case.worth.get(item, ()))
    return math.gcd(case.needs.get(item, 0), *lots, *tiers)


class _Sets:
    """The cheapest goods of each set of deliveries, limits of whole deliveries aside."""

    def __init__(self, case: Case, items: _Items) -> None:
        self.case, self.items = case, items
        self.offered: dict[int, list[list[_Offered]]] = {
            key: [[] for _ in items.order] for key in case.deliveries
        }
        for row, (item, unit, most) in enumerate(
            zip(items.order, items.units, items.most, strict=True)
        ):
            for key, bands in items.by_item[item].items():
                offered = _Offered(bands, unit, most, case.forced.get(key, 0))
                self.offered[bands[0].offer.delivery][row].append(offered)
        width = items.wide + 1
        nothing = np.full((items.count, width), _NEVER, dtype=np.int64)
        nothing[:, 0] = 0
        self.costs: dict[tuple[int, ...], _Costs] = {(): nothing}
        back = np.arange(width)[:, None] - np.arange(width)
        self.steps: dict[int, _Costs] = {}
        for key in case.deliveries:
            alone = np.array([_joined(row, width)[-1] for row in self.offered[key]])
            self.steps[key] = np.where(back >= 0, alone[:, np.maximum(back, 0)], _NEVER)
        self.bonus = self._bonus(width)
        self.forced = {case.offers[key].delivery for key in case.forced}
        self.sure = {key: self._sure(key) for key in case.deliveries}

    def _bonus(self, width: int) -> _Costs:
        """What so many units of an item are worth beyond its need; never enough below the need."""
        rows = []
        for item, unit, most in zip(
            self.items.order, self.items.units, self.items.most, strict=True
        ):
            need, tiers = self.case.needs.get(item, 0), self.case.worth.get(item, ())
            over = [amount * unit - need for amount in range(width)]
            rows.append(
                [
                    value_left(tiers, left) if left >= 0 and amount <= most else -_NEVER
                    for amount, left in enumerate(over)
                ]
            )
        return np.array(rows, dtype=np.int64)

    def _sure(self, key: int) -> int:
        """Carriage that is paid with a delivery whatever is bought with it and its order."""
        delivery = self.case.deliveries[key]
        if delivery.carriage_free is None:
            return delivery.carriage
        dearest: dict[int, int] = {}
        for band in self.case.bands:
            if self.case.deliveries[band.offer.delivery].paid_as == delivery.paid_as:
                goods = band.high * band.lot_price
                dearest[band.offer.key] = max(dearest.get(band.offer.key, 0), goods)
        return delivery.carriage if sum(dearest.values()) < delivery.carriage_free else 0

    def _all(self, used: tuple[int, ...]) -> _Costs:
        """What so many units of each item cost at least from these deliveries."""
        if used not in self.costs:
            before = self._all(used[:-1])
            self.costs[used] = np.minimum(
                (before[:, None, :] + self.steps[used[-1]]).min(axis=2), _NEVER
            )
        return self.costs[used]

    def least(self, used: tuple[int, ...]) -> int | None:
        """A bound of every purchase that uses exactly these deliveries; None if there is none."""
        if not self.forced <= set(used):
            return None
        each = (self._all(used) - self.bonus).min(axis=1)
        if (each > _NEVER // 2).any():
            return None
        paid = {self.case.deliveries[key].paid_as: self.sure[key] for key in used}
        return int(each.sum()) + sum(paid.values())

    def packs(self, used: tuple[int, ...]) -> dict[int, int]:
        """The packs per offer of the cheapest goods of these deliveries."""
        rows = np.arange(self.items.count)
        amounts: Any = (self._all(used) - self.bonus).argmin(axis=1)
        found: dict[int, int] = {}
        for end in range(len(used), 0, -1):
            step = self.steps[used[end - 1]][rows, amounts]
            before = (self._all(used[: end - 1]) + step).argmin(axis=1)
            for offers, amount in zip(
                self.offered[used[end - 1]], (amounts - before).tolist(), strict=True
            ):
                found |= _packs(offers, amount, self.items.wide + 1)
            amounts = before
        return {key: packs for key, packs in found.items() if packs}


def _joined(offers: Sequence[_Offered], width: int) -> list[list[int]]:
    """What 0, 1, 2 … units cost at least of the first offers: of none, of one, of two …"""
    joined = [[0] + [_NEVER] * (width - 1)]
    for offered in offers:
        costs, before = offered.costs, joined[-1]
        sums = [_NEVER] * width
        for amount, cost in enumerate(costs):
            for rest in range(width - amount):
                sums[amount + rest] = min(sums[amount + rest], cost + before[rest])
        joined.append(sums)
    return joined


def _packs(offers: Sequence[_Offered], amount: int, width: int) -> dict[int, int]:
    """The packs of each offer, of several of one delivery, that together bring an amount."""
    if len(offers) == 1:
        return {offers[0].key: offers[0].packs[amount]}
    joined, found = _joined(offers, width), {}
    for number in range(len(offers), 0, -1):
        costs, before = offers[number - 1].costs, joined[number - 1]
        own = min(
            range(min(amount, len(costs) - 1) + 1), key=lambda n: costs[n] + before[amount - n]
        )
        found[offers[number - 1].key] = offers[number - 1].packs[own]
        amount -= own
    return found
