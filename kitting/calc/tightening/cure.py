"""Curing: whether a car stands long enough after a joint is closed, and a bead is laid in time.

Times are whole minutes.
"""

from __future__ import annotations

from collections.abc import Iterable

from kitting.errors import FigureError
from kitting.facts.reasons import Reason, because
from kitting.facts.tightening_reasons import LayingRemark
from kitting.facts.units import Quantity
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


def laying(length: int, speed: int | None, open_minutes: int | None) -> Reason:
    """How the time that a bead takes stands to the open time of its product.

    `length` is in thousandths of a millimetre, `speed` in mm a minute (None: nobody states it).
    A bead that takes the whole open time leaves none to close the joint in, and is too long. Where
    nothing states the speed, the one that it has to exceed is told.
    """
    bead = Quantity(length, "mm")
    if open_minutes is None:
        return because(LayingRemark.OPEN_TIME_NOT_STATED, length=bead)
    if speed is None:
        least = Quantity(-(-length // (1000 * open_minutes)), "m/min")
        return because(
            LayingRemark.SPEED_NOT_STATED, length=bead, speed=least, minutes=open_minutes
        )
    takes = -(-length // (1000 * speed))
    code = LayingRemark.IN_TIME if length < 1000 * speed * open_minutes else LayingRemark.TOO_LONG
    return because(
        code, length=bead, speed=Quantity(speed, "m/min"), takes=takes, minutes=open_minutes
    )


def worst(verdicts: Iterable[CureVerdict]) -> CureVerdict:
    """The verdict of several products together: the worst of them; without any, nothing to set."""
    return min(verdicts, key=_WORST_FIRST.index, default=CureVerdict.NOTHING_TO_SET)
