"""Days as people write them: "2026-04-15", and what is said of what is none."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

from kitting.errors import FigureError
from kitting.facts.bounds import possible_day

SHOWN = 40
_NO_DATE = "no date; write year-month-day, for example 2026-04-15"
_NO_SUCH_DAY = "no date of the calendar; check day and month"
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# What says less than a day, as it is written.
_LESS: Mapping[str, re.Pattern[str]] = {
    "a year": re.compile(r"(?:19|20)[0-9]{2}"),
    "a month": re.compile(
        r"(?:19|20)[0-9]{2}[-/.](?:0?[1-9]|1[0-2])|(?:0?[1-9]|1[0-2])[-/.](?:19|20)[0-9]{2}"
        r"|[^\W\d_]{3,12}\.?[ -]?(?:19|20)[0-9]{2}"
    ),
}


def parse_day(text: str) -> date:
    """A day as 2026-04-15, of a year in which a workshop has to do with it.

    Raises FigureError for anything else: a month is no day, and none is made up for it.
    """
    written = text.strip()
    try:
        found = date.fromisoformat(written)
    except ValueError as error:
        raise FigureError(
            "{written!r} is {no_day}", written=written[:SHOWN], no_day=no_day(written)
        ) from error
    return possible_day(found)


def no_day(text: str) -> str:
    """What a text is that is no day, and what to write.

    >>> no_day("2016-02")
    'a month, and a day is needed; write the day only if it is on record'
    """
    if _DAY.fullmatch(text):
        return _NO_SUCH_DAY
    less = says_less(text)
    if less is None:
        return _NO_DATE
    return f"{less}, and a day is needed; write the day only if it is on record"


def says_less(text: str) -> str | None:
    """ "a month" or "a year" where a text says that and no day; else None."""
    return next((what for what, one in _LESS.items() if one.fullmatch(text.strip())), None)
