"""Times and speeds as people write them: "10 min", "23 h 59 min", "7 years", "1.5 m/min"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal

from kitting.errors import FigureError
from kitting.facts.units import LARGEST, split_figure, whole_thousandths

_HOURS = ("h", "hour", "hours")
_MINUTES = ("min", "minute", "minutes")
_DAYS = ("day", "days")
_NO_FIXED_DAYS = ("month", "months", "year", "years")
_IN_MINUTES: Mapping[str, int] = {
    **dict.fromkeys(_MINUTES, 1),
    **dict.fromkeys(_HOURS, 60),
    **dict.fromkeys(_DAYS, 1440),
}
# One figure with its unit: "23 h" of "23 h 59 min".
_PART = re.compile(r"\s{0,9}([0-9.]{1,16}\s{0,9}[A-Za-z]{1,9})\.?")


def _parts(text: str) -> tuple[str, ...]:
    """The figures with their units that a time is made of, or the text as it is."""
    found, end = [], 0
    while match := _PART.match(text, end):
        found.append(match[1])
        end = match.end()
    return tuple(found) if len(found) > 1 and not text[end:].strip() else (text,)


def _minutes(text: str, what: str, example: str) -> Iterator[tuple[Decimal, int]]:
    """The figure of each part of a time, and how many minutes its unit has.

    Raises FigureError for another unit, and for parts that do not go from large to small.
    """
    before = None
    for part in _parts(text):
        figure, unit = split_figure(part, what, example)
        factor = _IN_MINUTES.get(unit.casefold())
        if factor is None or (before is not None and factor >= before):
            raise FigureError(
                "{text!r} is no {what}; write for example {example}",
                text=text,
                what=what,
                example=example,
            )
        before = factor
        yield figure, factor


def parse_hours(text: str) -> int:
    """Working time in thousandths of an hour: "1.2 h"; minutes are rounded to the thousandth.

    Raises FigureError for another unit or a negative time.
    """
    example = "'1.2 h' or '45 min'"
    found = list(_minutes(text, "working time", example))
    if any(figure < 0 or factor > 60 for figure, factor in found):
        raise FigureError(
            "{text!r} is no working time; write for example {example}", text=text, example=example
        )
    value = sum((figure * 1000 * factor / 60 for figure, factor in found), Decimal(0))
    if found[-1][1] == 1:
        value = value.to_integral_value(rounding=ROUND_HALF_UP)
    return whole_thousandths(value, text, "an hour")


def parse_minutes(text: str) -> int:
    """A waiting time in whole minutes: "10 min", "24 h", "23 h 59 min"; FigureError for others."""
    example = "'10 min'"
    found = _minutes(text, "waiting time", "'10 min' or '1 h 30 min'")
    count = sum((figure * factor for figure, factor in found), Decimal(0))
    return _counted(text, count, "waiting time", "minutes, hours or days", example)


def _counted(text: str, count: Decimal, what: str, units: str, example: str) -> int:
    if not 0 < count <= LARGEST or count != count.to_integral_value():
        raise FigureError(
            "{text!r} is no {what}; write a whole number of {units}, for example {example}",
            text=text,
            what=what,
            units=units,
            example=example,
        )
    return int(count)


def _count_of(text: str, what: str, units: Mapping[str, int], example: str) -> int:
    figure, unit = split_figure(text, what, example)
    if unit.casefold() in _NO_FIXED_DAYS and unit.casefold() not in units:
        raise FigureError(
            "{text!r} is no {what}, for months and years have no fixed number of days; write days"
            " or weeks, for example {example}",
            text=text,
            what=what,
            example=example,
        )
    count = figure * units.get(unit.casefold(), 0)
    return _counted(text, count, what, " or ".join(list(units)[1::2]), example)


def parse_months(text: str) -> int:
    """A shelf life in whole months: "7 years", "18 months"; raises FigureError for others."""
    units = {"month": 1, "months": 1, "year": 12, "years": 12}
    return _count_of(text, "shelf life", units, "'7 years'")


def parse_days(text: str) -> int:
    """An opened life in whole days: "60 days", "8 weeks"; raises FigureError for others."""
    units = {"day": 1, "days": 1, "week": 7, "weeks": 7}
    return _count_of(text, "time in days", units, "'60 days'")


_SPEEDS: Mapping[str, Decimal] = {
    "m/min": Decimal(1_000),
    "cm/min": Decimal(10),
    "mm/min": Decimal(1),
    "mm/s": Decimal(60),
    "cm/s": Decimal(600),
}


def parse_speed(text: str) -> int:
    """How fast a bead is laid, in whole mm a minute: "1.5 m/min", "20 mm/s".

    Raises FigureError for another unit, for nothing or less, and for what is no whole millimetre.
    """
    figure, unit = split_figure(text, "speed", "'1.5 m/min'")
    value = figure * _SPEEDS.get(re.sub(r"\s", "", unit), Decimal(0))
    # Common practice, no source: nobody lays by hand at more than some metres a minute.
    if not 0 < value <= 20_000 or value != value.to_integral_value():
        raise FigureError(
            "{text!r} is no speed to lay a bead at; write for example '1.5 m/min'", text=text
        )
    return int(value)
