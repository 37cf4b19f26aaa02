"""Looks: how many new pieces an inspection asks for, when a joint is opened once or several times.

The model. At each opening every piece that may go back is looked at again, whether it passed the
last look or was put in new then; one that fails is renewed on the spot. Each look fails with the
same chance: neither what another opening does to a piece that passed nor how much surer a new one
is has been measured, so nothing is assumed of either. The looks are therefore pieces × openings,
and each that fails asks for one new piece. Of a group one failure asks for every piece of it, at
each opening anew; `others` are pieces of other items that belong to it. What is believed of the
chance is the same for all looks of one car.
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

    def __post_init__(self) -> None:
        """Refuses figures that make no sense."""
        if not 0.0 <= self.chance <= 1.0:
            raise KittingError(f"a failure rate lies between 0 and 1, not at {self.chance}")
        if self.weight is not None and not 0.0 < self.weight < math.inf:
            raise KittingError(f"a weight must be above 0, not {self.weight}")
        if self.pieces < 0 or self.others < 0 or self.openings < 1:
            raise KittingError("pieces must not be negative, and a look needs an opening")

    @property
    def most(self) -> int:
        """How many new ones are needed if every look fails."""
        return self.pieces * self.openings


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
    if not looks.group or looks.pieces == 0:
        return failures(looks.most, looks.chance, looks.weight)
    found = [0.0] * (looks.most + 1)
    for bad, chance in enumerate(_bad_openings(looks)):
        found[bad * looks.pieces] = chance
    return tuple(found)


def _bad_openings(looks: Looks) -> tuple[float, ...]:
    """The chance that at 0, 1, … `openings` any of the pieces fails, others of the group too."""
    pieces, openings = looks.pieces + looks.others, looks.openings
    if looks.weight is None:
        none = (1.0 - looks.chance) ** pieces
        return failures(openings, 1.0 - none)
    # What was found at the openings before moves what is believed of the next.
    a, b = looks.chance * looks.weight, (1.0 - looks.chance) * looks.weight
    states: dict[tuple[int, int], float] = {(0, 0): 1.0}  # failed looks, bad openings
    for before in range(openings):
        after: dict[tuple[int, int], float] = defaultdict(float)
        for (failed, bad), chance in states.items():
            here = _together(pieces, a + failed, b + before * pieces - failed)
            for more, p in enumerate(here):
                after[failed + more, bad + (more > 0)] += chance * p
        states = after
    found: list[list[float]] = [[] for _ in range(openings + 1)]
    for (_, bad), chance in states.items():
        found[bad].append(chance)
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
