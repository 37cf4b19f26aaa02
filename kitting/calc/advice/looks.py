"""Looks: how many new pieces an inspection asks for, when a joint is opened once or several times.

The model. At each opening every piece that may go back is looked at again, whether it passed the
last look or was put in new then; one that fails is renewed on the spot. Each look fails with the
same chance: neither what another opening does to a piece that passed nor how much surer a new one
is has been measured, so nothing is assumed of either. The looks are therefore pieces × openings,
and each that fails asks for one new piece. Of a group one failure asks for every piece of it that
is looked at at that opening, at each opening anew; `others` are pieces of other items that belong
to it. A group whose joints are opened an unequal number of times is opened together as far as it
goes (it asks for less if its joints are opened apart); `later` are the openings of a part of it.
What is believed of the chance is the same for all looks of one car.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from kitting.errors import KittingError


@dataclass(frozen=True, slots=True)
class Looks:
    """Pieces of one item that are inspected alike, at each opening of their joints.

    At each of `openings` all `pieces` are looked at, with `others` of the group; `later` has the
    pieces and the others of each opening at which fewer are.

    Each look fails with `chance`. With `group` all pieces are renewed if any fails. `weight` None
    lets looks fail independently; else `chance` is itself uncertain by Beta(chance · weight,
    (1 − chance) · weight), the same for all looks, so that they fail together. Raises KittingError
    for figures that make no sense.
    """

    pieces: int
    chance: float
    group: bool = False
    weight: float | None = None
    openings: int = 1
    others: int = 0
    later: tuple[tuple[int, int], ...] = ()

    def __post_init__(self) -> None:
        """Refuses figures that make no sense."""
        if not 0.0 <= self.chance <= 1.0:
            raise KittingError(
                "a failure rate lies between 0 and 1, not at {chance}", chance=self.chance
            )
        if self.weight is not None and not 0.0 < self.weight < math.inf:
            raise KittingError("a weight must be above 0, not {weight}", weight=self.weight)
        if self.openings < 1 or any(count < 0 for at in self.each for count in at):
            raise KittingError("pieces must not be negative, and a look needs an opening")

    @property
    def each(self) -> tuple[tuple[int, int], ...]:
        """How many pieces, and others of the group, are looked at at each opening."""
        return ((self.pieces, self.others),) * self.openings + self.later

    @property
    def most(self) -> int:
        """How many new ones are needed if every look fails."""
        return sum(pieces for pieces, _ in self.each)


def failures(count: int, chance: float, weight: float | None = None) -> tuple[float, ...]:
    """The chance of 0, 1, … `count` failed looks: binomial, or beta-binomial with a weight."""
    if weight is not None:
        return _together(count, chance * weight, (1.0 - chance) * weight)
    return tuple(
        math.comb(count, k) * chance**k * (1.0 - chance) ** (count - k) for k in range(count + 1)
    )


def _together(n: int, a: float, b: float) -> tuple[float, ...]:
    return tuple(
        math.comb(n, k)
        * math.prod((a + i) / (a + b + i) for i in range(k))
        * math.prod((b + i) / (a + b + k + i) for i in range(n - k))
        for k in range(n + 1)
    )


@lru_cache(maxsize=4096)
def needed(looks: Looks) -> tuple[float, ...]:
    """The chance that 0, 1, … `most` new ones are needed."""
    if not looks.group or looks.most == 0:
        return failures(looks.most, looks.chance, looks.weight)
    if looks.weight is None:
        return renewed_whole(looks.each, looks.chance)
    return _renewed_as_believed(looks, looks.weight)


def renewed_whole(each: Sequence[tuple[int, int]], chance: float) -> tuple[float, ...]:
    """How many new ones a group asks for, whose looks fail independently with a chance.

    `each` has the pieces and the others of every opening.
    """
    spreads = []
    for pieces, others in each:
        none = (1.0 - chance) ** (pieces + others)
        at: list[float] = [0.0] * (pieces + 1)
        at[0] += none
        at[pieces] += 1.0 - none
        spreads.append(at)
    return together(spreads)


def _renewed_as_believed(looks: Looks, weight: float) -> tuple[float, ...]:
    """The same where what was found at the openings before moves what is believed of the next."""
    a, b = looks.chance * weight, (1.0 - looks.chance) * weight
    states: dict[tuple[int, int], float] = {(0, 0): 1.0}  # failed looks, new ones
    before = 0
    for pieces, others in looks.each:
        after: dict[tuple[int, int], float] = defaultdict(float)
        for (failed, new), chance in states.items():
            here = _together(pieces + others, a + failed, b + before - failed)
            for more, p in enumerate(here):
                after[failed + more, new + (pieces if more else 0)] += chance * p
        states = after
        before += pieces + others
    found: list[list[float]] = [[] for _ in range(looks.most + 1)]
    for (_, new), chance in states.items():
        found[new].append(chance)
    return tuple(math.fsum(chances) for chances in found)


def together(spreads: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """The chance of each sum of numbers that are drawn apart."""
    found: tuple[float, ...] = (1.0,)
    for spread in spreads:
        found = tuple(
            math.fsum(
                found[k] * spread[total - k]
                for k in range(max(0, total - len(spread) + 1), min(total, len(found) - 1) + 1)
            )
            for total in range(len(found) + len(spread) - 1)
        )
    return found
