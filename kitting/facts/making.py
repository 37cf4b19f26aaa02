"""Days of making: a cure quarter, a month or a day, as it is printed on a packet."""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from kitting.errors import FigureError

_QUARTER = re.compile(r"([1-4])Q([0-9]{2}|[0-9]{4})", re.IGNORECASE)
_MONTH = re.compile(r"([0-9]{4})-([0-9]{2})")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
# Two figures of a year from here on are of the last century; other years are slips of the pen.
_CENTURY = 70
_YEARS = range(1900 + _CENTURY, 2000 + _CENTURY)
_IN_QUARTER = 3  # months


@dataclass(frozen=True, slots=True)
class MakingDays:
    """The days on which something may have been made, both counted."""

    first: date
    last: date

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def __str__(self) -> str:
        return str(self.first) if self.first == self.last else f"{self.first} to {self.last}"


def parse_made(text: str) -> date:
    """The day from which shelf life counts, the last of the period written.

    Reads a quarter ("2Q18"), a month ("2018-06") or a day ("2018-06-30"). That a cure quarter
    counts from its last day is as in ARP5316, from memory. Raises FigureError for anything else.

    >>> parse_made("2Q18")
    datetime.date(2018, 6, 30)
    """
    return parse_making_days(text).last


def parse_making_days(text: str) -> MakingDays:
    """The period that is written, of which `parse_made` takes the last day; raises as it does.

    >>> str(parse_making_days("2Q18"))
    '2018-04-01 to 2018-06-30'
    """
    written = text.strip()
    try:
        made = _period(written)
    except ValueError as error:
        raise FigureError(
            "{written!r} is no day or month of the calendar", written=written
        ) from error
    if made is None:
        raise FigureError(
            "{text!r} is no date of making; write for example '2Q18', '2018-06' or '2018-06-30'",
            text=text[:40],
        )
    if made.last.year not in _YEARS:
        raise FigureError(
            "{written!r} is of the year {year}; check the year",
            written=written,
            year=made.last.year,
        )
    return made


def recorded_days(made: date) -> MakingDays:
    """What a day on record may stand for: a quarter or a month is kept as its last day.

    >>> str(recorded_days(date(2018, 6, 30)))
    '2018-04-01 to 2018-06-30'
    """
    if made != _month_end(made.year, made.month):
        return MakingDays(made, made)
    months = _IN_QUARTER if made.month % _IN_QUARTER == 0 else 1
    return MakingDays(date(made.year, made.month - months + 1, 1), made)


def _period(written: str) -> MakingDays | None:
    if quarter := _QUARTER.fullmatch(written):
        return _months(_full_year(quarter[2]), _IN_QUARTER * int(quarter[1]), _IN_QUARTER)
    if month := _MONTH.fullmatch(written):
        return _months(int(month[1]), int(month[2]), 1)
    if not _DAY.fullmatch(written):
        return None
    day = date.fromisoformat(written)
    return MakingDays(day, day)


def _months(year: int, last: int, count: int) -> MakingDays:
    end = _month_end(year, last)
    return MakingDays(date(year, last - count + 1, 1), end)


def _full_year(text: str) -> int:
    if len(text) == 4:
        return int(text)
    return int(text) + (1900 if int(text) >= _CENTURY else 2000)


def _month_end(year: int, month: int) -> date:
    return date(year, month, 1).replace(day=monthrange(year, month)[1])
