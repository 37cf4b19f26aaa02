"""What is on its way already: which of it each day relies on, and what is still to be bought."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Coming:
    """Goods on their way: what each day waits for (thousandths per item), its chance by each."""

    key: int
    items: tuple[Mapping[int, int], ...]
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ToBuy:
    """What each day lacks without the goods that are too late for it, and how sure the rest is.

    `late` are the keys of what a day waits for and does not rely on.
    """

    needs: tuple[dict[int, int], ...]
    chances: tuple[float, ...]
    late: tuple[frozenset[int], ...]


def relied_on(needs: Sequence[Mapping[int, int]], coming: Iterable[Coming], target: float) -> ToBuy:
    """Which goods each day relies on: the surest that together reach the target.

    `needs` are what each day lacks beside them.

    >>> sure, late = Coming(1, ({7: 1000},), (0.99,)), Coming(2, ({7: 2000},), (0.5,))
    >>> relied_on([{}], [late, sure], 0.9)
    ToBuy(needs=({7: 2000},), chances=(0.99,), late=(frozenset({2}),))
    """
    listed = list(coming)
    found, chances, too_late = [], [], []
    for day, lacking in enumerate(needs):
        wanted, together, late = dict(lacking), 1.0, set()
        waits = [one for one in listed if any(one.items[day].values())]
        for one in sorted(waits, key=lambda one: (-one.chances[day], one.key)):
            if together * one.chances[day] >= target:
                together *= one.chances[day]
                continue
            late.add(one.key)
            for item, amount in one.items[day].items():
                wanted[item] = wanted.get(item, 0) + amount
        found.append(wanted)
        chances.append(together)
        too_late.append(frozenset(late))
    return ToBuy(tuple(found), tuple(chances), tuple(too_late))
