"""Curing: whether a car stands long enough after a joint is closed. Times are whole minutes."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.errors import FigureError

# The worst first: what is not known is never taken for enough, what is too short stays so.
VERDICTS = ("not enough", "unknown", "enough")
_HOUR, _DAY = 60, 1440


def stands(cure: int | None, parked: int) -> str:
    """Whether a product that cures for so long has done so while the car is parked; see VERDICTS.

    `cure` None means that nobody states it. Raises FigureError for a time that is none.

    >>> stands(1440, 180)
    'not enough'
    """
    if parked <= 0 or (cure is not None and cure <= 0):
        raise FigureError("a time to wait is more than nothing")
    if cure is None:
        return "unknown"
    return "enough" if parked >= cure else "not enough"


def worst(verdicts: Iterable[str]) -> str:
    """The verdict of several products together: the worst of them; there must be one."""
    return min(verdicts, key=VERDICTS.index)


def show_minutes(minutes: int) -> str:
    """A time to wait to read: "10 min", "1 h 30 min", "24 h", "7 days".

    >>> show_minutes(1440)
    '24 h'
    """
    if minutes > _DAY and minutes % _DAY == 0:
        return f"{minutes // _DAY} days"
    hours, left = divmod(minutes, _HOUR)
    return " ".join(
        part for part in (f"{hours} h" if hours else "", f"{left} min" if left else "") if part
    )
