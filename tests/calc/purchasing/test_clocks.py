"""Cut-offs by the supplier's own clock, over both changes of the clock.

Changes of the clock in 2026, from the IANA time zone database: in the European Union and the United
Kingdom on 29 March and 25 October at 01:00 UTC, in New York on 8 March at 02:00 local time.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from examples import examples
from hypothesis import example, given
from hypothesis import strategies as st

from kitting.calc.purchasing.delivery import LeadTime, Terms, day_zero, next_cutoff, order_by
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import FigureError
from kitting.facts.time_zones import Clock, instant, zone_of

LONDON, BERLIN, NEW_YORK, TOKYO = (
    "Europe/London", "Europe/Berlin", "America/New_York", "Asia/Tokyo",
)  # fmt: skip
EVERY_DAY = WorkCalendar(weekend=frozenset())


def at(text: str, fold: int = 0) -> datetime:
    return datetime.fromisoformat(text).replace(fold=fold)


def terms(cutoff: str, here: str | None, there: str | None, calendar: WorkCalendar) -> Terms:
    return Terms((time.fromisoformat(cutoff),), calendar, LeadTime(1, 1), Clock(here, there))


@pytest.mark.parametrize(
    ("here", "there", "now", "cutoff", "left"),
    [
        # Three in the afternoon in Berlin is two in London.
        (LONDON, BERLIN, "2026-04-02T13:30", "2026-04-02T14:00", 30),
        (LONDON, BERLIN, "2026-04-02T14:30", "2026-04-03T14:00", 23 * 60 + 30),
        # New York changed three weeks before: four hours apart instead of five.
        (LONDON, NEW_YORK, "2026-03-20T12:00", "2026-03-20T19:00", 7 * 60),
        (LONDON, NEW_YORK, "2026-04-20T12:00", "2026-04-20T20:00", 8 * 60),
        # In Tokyo it is the next day already.
        (LONDON, TOKYO, "2026-01-12T20:00", "2026-01-13T06:00", 10 * 60),
        # Across a change of the clock an hour less, or more, really passes.
        (LONDON, LONDON, "2026-03-28T16:00", "2026-03-29T15:00", 22 * 60),
        (LONDON, LONDON, "2026-10-24T16:00", "2026-10-25T15:00", 24 * 60),
        # What is not stated runs as the other; where neither is, no clock jumps.
        (LONDON, None, "2026-03-28T16:00", "2026-03-29T15:00", 22 * 60),
        (None, BERLIN, "2026-03-28T16:00", "2026-03-29T15:00", 22 * 60),
        (None, None, "2026-03-28T16:00", "2026-03-29T15:00", 23 * 60),
    ],
)
def test_p17_a_cut_off_is_by_the_suppliers_clock_and_the_minutes_are_real(
    here: str | None, there: str | None, now: str, cutoff: str, left: int
) -> None:
    own = terms("15:00", here, there, EVERY_DAY)
    assert next_cutoff(at(now), own) == at(cutoff)
    assert own.clock.minutes(at(now), at(cutoff)) == left


def test_a_day_counts_by_the_suppliers_calendar() -> None:
    """Sunday evening in London is Monday morning in Tokyo; Friday afternoon is Saturday there."""
    there = terms("15:00", LONDON, TOKYO, WorkCalendar())
    assert day_zero(at("2026-01-11T20:00"), there) == date(2026, 1, 12)
    assert day_zero(at("2026-01-09T16:00"), there) == date(2026, 1, 12)
    assert order_by(there, date(2026, 1, 13), 1) == at("2026-01-12T06:00")


def test_a_time_that_is_left_out_is_the_moment_of_the_jump() -> None:
    """02:30 of 29 March 2026 does not exist in Berlin: the clock jumps at 01:00 UTC."""
    jump = datetime(2026, 3, 29, 1, tzinfo=UTC)
    assert {instant(at("2026-03-29T02:30", fold), BERLIN) for fold in (0, 1)} == {jump}
    own = terms("02:30", LONDON, BERLIN, EVERY_DAY)
    assert next_cutoff(at("2026-03-29T00:20"), own) == at("2026-03-29T02:00")
    assert own.clock.minutes(at("2026-03-29T00:20"), at("2026-03-29T02:00")) == 40


def test_a_time_that_comes_twice_is_the_first() -> None:
    """02:30 of 25 October 2026 comes twice in Berlin, at 00:30 and at 01:30 UTC."""
    assert instant(at("2026-10-25T02:30"), BERLIN) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert instant(at("2026-10-25T02:30", 1), BERLIN) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    own = terms("02:30", TOKYO, BERLIN, EVERY_DAY)
    assert next_cutoff(at("2026-10-25T09:20"), own) == at("2026-10-25T09:30")
    # In the second run it is past.
    assert next_cutoff(at("2026-10-25T10:20"), own) == at("2026-10-26T10:30")


zones = st.sampled_from([LONDON, BERLIN, NEW_YORK, TOKYO, "Australia/Lord_Howe", "Pacific/Apia"])


@examples(15, 500)
@given(st.datetimes(datetime(2024, 1, 1), datetime(2028, 1, 1)), zones, zones)  # noqa: DTZ001
@example(datetime(2024, 4, 6, 15), "Australia/Lord_Howe", LONDON)  # noqa: DTZ001 - an hour that comes twice
def test_there_and_back_is_the_same_moment(moment: datetime, here: str, there: str) -> None:
    """As the library has it, through UTC."""

    def on_the_wall(at: datetime) -> datetime:
        return at.replace(tzinfo=UTC).astimezone(zone_of(here)).replace(tzinfo=None)

    wall, later = on_the_wall(moment), on_the_wall(moment + timedelta(minutes=90))
    clock = Clock(here, there)
    assert instant(wall, here) == moment.replace(tzinfo=UTC)
    assert clock.at_branch(clock.at_supplier(wall)) == wall
    assert clock.minutes(wall, later) == 90


def test_a_zone_that_nobody_knows_is_refused() -> None:
    with pytest.raises(FigureError, match=r"no time zone.*Did you mean .*Europe/London"):
        zone_of("Europe/Londn")
    for odd in ("", "../etc/passwd", "Europe/", "a" * 300):
        with pytest.raises(FigureError, match="no time zone"):
            zone_of(odd)
