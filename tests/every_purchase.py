"""Every purchase there is of a small case, counted by the rules of the trade without a solver."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from kitting.calc.purchasing.sourcing import Delivery, Limits, Offer, Purchase, Worth, source


@dataclass(frozen=True)
class Drawn:
    needs: dict[int, int]
    offers: list[Offer]
    deliveries: list[Delivery]
    target: Fraction
    worth: list[Worth]
    forced: dict[int, int]

    def found(self, target: float | None = None) -> Purchase | None:
        aim = float(self.target) if target is None else target
        return source(
            self.needs, self.offers, self.deliveries, aim, self.worth, Limits(self.forced)
        )


@dataclass(frozen=True)
class Counted:
    cost: int
    chance: Fraction
    deliveries: tuple[int, ...]  # those used, in order


def counted(case: Drawn, packs: Sequence[int]) -> Counted | None:
    """A purchase counted by the rules of the trade, without a solver; None if it is not one."""
    left = {item: -need for item, need in case.needs.items()}
    goods: dict[int, int] = {}
    for offer, count in zip(case.offers, packs, strict=True):
        if count < case.forced.get(offer.key, 0):
            return None
        if not count:
            continue
        steps = [price for price in offer.prices if price.from_packs <= count]
        many = math.inf if offer.available is None else offer.available
        if not steps or count < offer.minimum or count % offer.multiple or count > many:
            return None
        price = sorted(steps, key=lambda step: step.from_packs)[-1].minor
        left[offer.item] = left.get(offer.item, 0) + count * offer.pack
        goods[offer.delivery] = goods.get(offer.delivery, 0) + count * price
    cost, chance = 0, Fraction(1)
    for delivery in case.deliveries:
        value = goods.get(delivery.key)
        if value is None:
            continue
        if value < delivery.minimum:
            return None
        free = delivery.carriage_free is not None and value >= delivery.carriage_free
        cost += value + (0 if free else delivery.carriage)
        chance *= Fraction(round(delivery.chance * 20), 20)
    if chance < case.target or any(over < 0 for over in left.values()):
        return None
    return Counted(
        cost - sum(kept(case, *over) for over in left.items()), chance, tuple(sorted(goods))
    )


def kept(case: Drawn, item: int, over: int) -> int:
    """The most that may be taken for what is left: each thousandth at the best price open."""
    tiers = sorted((t for t in case.worth if t.item == item), key=lambda t: t.minor)
    places = [t.minor for t in tiers for _ in range(t.most // 100)]
    return sum(sorted(places, reverse=True)[: over // 100]) * 100 // 1000


def purchases(case: Drawn) -> Iterator[Counted]:
    """Every purchase of no more than 7 packs of an offer (6 are available at most, if limited).

    Offers that are neither needed, worth anything nor settled are left alone, as the rules say.
    """
    wanted = case.needs.keys() | {t.item for t in case.worth if t.minor}
    ranges = [
        range(8) if offer.item in wanted or offer.key in case.forced else (0,)
        for offer in case.offers
    ]
    for packs in product(*ranges):
        purchase = counted(case, packs)
        if purchase is not None:
            yield purchase
