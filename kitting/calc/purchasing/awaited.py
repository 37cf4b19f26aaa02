"""What is on its way already, weighed with what may be bought: either may bring what is needed.

Goods on their way are a delivery that costs nothing and comes with a chance of its own. A day that
relies on it has its chance in the joint one; a day that does not has all of it bought again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod

from kitting.calc.purchasing.days import Days, Relied, reaches
from kitting.calc.purchasing.sourcing import Delivery, Offer, Price, best_chance, source
from kitting.calc.purchasing.sourcing_by_days import Scheduled, lacking_by_days, source_by_days


@dataclass(frozen=True, slots=True)
class Coming:
    """Goods on their way: what each day waits for (thousandths per item), its chance by each."""

    key: int
    items: tuple[Mapping[int, int], ...]
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Offered:
    """What may be bought: the offers, the deliveries that bring them, their chances by each day."""

    offers: Sequence[Offer]
    deliveries: Sequence[Delivery]
    chances: Mapping[int, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Answer:
    """The least that is bought beside what is on its way, and how sure each day is then.

    By day: `needs` is what is short and what orders bring that the day does not rely on, `had` what
    of it is bought, `late` the keys of those orders, `waited` the chance of the orders that it does
    rely on, and `chances` that of the whole, 0.0 where something is not to be had. `found` is None
    where nothing is bought.
    """

    needs: tuple[dict[int, int], ...]
    had: tuple[dict[int, int], ...]
    late: tuple[frozenset[int], ...]
    waited: tuple[float, ...]
    chances: tuple[float, ...]
    found: Scheduled | None

    @property
    def missing(self) -> frozenset[int]:
        """The places of the days that lack something that is not bought."""
        return frozenset(
            day
            for day, (needs, had) in enumerate(zip(self.needs, self.had, strict=True))
            if needs and (self.found is None or needs != had)
        )


class Sought:
    """What some days lack beside what is on its way to them, with a chance asked for of each."""

    def __init__(
        self,
        lacks: Sequence[Mapping[int, int]],
        coming: Iterable[Coming],
        offered: Offered,
        target: float,
    ) -> None:
        self.lacks = [_some(of_day) for of_day in lacks]
        self.coming = tuple(coming)
        self.offered = offered
        self.target = target
        # The day and the goods of each delivery that stands for goods on their way.
        self.stands: dict[int, tuple[int, int]] = {}
        self._offers: list[Offer] = []
        self._chances = dict(offered.chances)
        for one in self.coming:
            for day, items in enumerate(map(_some, one.items)):
                if items:
                    self._stand_in(one, day, items)

    def _stand_in(self, one: Coming, day: int, items: Mapping[int, int]) -> None:
        """A delivery for a day of its own: what one day waits for is no other's."""
        delivery = -len(self.stands) - 1
        self.stands[delivery] = day, one.key
        self._chances[delivery] = tuple(
            chance if at == day else 0.0 for at, chance in enumerate(one.chances)
        )
        self._offers += [
            Offer(-len(self._offers) - place, item, delivery, amount, (Price(1, 0),), available=1)
            for place, (item, amount) in enumerate(sorted(items.items()), 1)
        ]

    @property
    def offers(self) -> list[Offer]:
        """What may be bought and what is on its way."""
        return [*self._offers, *self.offered.offers]

    def deliveries(self, day: int = 0) -> list[Delivery]:
        """All deliveries with their chances by a day."""
        found = [*(Delivery(key) for key in self.stands), *self.offered.deliveries]
        return [replace(one, chance=self._chances[one.key][day]) for one in found]

    @property
    def days(self) -> Days:
        """The days with all that has to be brought, on its way or not."""
        nobody: list[frozenset[int]] = [frozenset() for _ in self.lacks]
        return Days(self._needs(nobody), (self.target,) * len(self.lacks), self._chances)

    @property
    def can_be_had(self) -> bool:
        """Whether every day can be whole with the chance asked for."""
        days = self.days
        if not any(days.needs):
            return True
        if any(lacking_by_days(days, self.offers)):
            return False
        return self._source(days) is not None

    def answer(self) -> Answer:
        """The cheapest purchase of all that can be had beside what is relied on.

        Where all of it cannot be had, each day is tried alone: what it cannot have is left out.
        """
        days = self.days
        waits = [{key for key, (of, _) in self.stands.items() if of == day} for day in self._places]
        sure = [self._chance(keys, day) for day, keys in enumerate(waits)]
        if not any(self.lacks) and all(reaches(one, self.target) for one in sure):
            return self._answered([frozenset(keys) for keys in waits], self._nothing, None)
        without = [set(items) for items in lacking_by_days(days, self.offers)]
        found = self._source(self._only(days, without))
        if found is None and len(days.needs) > 1:
            had = self._only(days, without)
            for day in self._places:
                if any(had.needs[day].values()) and self._source(_alone(had, day)) is None:
                    without[day] = set(days.needs[day])
            had = self._only(days, without)
            found = self._source(had) if any(had.needs) else None
        relied = [
            self._surest(day)
            if found is None or (days.needs[day] and without[day] >= days.needs[day].keys())
            else frozenset(found.relied.deliveries[day] & self.stands.keys())
            for day in self._places
        ]
        return self._answered(relied, without, None if found is None else self._bought(found))

    def best_chance(self, day: int) -> float:
        """The highest chance with which a day can be whole, whatever it costs."""
        return best_chance(self.days.needs[day], self.offers, self.deliveries(day))

    def cheapest_for(self, chance: float, day: int = 0) -> int | None:
        """What a day costs at least with a chance; None where nothing is to be bought for it."""
        found = source(self.days.needs[day], self.offers, self.deliveries(day), chance)
        if found is None or all(line.offer < 0 for line in found.lines):
            return None
        return found.spent

    @property
    def _places(self) -> range:
        return range(len(self.lacks))

    @property
    def _nothing(self) -> list[set[int]]:
        return [set() for _ in self.lacks]

    def _chance(self, keys: Iterable[int], day: int) -> float:
        return prod(self._chances[key][day] for key in sorted(keys))

    def _brings(self, key: int) -> Mapping[int, int]:
        """What one of the deliveries that stand for goods on their way brings."""
        return {one.item: one.pack for one in self._offers if one.delivery == key}

    def _needs(self, relied: Sequence[frozenset[int]]) -> tuple[dict[int, int], ...]:
        """What each day lacks without what it does not rely on."""
        found = tuple(dict(some) for some in self.lacks)
        for key, (day, _) in self.stands.items():
            if key not in relied[day]:
                for item, amount in self._brings(key).items():
                    found[day][item] = found[day].get(item, 0) + amount
        return found

    def _only(self, days: Days, without: Sequence[set[int]]) -> Days:
        """The days without some items, but for what of them surely is on its way."""
        needs = [
            {item: amount for item, amount in some.items() if item not in without[day]}
            for day, some in enumerate(days.needs)
        ]
        for key, (day, _) in self.stands.items():
            if days.timely(key, day) and not without[day] >= days.needs[day].keys():
                for item, amount in self._brings(key).items():
                    if item in without[day]:
                        needs[day][item] = needs[day].get(item, 0) + amount
        return replace(days, needs=tuple(needs))

    def _source(self, days: Days) -> Scheduled | None:
        return source_by_days(days, self.offers, self.deliveries())

    def _surest(self, day: int) -> frozenset[int]:
        """Of what is on its way to a day the surest that together have the chance asked for."""
        found: set[int] = set()
        waits = [key for key, (of, _) in self.stands.items() if of == day]
        for key in sorted(waits, key=lambda key: (-self._chances[key][day], -key)):
            if reaches(self._chance([*found, key], day), self.target):
                found.add(key)
        return frozenset(found)

    def _bought(self, found: Scheduled) -> Scheduled | None:
        """What of a purchase is bought; None if all of it is on its way."""
        lines = tuple(line for line in found.purchase.lines if line.offer >= 0)
        paid = tuple(one for one in found.purchase.carriage if one[0] not in self.stands)
        relied = tuple(some - self.stands.keys() for some in found.relied.deliveries)
        chances = tuple(prod(self._chances[key][day] for key in sorted(some))
                        for day, some in enumerate(relied))  # fmt: skip
        if not lines:
            return None
        purchase = replace(found.purchase, lines=lines, carriage=paid, chance=min(chances))
        return Scheduled(purchase, Relied(relied, chances))

    def _answered(
        self,
        relied: Sequence[frozenset[int]],
        without: Sequence[set[int]],
        found: Scheduled | None,
    ) -> Answer:
        needs = self._needs(relied)
        had = tuple(
            {item: amount for item, amount in some.items() if item not in without[day]}
            for day, some in enumerate(needs)
        )
        waited = tuple(self._chance(keys, day) for day, keys in enumerate(relied))
        own = (1.0,) * len(needs) if found is None else found.relied.chances
        late = [
            {one for key, (of, one) in self.stands.items() if of == day and key not in keys}
            for day, keys in enumerate(relied)
        ]
        whole = Answer(needs, had, tuple(map(frozenset, late)), waited, (), found)
        chances = tuple(
            0.0 if day in whole.missing else own[day] * waited[day] for day in self._places
        )
        return replace(whole, chances=chances)


def _some(amounts: Mapping[int, int]) -> dict[int, int]:
    """Amounts without those of nothing."""
    return {item: amount for item, amount in amounts.items() if amount}


def _alone(days: Days, day: int) -> Days:
    """One of some days by itself."""
    return Days(
        (days.needs[day],),
        (days.targets[day],),
        {key: (chances[day],) for key, chances in days.chances.items()},
    )
