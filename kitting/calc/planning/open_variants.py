"""Open variants: what is the same however they come out, and what waits for which of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from kitting.calc.planning.variants import SplitFacts
from kitting.facts.conditions import CarFacts, Condition, hold

# More ways than these a place is not taken apart: all that hangs on an option there waits.
MOST_WAYS = 512


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that a car may take at a place; `what` is the same for what does not differ."""

    key: int
    place: Hashable
    what: Hashable
    conditions: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """The entries that the car takes for certain, and those that wait for splits (keys)."""

    certain: frozenset[int]
    waiting: Mapping[int, tuple[int, ...]]


def outcome(entries: Iterable[Entry], car: CarFacts, still_open: Sequence[SplitFacts]) -> Outcome:
    """Which entries a car takes while some splits are open.

    At each place, what comes out the same under every option of the splits that it asks about is
    taken; the rest waits for them. An entry whose conditions are certain is taken or not as ever.
    """
    split_of = {option.key: split for split in still_open for option in split.options}
    places: dict[Hashable, list[Entry]] = defaultdict(list)
    for entry in entries:
        places[entry.place].append(entry)
    certain: set[int] = set()
    waiting: dict[int, tuple[int, ...]] = {}
    for here in places.values():
        asked = {
            split.key: split
            for entry in here
            for split in _splits(entry, split_of)
        }  # fmt: skip
        if not asked:
            certain |= {entry.key for entry in here if hold(entry.conditions, car)}
            continue
        taken = _taken(here, car, tuple(asked.values()))
        always = set.intersection(*(set(way) for way in taken)) if taken else set()
        certain |= {taken[0][what] for what in always}
        for entry in here:
            possible = not taken or any(way.get(entry.what) == entry.key for way in taken)
            if possible and entry.what not in always:
                waits = tuple(dict.fromkeys(split.key for split in _splits(entry, split_of)))
                waiting[entry.key] = waits or tuple(asked)
    return Outcome(frozenset(certain), waiting)


def _splits(entry: Entry, split_of: Mapping[int, SplitFacts]) -> Iterable[SplitFacts]:
    for condition in entry.conditions:
        for option in condition.options:
            if option in split_of:
                yield split_of[option]


def _taken(
    here: Sequence[Entry], car: CarFacts, asked: Sequence[SplitFacts]
) -> list[dict[Hashable, int]]:
    """What is taken at a place in every way in which the splits may come out: what → entry."""
    if prod(len(split.options) for split in asked) > MOST_WAYS:
        return []
    ways = []
    for options in product(*(split.options for split in asked)):
        known = car
        for split, option in zip(asked, options, strict=True):
            known = known.settling(split.key, option.key)
        taken: dict[Hashable, int] = {}
        for entry in here:
            if hold(entry.conditions, known):
                taken.setdefault(entry.what, entry.key)
        ways.append(taken)
    return ways
