"""Working days: compared with numpy's business days over random calendars."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.purchasing.workdays import LONGEST_CLOSURE, WorkCalendar
from kitting.errors import FigureError

DAYS = st.dates(date(2025, 1, 1), date(2027, 12, 31))
CALENDARS = st.builds(
    WorkCalendar,
    st.dictionaries(DAYS | st.dates(date(2026, 3, 20), date(2026, 4, 20)), st.just("closed")),
    st.frozensets(st.integers(0, 6), max_size=6),
)
NEAR_EASTER = st.dates(date(2026, 3, 15), date(2026, 4, 25))
EASTER = WorkCalendar({date(2026, 4, 3): "Good Friday", date(2026, 4, 6): "Easter Monday"})


def numpy_calendar(calendar: WorkCalendar) -> np.busdaycalendar:
    """The same calendar as numpy has it."""
    mask = [weekday not in calendar.weekend for weekday in range(7)]
    return np.busdaycalendar(mask, [np.datetime64(day) for day in calendar.closed])


@given(CALENDARS, DAYS | NEAR_EASTER, st.integers(-40, 40))
def test_adding_days_equals_numpy_rolling_forward(
    calendar: WorkCalendar, day: date, days: int
) -> None:
    expected = np.busday_offset(
        np.datetime64(day), days, roll="forward", busdaycal=numpy_calendar(calendar)
    )
    assert calendar.add(day, days) == expected.item()


@given(CALENDARS, DAYS | NEAR_EASTER, DAYS | NEAR_EASTER)
def test_counting_days_equals_numpy_in_both_directions(
    calendar: WorkCalendar, first: date, last: date
) -> None:
    expected = np.busday_count(
        np.datetime64(first), np.datetime64(last), busdaycal=numpy_calendar(calendar)
    )
    assert calendar.between(first, last) == expected


@given(CALENDARS, DAYS | NEAR_EASTER)
def test_a_day_is_open_as_numpy_has_it(calendar: WorkCalendar, day: date) -> None:
    expected = bool(np.is_busday(np.datetime64(day), busdaycal=numpy_calendar(calendar)))
    assert calendar.is_open(day) is expected


@given(CALENDARS, DAYS | NEAR_EASTER)
def test_the_last_open_day_is_numpys_roll_backward(calendar: WorkCalendar, day: date) -> None:
    expected = np.busday_offset(
        np.datetime64(day), 0, roll="backward", busdaycal=numpy_calendar(calendar)
    )
    assert calendar.last_open(day) == expected.item()


@given(CALENDARS, NEAR_EASTER, st.integers(0, 40))
def test_counting_undoes_adding_from_an_open_day(
    calendar: WorkCalendar, day: date, days: int
) -> None:
    start = calendar.next_open(day)
    assert calendar.between(start, calendar.add(start, days)) == days


def test_open_days_around_easter() -> None:
    assert EASTER.next_open(date(2026, 4, 3)) == date(2026, 4, 7)
    assert EASTER.next_open(date(2026, 4, 2)) == date(2026, 4, 2)
    assert EASTER.last_open(date(2026, 4, 6)) == date(2026, 4, 2)


def shut(days: int) -> WorkCalendar:
    """A calendar that is shut for so many days from 1 January 2026, weekends worked."""
    first = date(2026, 1, 1)
    return WorkCalendar({first + timedelta(days=i): "shut" for i in range(days)}, frozenset())


def test_a_closure_just_short_of_the_longest_is_bridged() -> None:
    calendar = shut(LONGEST_CLOSURE - 1)
    assert calendar.next_open(date(2026, 1, 1)) == date(2027, 2, 4)
    assert calendar.last_open(date(2027, 2, 3)) == date(2025, 12, 31)


def test_a_longer_closure_is_an_error_and_not_a_date() -> None:
    calendar = shut(LONGEST_CLOSURE)
    with pytest.raises(FigureError) as caught:
        calendar.next_open(date(2026, 1, 1))
    assert str(caught.value) == (
        "no open day within 400 days on or after 01 Jan 2026; check the calendar's closed days"
    )
    with pytest.raises(FigureError, match="on or before 04 Feb 2027"):
        calendar.last_open(date(2027, 2, 4))
    with pytest.raises(FigureError, match="no open day within 400 days"):
        calendar.add(date(2025, 12, 31), 1)


def test_the_end_of_the_calendar_is_an_error_of_ours() -> None:
    with pytest.raises(FigureError, match="9999-12-31 is the end of the calendar"):
        WorkCalendar().add(date.max, 1)


@pytest.mark.parametrize("weekend", [frozenset(range(7)), frozenset({7})])
def test_a_week_without_work_or_with_an_eighth_day_is_refused(weekend: frozenset[int]) -> None:
    with pytest.raises(FigureError, match=r"must be some of 0 \(Monday\) to 6 \(Sunday\)"):
        WorkCalendar({}, weekend)


def test_a_calendar_can_be_kept_in_a_set_whatever_days_are_closed() -> None:
    closed = {date(2026, 4, 3): "Good Friday"}
    assert {WorkCalendar(closed), WorkCalendar(dict(closed))} == {WorkCalendar(closed)}
