"""Curing: whether a car stands long enough after a joint is closed. Times are whole minutes."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.errors import FigureError
from kitting.facts.words import CureVerdict

# The worst first: what is not known is never taken for enough, what is too short stays so.
_WORST_FIRST = tuple(CureVerdict)


def stands(cure: int | None, parked: int) -> CureVerdict:
    """Whether a product that cures for so long has done so while the car is parked.

    `cure` None means that nobody states it. Raises FigureError for a time that is not above zero.

    >>> stands(1440, 180)
    'not enough'
    """
    if parked <= 0 or (cure is not None and cure <= 0):
        raise FigureError("a waiting time must be more than zero")
    if cure is None:
        return CureVerdict.UNKNOWN
    return CureVerdict.ENOUGH if parked >= cure else CureVerdict.NOT_ENOUGH


def worst(verdicts: Iterable[CureVerdict]) -> CureVerdict:
    """The verdict of several products together: the worst of them; without any, nothing to set."""
    return min(verdicts, key=_WORST_FIRST.index, default=CureVerdict.NOTHING_TO_SET)
