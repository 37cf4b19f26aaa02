"""Working days of branches and suppliers: public holidays, and closing days of their own."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.facts.public_holidays import country_closures
from kitting.tables.supply import Branch

_AHEAD = 2  # years of holidays read beyond this one


def branch_calendar(branch: Branch, now: datetime) -> WorkCalendar:
    """The working days of a branch."""
    return calendar_of(branch.country, branch.subdivision, {}, now)


def calendar_of(
    country: str | None, subdivision: str | None, closed: Mapping[date, str], now: datetime
) -> WorkCalendar:
    """The working days of a country or a part of it, closed on further days with the reason."""
    holidays: dict[date, str] = {}
    if country is not None:
        years = range(now.year - 1, now.year + _AHEAD + 1)
        holidays = country_closures(country, subdivision, years)
    return WorkCalendar(closed={**holidays, **closed})
