"""Failure rates: how likely a part is not to pass its inspection, learned from earlier findings.

Our own model. A failure rate is a Beta distribution. It starts from a general figure for the kind
and learns at each level in turn: the kind, the item, the car or unit. What one level believes is
where the next starts, weighing no more than POOL_WEIGHT inspections, so that a few findings draw it
only a little away from that of its relatives. This is shrinkage in the manner of empirical
Bayes, with the weights stated instead of fitted: the findings of one workshop are too few to fit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from kitting.errors import KittingError
from kitting.facts.words import RateShift

# As many inspections as the general figure for a kind weighs, and at most what is learned from
# relatives. Both are our own choice.
PRIOR_WEIGHT = 10.0
POOL_WEIGHT = 10.0

# What moves a chance, in log-odds. INVENTED figures, of the right sign only: to be replaced by a
# workshop's own as soon as it has enough findings.
SHIFTS: Mapping[RateShift, float] = MappingProxyType(
    {
        RateShift.OVER_8_YEARS: 0.7,
        RateShift.HOT_SIDE: 0.9,
        RateShift.EARLIER_REMOVAL: 0.6,
        RateShift.UNDER_2_YEARS: -0.5,
    }
)


@dataclass(frozen=True, slots=True)
class Prior:
    """A failure rate believed before any inspection, worth `weight` inspections.

    It is Beta(mean · weight, (1 − mean) · weight). Raises KittingError for a mean outside 0 to 1
    or a weight that is not above 0.
    """

    mean: float
    weight: float = PRIOR_WEIGHT

    def __post_init__(self) -> None:
        """Refuses what is no distribution."""
        if not 0.0 <= self.mean <= 1.0:
            raise KittingError("a failure rate lies between 0 and 1, not at {mean}", mean=self.mean)
        if not 0.0 < self.weight < math.inf:
            raise KittingError("a weight must be above 0, not {weight}", weight=self.weight)


# Where nobody states a figure for a kind: the prior of Jeffreys, Beta(½, ½), common practice, no
# source. An assumption that weighs one inspection; without findings the rate is simply unknown.
NOBODY_SAID = Prior(0.5, 1.0)


def prior_of(stated: float | None) -> Prior:
    """What is believed of a kind before any inspection: the figure stated for it, if there is one.

    Raises KittingError for a figure outside 0 to 1.
    """
    return NOBODY_SAID if stated is None else Prior(stated)


@dataclass(frozen=True, slots=True)
class Inspected:
    """Of `pieces` that were inspected, `failed` did not pass.

    A part that was renewed without inspection says nothing of its failure rate and is in neither
    number. Raises KittingError for numbers that cannot be.
    """

    failed: int
    pieces: int

    def __post_init__(self) -> None:
        """Refuses more failures than inspections."""
        if not 0 <= self.failed <= self.pieces:
            raise KittingError(
                "{failed} failed of {pieces} inspected cannot be",
                failed=self.failed,
                pieces=self.pieces,
            )


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of a failure rate: Beta(alpha, beta).

    `inspected` is how many inspections it rests on, over all levels; the weight of the prior is
    not in it.
    """

    alpha: float
    beta: float
    inspected: int = 0

    @property
    def mean(self) -> float:
        """The chance that the next part fails."""
        return self.alpha / (self.alpha + self.beta)

    @property
    def weight(self) -> float:
        """How many inspections the belief is worth."""
        return self.alpha + self.beta

    def spread(self, share: float = 0.9) -> tuple[float, float]:
        """The limits between which the chance lies with probability `share`.

        As much is left below as above. A chance that is certain (mean 0 or 1) has no spread.
        Raises KittingError unless `share` lies between 0 and 1.
        """
        if not 0.0 < share < 1.0:
            raise KittingError("a share lies between 0 and 1, not at {share}", share=share)
        tail = (1.0 - share) / 2
        # The upper limit by way of the mirror image: a small tail is then found as exactly there.
        low = beta_quantile(tail, self.alpha, self.beta)
        return low, 1.0 - beta_quantile(tail, self.beta, self.alpha)


