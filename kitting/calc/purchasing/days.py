"""Days: what is needed by each of several days, and which deliveries may serve which of them."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import pairwise

# A product of floats that misses the target by no more than this meets it: 0.9 × 0.9 ≥ 0.81.
ROUNDING = 1e-12


def reaches(chance: float, target: float) -> bool:
    """Whether a chance is the one asked for; none at all is none unless nothing is asked for."""
    return target <= 0.0 or (chance > 0.0 and chance >= target - ROUNDING)


@dataclass(frozen=True, slots=True)
class Days:
    """Several days by each of which something is needed, with a chance of its own.

    `needs` are thousandths per item and `targets` the chances asked for, by day in order;
    `chances` how likely each delivery is here by each of the days.
    """

    needs: tuple[Mapping[int, int], ...]
    targets: tuple[float, ...]
    chances: Mapping[int, tuple[float, ...]]

    @property
    def together(self) -> dict[int, int]:
        """What is needed of each item in all."""
        found: dict[int, int] = {}
        for needs in self.needs:
            for item, amount in needs.items():
                found[item] = found.get(item, 0) + amount
        return found

    def timely(self, delivery: int, day: int) -> bool:
        """Whether a delivery may be relied on for a day: alone it reaches what is asked for."""
        return reaches(self.chances[delivery][day], self.targets[day])

    def chance(self, day: int, deliveries: Set[int]) -> float:
        """The chance that all of some deliveries are here by a day."""
        return math.prod(self.chances[key][day] for key in sorted(deliveries))


@dataclass(frozen=True, slots=True)
class Relied:
    """The deliveries that each day relies on, and the chance of each day."""

    deliveries: tuple[frozenset[int], ...]
    chances: tuple[float, ...]


def least_relied(
    days: Days, brought: Mapping[int, Mapping[int, int]], deliveries: Sequence[Set[int]]
) -> Relied | None:
    """The least of these deliveries that each day still has to rely on; None if they do not do.

    `brought` are thousandths per item and delivery; `deliveries` those that may serve each day,
    of which what makes a day least sure is left out first, the first day before the others.
    """
    sets = [set(one) for one in deliveries]
    if not _enough(days, brought, sets):
        return None
    for day, chosen in enumerate(sets):
        for key in sorted(chosen, key=lambda key: (days.chances[key][day], key)):
            chosen.discard(key)
            if not _enough(days, brought, sets):
                chosen.add(key)
    chances = tuple(days.chance(day, chosen) for day, chosen in enumerate(sets))
    if any(not reaches(one, asked) for one, asked in zip(chances, days.targets, strict=True)):
        return None
    return Relied(tuple(map(frozenset, sets)), chances)


def _enough(
    days: Days, brought: Mapping[int, Mapping[int, int]], deliveries: Sequence[Set[int]]
) -> bool:
    """Whether what is brought meets the needs of all days, each from its deliveries alone."""
    items = {item for needs in days.needs for item in needs}
    return all(
        _shared_out(
            dict(brought.get(item, {})), [needs.get(item, 0) for needs in days.needs], deliveries
        )
        for item in items
    )


def _shared_out(left: dict[int, int], needs: Sequence[int], deliveries: Sequence[Set[int]]) -> bool:
    """Whether one item goes round: shared out by the shortest way to what is left."""
    given: list[dict[int, int]] = [{} for _ in needs]
    for day, need in enumerate(needs):
        missing = need
        while missing:
            way = _way(day, left, given, deliveries)
            if not way:
                return False
            some = min(missing, left[way[-1][1]])
            some = min([some, *(given[to][key] for (_, key), (to, _) in pairwise(way))])
            left[way[-1][1]] -= some
            for place, (to, key) in enumerate(way):
                given[to][key] = given[to].get(key, 0) + some
                if place + 1 < len(way):
                    given[way[place + 1][0]][key] -= some
            missing -= some
    return True


def _way(
    day: int,
    left: Mapping[int, int],
    given: Sequence[Mapping[int, int]],
    deliveries: Sequence[Set[int]],
) -> list[tuple[int, int]]:
    """From a day to a delivery that has some left: each day takes of a delivery, from the next."""
    came: dict[int, tuple[int, int] | None] = {day: None}
    waiting = deque([day])
    while waiting:
        at = waiting.popleft()
        for key in sorted(deliveries[at]):
            if left.get(key, 0):
                way, step = [(at, key)], came[at]
                while step is not None:
                    way.insert(0, step)
                    step = came[step[0]]
                return way
            for other, amounts in enumerate(given):
                if other not in came and amounts.get(key, 0):
                    came[other] = (at, key)
                    waiting.append(other)
    return []
