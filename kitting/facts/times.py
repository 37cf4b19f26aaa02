"""Times of day as people write them: "8:30", "14:00"."""

from __future__ import annotations

import re

from kitting.errors import FigureError

_TIME = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")


def parse_time_of_day(text: str) -> str:
    """A time of day as it is kept, "08:30"; raises FigureError for anything else.

    >>> parse_time_of_day("8:30")
    '08:30'
    """
    match = _TIME.fullmatch(text.strip())
    if match is None:
        raise FigureError(
            "{text!r} is no time of day; write for example 8:30 or 14:00", text=text[:40]
        )
    return f"{int(match[1]):02}:{match[2]}"


def minutes_of(time: str) -> int:
    """Minutes from midnight of a time that is kept: 510 of "08:30"."""
    hours, _, minutes = time.partition(":")
    return int(hours) * 60 + int(minutes)
