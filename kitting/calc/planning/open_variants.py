"""Open variants: what is the same however they come out, and what waits for which of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import TypeAlias

from kitting.calc.planning.variants import SplitFacts
from kitting.facts.conditions import CarFacts, Condition, hold

# More ways than these a place is not taken apart: all that hangs on an option there waits.
MOST_WAYS = 512


# How some splits come out (option keys), and what is taken then: what → entry.
_Way: TypeAlias = tuple[tuple[int, ...], Mapping[Hashable, int]]


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
        ways = _taken(here, car, tuple(asked.values()))
        if not ways:
            for entry in here:
                waits = tuple(dict.fromkeys(split.key for split in _splits(entry, split_of)))
                waiting[entry.key] = waits or tuple(asked)
            continue
        for what in dict.fromkeys(entry.what for entry in here):
            keys = [taken[what] for _, taken in ways if what in taken]
            if len(keys) == len(ways):
                certain.add(keys[0])
            elif keys:
                waiting[keys[0]] = _deciding(what, ways, tuple(asked))
    return Outcome(frozenset(certain), waiting)


def _deciding(what: Hashable, ways: Sequence[_Way], asked: Sequence[int]) -> tuple[int, ...]:
    """The splits on which it hangs whether something is taken: some of their options differ."""
    has = {options: what in taken for options, taken in ways}
    return tuple(
        split
        for at, split in enumerate(asked)
        if any(
            has[options] != has[(*options[:at], other, *options[at + 1 :])]
            for options in has
            for other in {one[at] for one in has}
        )
    )


def _splits(entry: Entry, split_of: Mapping[int, SplitFacts]) -> Iterable[SplitFacts]:
    for condition in entry.conditions:
        for option in condition.options:
            if option in split_of:
                yield split_of[option]


def _taken(here: Sequence[Entry], car: CarFacts, asked: Sequence[SplitFacts]) -> list[_Way]:
    """What is taken at a place in every way in which the splits may come out."""
    if prod(len(split.options) for split in asked) > MOST_WAYS:
        return []
    ways: list[_Way] = []
    for options in product(*(split.options for split in asked)):
        known = car
        for split, option in zip(asked, options, strict=True):
            known = known.settling(split.key, option.key)
        taken: dict[Hashable, int] = {}
        for entry in here:
            if hold(entry.conditions, known):
                taken.setdefault(entry.what, entry.key)
        ways.append((tuple(option.key for option in options), taken))
    return ways
