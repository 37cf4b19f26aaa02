"""Spares: which to bring so that a job is likely to be finished with what is there.

What is looked at and fails must be renewed. A spare serves whichever look of its item fails, once;
so an item is one line, however many of its pieces have a chance of their own. The chance that the
spares suffice for every line is the product over the lines. Money is in whole minor units.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from kitting.calc.advice.looks import Looks, needed
from kitting.calc.advice.shared_chance import needed_at_all
from kitting.calc.advice.spares_search import Option, least, steps, undominated
from kitting.errors import KittingError

# A chance that misses the target by less than this share of it counts as reaching it.
ROUNDING = 1e-12
# Logarithms of chances are summed as whole multiples of this, so that ties are ties.
_UNIT = 1e-15
MOST_POINTS = 200
_MOST_EXACT = 2_000
_MOST_CELLS = 100_000

# The index chosen last, after those before it.
_Trail = tuple["_Trail", int] | None


@dataclass(frozen=True, slots=True)
class Line:
    """An item that may fail its looks, and what its spares cost.

    `costs` is what is lost on 0, 1, … spares that stay unused; more than it names cannot be had.
    Raises KittingError for costs that fall, or for none.
    """

    key: int
    looks: tuple[Looks, ...]
    costs: tuple[int, ...] = (0,)

    def __post_init__(self) -> None:
        """Refuses costs that make no sense."""
        if not self.costs or self.costs[0] < 0 or any(b < a for a, b in pairwise(self.costs)):
            raise KittingError("what spares cost must not be negative, nor fall with their number")

    @property
    def pieces(self) -> int:
        """How many new ones are needed if every look fails."""
        return sum(looks.most for looks in self.looks)

    @property
    def most(self) -> int:
        """The most spares that can be had and may be of use."""
        return min(self.pieces, len(self.costs) - 1)


@dataclass(frozen=True, slots=True)
class Choice:
    """Spares to bring per line (every line is named), their cost, the chance that they suffice."""

    spares: Mapping[int, int] = field(hash=False)
    cost: int
    chance: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """A price in minor units: as known now, as expected, and a figure not often exceeded."""

    now: int
    expected: int
    likely: int


def demand(line: Line) -> tuple[float, ...]:
    """The chance that 0, 1, … `pieces` new ones are needed."""
    return _demand(line.looks)


@lru_cache(maxsize=4096)
def _demand(looks: tuple[Looks, ...]) -> tuple[float, ...]:
    return needed_at_all(looks)


def chance_of(lines: Sequence[Line], spares: Mapping[int, int]) -> float:
    """The chance that the spares suffice for every line; a line not named has none."""
    return math.prod(_enough(line, spares.get(line.key, 0)) for line in lines)


def _enough(line: Line, spares: int) -> float:
    return _suffice(demand(line), spares)


def _suffice(pmf: Sequence[float], spares: int) -> float:
    if spares >= len(pmf) - 1:
        return 1.0
    if spares < 0:
        return 0.0
    # From the smaller part, so that chances near 0 and near 1 keep their digits.
    head, tail = math.fsum(pmf[: spares + 1]), math.fsum(pmf[spares + 1 :])
    return head if head < 0.5 else max(0.0, 1.0 - tail)


def split(line: Line, spares: int) -> tuple[int, ...]:
    """For which looks of a line its spares are likeliest needed; no spare is counted twice.

    The split whose parts suffice each for its own looks with the highest chance. The line as a
    whole has a chance no lower, for a spare may serve another look. Raises KittingError for more
    spares than `pieces`.
    """
    if not 0 <= spares <= line.pieces:
        raise KittingError(
            "{spares} spares cannot be split among {pieces} pieces",
            spares=spares,
            pieces=line.pieces,
        )
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (1.0, ())}
    for looks in line.looks:
        pmf = needed(looks)
        grown: dict[int, tuple[float, tuple[int, ...]]] = {}
        for used, (chance, parts) in best.items():
            for more in range(min(looks.most, spares - used) + 1):
                found = (chance * _suffice(pmf, more), (*parts, more))
                grown[used + more] = max(found, grown.get(used + more, found))
        best = grown
    return best[spares][1]


def cheapest(lines: Sequence[Line], target: float) -> Choice | None:
    """The spares of least cost that suffice with chance `target`; None if none do.

    Proved to be cheapest, not just good. Of equally cheap choices that of the highest chance is
    taken, then of fewest pieces. A spare that costs nothing is brought wherever it raises the
    chance. Raises KittingError for a target above 1 or for lines of one key.
    """
    if target > 1.0 or math.isnan(target):
        raise KittingError("a chance of {target} cannot be reached", target=target)
    classes = [_options(line) for line in _distinct(lines)]
    if target <= 0.0:
        return _choice(lines, [options[0] for options in classes])
    possible = _possible(classes)
    if possible is None:
        return None
    goal = math.floor((math.log(target) - ROUNDING) / _UNIT)
    found = least(possible, goal)
    if found is None:
        return None
    return _choice(lines, [options[i] for options, i in zip(possible, found, strict=True)])


def frontier(lines: Sequence[Line]) -> tuple[Choice, ...]:
    """The choices that nothing cheaper equals in chance, the cheapest first.

    All of them, found by merging line by line, as long as that takes no more than 2 000 points on
    the way. Beyond, only those that are best at some price of chance: each of them is efficient,
    but some between them are left out. Of more than 200 points every so many are shown, the first
    and the last among them. What has no chance at all is not shown.
    """
    classes = _possible([_options(line) for line in _distinct(lines)])
    if classes is None:
        return ()
    points = _merged(classes)
    if points is None:
        points = [tuple(0 for _ in classes)]
        for _, number, index in steps(classes):
            points.append((*points[-1][:number], index, *points[-1][number + 1 :]))
    if len(points) > MOST_POINTS:
        last = len(points) - 1
        points = [points[i * last // (MOST_POINTS - 1)] for i in range(MOST_POINTS)]
    return tuple(
        _choice(lines, [options[i] for options, i in zip(classes, point, strict=True)])
        for point in points
    )


def _merged(classes: Sequence[Sequence[Option]]) -> list[tuple[int, ...]] | None:
    """The whole front as indices per class; None if it grows too long on the way."""
    front: list[tuple[int, int, int, _Trail]] = [(0, 0, 0, None)]
    for options in classes:
        grown = [
            (cost + o.cost, gain + o.gain, pieces + o.pieces, (trail, index))
            for cost, gain, pieces, trail in front
            for index, o in enumerate(options)
        ]
        grown.sort(key=lambda state: (state[0], -state[1], state[2]))
        front = []
        for state in grown:
            if not front or state[1] > front[-1][1]:
                front.append(state)
        if len(front) > _MOST_EXACT:
            return None
    return [_unwound(trail) for _, _, _, trail in front]


def _unwound(trail: _Trail) -> tuple[int, ...]:
    found = []
    while trail is not None:
        trail, index = trail
        found.append(index)
    return tuple(reversed(found))


def worth_above(loss: int, cost_of_short: int) -> float:
    """The chance of being needed above which one more spare is worth bringing.

    loss/(loss + cost of being short), both in minor units: what is lost on an unused spare against
    what waiting for it costs. Nothing to lose is worth bringing at any chance. Raises KittingError
    for a negative amount.
    """
    if loss < 0 or cost_of_short < 0:
        raise KittingError("a loss and what being short costs must not be negative")
    return loss / (loss + cost_of_short) if loss else 0.0


def estimate(
    now: int, lines_with_prices: Sequence[tuple[Line, Sequence[int]]], share: float = 0.9
) -> Estimate:
    """What a job will cost, where 0, 1, … `pieces` new ones of a line add its prices.

    Prices are minor units and never fall. `now` is what is certain. `expected` is the mean, rounded
    up; `likely` the smallest figure that is not exceeded with chance `share`, and never below
    `expected`. It is exact while the most that can be added stays within 100 000 minor units;
    beyond, amounts are rounded up to the whole multiple of a coarser unit (a hundred-thousandth of
    that most), so that `likely` errs upwards only. Raises KittingError for prices that are below 0,
    fall or are too few, or a share outside 0 to 1.
    """
    if not 0.0 < share < 1.0:
        raise KittingError("a share lies between 0 and 1, not at {share}", share=share)
    drawn = []
    for line, prices in lines_with_prices:
        if len(prices) <= line.pieces or min(prices) < 0 or list(prices) != sorted(prices):
            raise KittingError("a price for each number of new ones is needed: not below 0, rising")
        drawn.append((demand(line), prices[: line.pieces + 1]))
    mean = math.fsum(
        p * price for pmf, prices in drawn for p, price in zip(pmf, prices, strict=True)
    )
    expected = now + math.ceil(round(mean, 6))
    most = sum(prices[-1] for _, prices in drawn)
    likely = now + min(most, _not_exceeded(drawn, most, share))
    return Estimate(now, expected, max(likely, expected))


def _not_exceeded(
    drawn: Sequence[tuple[tuple[float, ...], Sequence[int]]], most: int, share: float
) -> int:
    """The smallest sum not exceeded with chance `share`."""
    import numpy as np

    cell = max(1, -(-most // _MOST_CELLS))
    spread = np.ones(1)
    for pmf, prices in drawn:
        places = [-(-price // cell) for price in prices]
        grown = np.zeros(len(spread) + places[-1])
        for place, p in zip(places, pmf, strict=True):
            if p:
                grown[place : place + len(spread)] += p * spread
        spread = grown
    reached = np.cumsum(spread) >= share - ROUNDING
    return int(np.argmax(reached)) * cell


def _distinct(lines: Sequence[Line]) -> Sequence[Line]:
    if len({line.key for line in lines}) < len(lines):
        raise KittingError("two lines of spares have the same key. Join them or give each its own")
    return lines


def _options(line: Line) -> tuple[Option, ...]:
    """The numbers of spares worth looking at, with the logarithm of their chance in whole units.

    What has no chance has a gain lower than any sum of others can make good.
    """
    found = []
    for pieces in range(line.most + 1):
        enough = _enough(line, pieces)
        gain = round(math.log(enough) / _UNIT) if enough > 0.0 else _NEVER
        found.append(Option(pieces, line.costs[pieces], gain))
    return undominated(found)


_NEVER = -(10**30)


def _possible(classes: Sequence[Sequence[Option]]) -> list[tuple[Option, ...]] | None:
    """The options with some chance; None if a line has none."""
    found = [tuple(option for option in options if option.gain > _NEVER) for options in classes]
    return found if all(found) else None


def _choice(lines: Sequence[Line], options: Sequence[Option]) -> Choice:
    spares = {line.key: option.pieces for line, option in zip(lines, options, strict=True)}
    return Choice(spares, sum(option.cost for option in options), chance_of(lines, spares))
