"""Days and times on the screen: by the locale, in English as they stand in the code."""

from __future__ import annotations

from datetime import date, datetime

from kitting.wording.figures import day
from kitting.wording.language import current


def day_text(value: date) -> str:
    """A day: "2026-04-15"."""
    return day(value)


def weekday(value: date) -> str:
    """A day with its weekday: "Wed 15 Apr"."""
    return _told(value, "%a %d %b", "MMMEd")


def whole_day(value: date) -> str:
    """A day with its weekday and year: "Wed 15 Apr 2026"."""
    return _told(value, "%a %d %b %Y", "yMMMEd")


def day_month(value: date) -> str:
    """A day without its year: "15 Apr"."""
    return _told(value, "%d %b", "MMMd")


def weekday_time(value: datetime) -> str:
    """A time with its weekday: "Wed 15 Apr 16:00"."""
    return f"{weekday(value)} {value:%H:%M}"


def whole_time(value: datetime) -> str:
    """A time with its weekday and year: "Wed 15 Apr 2026 16:00"."""
    return f"{whole_day(value)} {value:%H:%M}"


def moment(value: datetime) -> str:
    """A time with its date: "2026-04-15 16:00"."""
    return f"{day(value)} {value:%H:%M}"


def _told(value: date, source: str, skeleton: str) -> str:
    language = current()
    if language.is_source:
        return value.strftime(source)
    from babel.dates import format_skeleton

    return format_skeleton(skeleton, value, locale=language.tag.replace("-", "_"))
