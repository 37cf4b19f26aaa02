"""Working days: which days a calendar is open, and counting by them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from kitting.errors import FigureError

# A calendar without an open day for longer than this is a mistake, not a holiday.
LONGEST_CLOSURE = 400


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """Open and closed days.

    `closed` gives single days with the reason, `weekend` the weekdays that are never worked,
    Monday being 0. Raises FigureError if `weekend` names no weekday or leaves none.
    """

    closed: Mapping[date, str] = field(default_factory=dict, hash=False)
    weekend: frozenset[int] = frozenset({5, 6})

    def __post_init__(self) -> None:
        if not self.weekend < frozenset(range(7)):
            raise FigureError(
                "weekend {weekend} must be some of 0 (Monday) to 6 (Sunday), not all",
                weekend=sorted(self.weekend),
            )

    def is_open(self, day: date) -> bool:
        """Whether the day is worked."""
        return day.weekday() not in self.weekend and day not in self.closed

    def next_open(self, day: date) -> date:
        """The first open day on or after a day; FigureError if there is none for 400 days."""
        return self._search(day, 1)

    def last_open(self, day: date) -> date:
        """The last open day on or before a day; FigureError if there was none for 400 days."""
        return self._search(day, -1)

    def add(self, day: date, days: int) -> date:
        """The day so many working days on; a closed day counts from the next open one.

        Negative `days` go back, also from the next open day. (The rule that numpy.busday_offset
        calls roll="forward".) Raises FigureError if 400 days together are closed.

        >>> WorkCalendar().add(date(2026, 4, 4), 1)  # from a Saturday: Monday, and a day on
        datetime.date(2026, 4, 7)
        """
        reached = self.next_open(day)
        step = 1 if days > 0 else -1
        for _ in range(abs(days)):
            reached = self._search(_moved(reached, step), step)
        return reached

    def between(self, first: date, last: date) -> int:
        """How many working days lie from `first` up to but not including `last`.

        So `between(day, add(day, n))` is n for an open day. With `last` before `first` it is
        minus the count after `last` up to and including `first`, as numpy.busday_count has it.

        >>> WorkCalendar().between(date(2026, 4, 2), date(2026, 4, 7))
        3
        """
        if last < first:
            return -self._count(last.toordinal() + 1, first.toordinal() + 1)
        return self._count(first.toordinal(), last.toordinal())

    def _count(self, start: int, stop: int) -> int:
        weeks, rest = divmod(stop - start, 7)
        weekday = (start + 6) % 7  # day 1 of the calendar is a Monday, which is 0
        worked = weeks * (7 - len(self.weekend))
        worked += sum((weekday + i) % 7 not in self.weekend for i in range(rest))
        return worked - sum(
            start <= day.toordinal() < stop and day.weekday() not in self.weekend
            for day in self.closed
        )

    def _search(self, day: date, step: int) -> date:
        reached = day
        for _ in range(LONGEST_CLOSURE):
            if self.is_open(reached):
                return reached
            reached = _moved(reached, step)
        way = "after" if step > 0 else "before"
        raise FigureError(
            "no open day within {most} days on or {way} {day:%d %b %Y}; check the calendar's"
            " closed days",
            most=LONGEST_CLOSURE,
            way=way,
            day=day,
        )


def _moved(day: date, step: int) -> date:
    try:
        return day + timedelta(days=step)
    except OverflowError as error:
        raise FigureError(
            "{day} is the end of the calendar; check the date", day=day.isoformat()
        ) from error
