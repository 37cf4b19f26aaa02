"""The Poisson distribution in plain Python, with logarithms that keep their digits near 1."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from functools import lru_cache

from kitting.errors import FigureError

SHADE = 1e-12  # rounding of sums of logarithms
_NOTHING = 1e-20  # a chance that nobody will ever see
_LARGEST = 1e6
_UNDERFLOW = 500.0  # from here on exp(-mean) is handled by its logarithm

Table = tuple[tuple[float, ...], tuple[float, ...]]


@lru_cache(maxsize=1 << 16)
def table(mean: float) -> Table:
    """Gains of ln P(use <= k) from k to k + 1, and ln P(use <= k), as far as doubles can see."""
    if not 0.0 <= mean <= _LARGEST:  # also refuses what is not a number
        raise FigureError(
            "{mean} as mean use. Give a number from 0 to {most:.0f}", mean=mean, most=_LARGEST
        )
    if mean == 0.0:
        return (), (0.0,)
    if mean > _UNDERFLOW:
        return _large_table(mean)
    term = math.exp(-mean)
    chances, sums, reached, k = [term], [term], term, 0
    while k < mean or term > _NOTHING:
        k += 1
        term *= mean / k
        reached += term
        chances.append(term)
        sums.append(reached)
    logs = [math.log(reached) for reached in sums]
    gains = [math.log1p(chances[k + 1] / sums[k]) for k in range(len(sums) - 1)]
    return tuple(gains), _fine(chances, logs)


def _large_table(mean: float) -> Table:
    """The table where the chance of no use at all is too small for a double."""
    points: list[float] = []
    while (k := len(points)) <= mean or math.exp(points[-1]) > _NOTHING:
        points.append(k * math.log(mean) - mean - math.lgamma(k + 1))
    logs, gains = [points[0]], []
    for point in points[1:]:
        gains.append(math.log1p(math.exp(point - logs[-1])))
        logs.append(logs[-1] + gains[-1])
    return tuple(gains), _fine([math.exp(point) for point in points], logs)


def _fine(chances: Sequence[float], logs: list[float]) -> tuple[float, ...]:
    """The logarithms, where near 0 counted from the far end, which keeps their digits."""
    above = 0.0
    for k in range(len(chances) - 1, -1, -1):
        if above > 0.5:
            break
        logs[k] = math.log1p(-above)
        above += chances[k]
    return tuple(logs)


def poisson_cdf(k: int, mean: float) -> float:
    """P(use <= k) for Poisson use of this mean. FigureError for a mean below 0 or above 10^6."""
    logs = table(mean)[1]
    if k < 0:
        return 0.0
    return math.exp(logs[k]) if k < len(logs) else 1.0


def level_for(mean: float, target: float) -> int:
    """The least level of one item with which the next job finds a piece with chance `target`.

    The next job finds one unless the whole level was used over the lead time: with 60 jobs a year
    and 5 of 250 days to get more (mean 1.2), 3 pieces give 87.9 % and 4 give 96.6 %. (The chance
    that nothing is owed at some moment, P(use <= level), is higher: `levels_for_target` counts
    with it.) 0 for an item without use. Raises FigureError for a target not between 0 and 1.
    """
    goal, logs = log_of(target), table(mean)[1]
    return 0 if mean == 0.0 else bisect_left(logs, goal - SHADE) + 1


def log_of(target: float) -> float:
    """Its logarithm. FigureError for a target that is not above 0 and below 1."""
    if not 0.0 < target < 1.0:
        raise FigureError("{target} as target. Give a chance above 0 and below 1", target=target)
    return math.log(target)
