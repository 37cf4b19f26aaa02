"""Sourcing for several days at once: each need by its own day, one order for all where it pays.

What comes too late for one day may serve a later one. Every day has to be whole in time with the
chance asked for, by the deliveries that it relies on.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from kitting.calc.purchasing.days import Days, Relied, least_relied, reaches
from kitting.calc.purchasing.programme import NO_DOUBT, Programme
from kitting.calc.purchasing.sourcing import NO_LIMITS, bare, source
from kitting.calc.purchasing.sourcing_case import (
    FEWER,
    Case,
    Delivery,
    Limits,
    Offer,
    Purchase,
    Worth,
    checked,
    most_packs,
    settled,
    stated,
)
from kitting.calc.solver import prove, total
from kitting.errors import KittingError


@dataclass(frozen=True, slots=True)
class Scheduled:
    """A proven cheapest purchase with the deliveries that each day relies on.

    Its own `chance` is that of the least sure day.
    """

    purchase: Purchase
    relied: Relied


def source_by_days(
    days: Days,
    offers: Iterable[Offer],
    deliveries: Iterable[Delivery],
    worth: Sequence[Worth] = (),
    limits: Limits = NO_LIMITS,
) -> Scheduled | None:
    """The purchase of least cost by which every day is whole with its chance, or None.

    As `source` for one day; the chances of the deliveries are those of `days`. What comes too late
    for every day is not bought, not even to reach a least order value. Among purchases
    of equal cost the one with the higher chances is taken, then the one of fewer deliveries.

    Raises KittingError for offers that make no sense or if the solver stops without a proof.
    """
    ordered, by_key = checked(offers, deliveries)
    if len(days.needs) == 1:
        of_day = [replace(one, chance=days.chances[key][0]) for key, one in by_key.items()]
        found = source(days.needs[0], ordered, of_day, days.targets[0], worth, limits)
        if found is None:
            return None
        used = frozenset(key for key, _ in found.carriage)
        return Scheduled(found, Relied((used,), (found.chance,)))
    count = range(len(days.needs))
    usable = [offer for offer in ordered if any(days.timely(offer.delivery, no) for no in count)]
    certain = [replace(one, chance=1.0) for one in by_key.values()]
    case = stated(days.together, usable, certain, 0.0, worth, limits)
    if case is None or any(lacking_by_days(days, ordered, limits.barred)):
        return None
    if not case.bands:
        nothing = settled(case, {})
        relied = Relied(tuple(frozenset() for _ in count), tuple(1.0 for _ in count))
        return None if nothing is None else Scheduled(nothing, relied)
    return _Programme(replace(case, days=days), days).scheduled()


def lacking_by_days(
    days: Days, offers: Iterable[Offer], barred: Collection[int] = ()
) -> tuple[tuple[int, ...], ...]:
    """For each day the items of which the usable offers cannot bring enough, in order.

    What an offer has is not shared out among the days: that is left to `source_by_days`.
    """
    listed = [offer for offer in offers if offer.key not in barred]
    found = []
    for day, needs in enumerate(days.needs):
        brought: dict[int, float] = {}
        for offer in listed:
            if days.timely(offer.delivery, day):
                most = most_packs(offer) * offer.pack
                brought[offer.item] = brought.get(offer.item, 0) + most
        found.append(tuple(i for i, need in sorted(needs.items()) if need > brought.get(i, 0)))
    return tuple(found)


class _Programme(Programme):
    """The programme with what each day takes of each delivery."""

    def __init__(self, case: Case, days: Days) -> None:
        super().__init__(case)
        self.days = days
        self.serves: dict[tuple[int, int], Any] = {}  # by day and delivery
        for day, needs in enumerate(days.needs):
            if any(needs.values()):
                self._day(day)
        for item in sorted(case.needs):
            self._shares(item)

    def _day(self, day: int) -> None:
        """Which deliveries a day relies on, so that their chances together are enough."""
        doubtful = []
        for key, used in self.used.items():
            if self.days.timely(key, day):
                serves = self.model.addBinary()
                self.model.addConstr(serves <= used)
                self.serves[day, key] = serves
                doubt = -math.log(self.days.chances[key][day]) if self.days.targets[day] else 0.0
                if doubt > NO_DOUBT:
                    doubtful.append(serves * doubt)
        if doubtful:
            # A shade too wide, so that rounding shuts nothing out; the answer is checked again.
            limit = -math.log(self.days.targets[day]) + 1e-7
            self.model.addConstr(total(doubtful) <= limit)

    def _shares(self, item: int) -> None:
        """What each day takes of an item: of what it relies on, no more than they bring."""
        brought: dict[int, list[tuple[Any, int]]] = {}
        for band, variable, size in self.lots:
            if band.offer.item == item:
                brought.setdefault(band.offer.delivery, []).append((variable, band.lot * size))
        needs = [some.get(item, 0) for some in self.days.needs]
        lots = (lot for some in brought.values() for _, lot in some)
        unit = math.gcd(*needs, *lots)
        taken: dict[int, list[Any]] = {key: [] for key in brought}
        for day, need in enumerate(needs):
            if not need:
                continue
            shares = []
            for key in brought:
                if (day, key) in self.serves:
                    share = self.model.addVariable(lb=0.0, ub=float(need // unit))
                    self.model.addConstr(share <= float(need // unit) * self.serves[day, key])
                    shares.append(share)
                    taken[key].append(share)
            self.model.addConstr(total(shares) >= float(need // unit))
        for key, shares in taken.items():
            if shares:
                parts = [variable * float(lot // unit) for variable, lot in brought[key]]
                self.model.addConstr(total(shares) <= total(parts))

    def _relied(self, packs: Mapping[int, int]) -> Relied | None:
        """What each day relies on in the answer last found, counted again; None if it fails."""
        values = self.model.getSolution().col_value
        chosen: list[set[int]] = [set() for _ in self.days.needs]
        for (day, key), variable in self.serves.items():
            if values[variable.index] > 0.5:
                chosen[day].add(key)
        return self._relied_of(packs, chosen)

    def _relied_of(
        self, packs: Mapping[int, int], chosen: Sequence[set[int] | frozenset[int]]
    ) -> Relied | None:
        brought: dict[int, dict[int, int]] = {}
        for key, count in packs.items():
            offer = self.case.offers[key]
            of_item = brought.setdefault(offer.item, {})
            of_item[offer.delivery] = of_item.get(offer.delivery, 0) + count * offer.pack
        return least_relied(self.days, brought, chosen)

    def _bar_together(self, packs: Mapping[int, int]) -> bool:
        """Forbids what days rely on to be relied on together if it misses a chance asked for."""
        values = self.model.getSolution().col_value
        barred = False
        for day, asked in enumerate(self.days.targets):
            keys = {
                key
                for (of, key), variable in self.serves.items()
                if of == day and values[variable.index] > 0.5
            }
            if not reaches(self.days.chance(day, keys), asked):
                serves = [self.serves[day, key] for key in sorted(keys)]
                self.model.addConstr(total(serves) <= len(serves) - 1.0)
                barred = True
        return barred

    def scheduled(self) -> Scheduled | None:
        """The cheapest purchase, of those of equal cost a surer one."""
        first = self.cheapest()
        if first is None:
            return None
        best = self._checked(first)
        if best is None:
            raise KittingError(
                "The cheapest purchase could not be shared out among its days."
                " Ask for fewer bookings at once and try again"
            )
        surer = self._surer(first) or best
        chosen = surer.relied.deliveries
        left = bare(self.case, surer.purchase, lambda packs: bool(self._relied_of(packs, chosen)))
        packs = {line.offer: line.packs for line in left.lines}
        relied = self._relied_of(packs, chosen) or surer.relied
        return Scheduled(replace(left, chance=min(relied.chances)), relied)

    def _checked(self, found: Purchase) -> Scheduled | None:
        relied = self._relied({line.offer: line.packs for line in found.lines})
        return None if relied is None else Scheduled(found, relied)

    def _surer(self, first: Purchase) -> Scheduled | None:
        """Of purchases that cost no more, one of higher chances; None if rounding spoilt it."""
        unit = math.gcd(*(factor for _, factor in self.money)) or 1
        paid = [variable * float(factor // unit) for variable, factor in self.money if factor]
        if paid:
            self.model.addConstr(total(paid) <= first.cost // unit + 0.5)
        late = [
            (serves, -math.log(max(self.days.chances[key][day], 1e-9)))
            for (day, key), serves in self.serves.items()
        ]
        self._aim([*late, *((used, FEWER) for used in self.used.values())])
        if not prove(self.model, "the cheapest purchase of the highest chance"):
            return None
        second = settled(self.case, self._packs())
        if second is None or second.cost != first.cost:
            return None
        return self._checked(second)