def posterior(prior: Prior, *levels: Inspected) -> Belief:
    """Learn level by level, from the widest to the narrowest (kind, item, unit).

    The first level adds its findings to the prior. Each further one starts from the level before,
    at its mean but worth no more than POOL_WEIGHT inspections: other items of a kind are not this
    item. A narrow level without inspections of its own therefore has the mean of the wider one and
    less weight. An inspection belongs to one level only: what is counted for the item is left out
    of its kind.
    """
    alpha, beta = prior.mean * prior.weight, (1.0 - prior.mean) * prior.weight
    for number, found in enumerate(levels):
        if number:
            kept = min(1.0, POOL_WEIGHT / (alpha + beta))
            alpha, beta = alpha * kept, beta * kept
        alpha += found.failed
        beta += found.pieces - found.failed
    return Belief(alpha, beta, sum(found.pieces for found in levels))


def shifted(chance: float, *log_odds: float) -> float:
    """A chance with its log-odds moved by the sum of `log_odds` (figures as in SHIFTS).

    What is certain stays so. Raises KittingError for a chance outside 0 to 1.
    """
    if not 0.0 <= chance <= 1.0:
        raise KittingError("a chance lies between 0 and 1, not at {chance}", chance=chance)
    if chance in (0.0, 1.0):
        return chance
    moved = math.log(chance) - math.log1p(-chance) + math.fsum(log_odds)
    if moved >= 0.0:
        return 1.0 / (1.0 + math.exp(-moved))
    return math.exp(moved) / (1.0 + math.exp(moved))


def beta_below(x: float, alpha: float, beta: float) -> float:
    """The chance that a Beta(alpha, beta) is at most `x`: the regularised incomplete beta function.

    By its continued fraction (NIST Digital Library of Mathematical Functions, 8.17.22), taken on
    the side where it converges fast. Both parameters must be above 0.
    """
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    if x > (alpha + 1.0) / (alpha + beta + 2.0):
        return 1.0 - beta_below(1.0 - x, beta, alpha)
    log_front = (
        math.lgamma(alpha + beta) - math.lgamma(alpha) - math.lgamma(beta)
        + alpha * math.log(x) + beta * math.log1p(-x)
    )  # fmt: skip
    return math.exp(log_front) / (alpha * _fraction(x, alpha, beta))


def _fraction(x: float, alpha: float, beta: float) -> float:
    """1 + d₁/(1 + d₂/(1 + …)), from the front (the method of Lentz)."""
    tiny = 1e-300
    value = upper = 1.0
    lower = 0.0
    for step in range(1, 10_000):
        half = step // 2
        if step % 2:
            term = -(alpha + half) * (alpha + beta + half) * x
            term /= (alpha + 2 * half) * (alpha + 2 * half + 1)
        else:
            term = half * (beta - half) * x / ((alpha + 2 * half - 1) * (alpha + 2 * half))
        lower = 1.0 / (1.0 + term * lower or tiny)
        upper = 1.0 + term / upper or tiny
        value *= upper * lower
        if abs(upper * lower - 1.0) < 1e-15:
            return value
    raise KittingError(
        "no figure was found for Beta({alpha}, {beta}) at {value}", alpha=alpha, beta=beta, value=x
    )


@lru_cache(maxsize=4096)  # most items were inspected a few times: few beliefs differ
def beta_quantile(below: float, alpha: float, beta: float) -> float:
    """The value a Beta(alpha, beta) stays under with chance `below`, by bisection."""
    if alpha <= 0.0 or beta <= 0.0:
        return 0.0 if alpha <= 0.0 else 1.0
    low, high = 0.0, 1.0
    while high - low > 1e-15:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if beta_below(middle, alpha, beta) < below:
            low = middle
        else:
            high = middle
    return (low + high) / 2
