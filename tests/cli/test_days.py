"""Days, times and counts on the screen by the locale."""

from __future__ import annotations

from datetime import UTC, date, datetime

from kitting.cli.render import amounts, days
from kitting.wording.language import find_language, speaking

DAY, TIME = date(2026, 4, 15), datetime(2026, 4, 15, 16, 5, tzinfo=UTC)


def test_in_english_a_day_stands_as_in_the_code() -> None:
    with speaking(find_language("en")):
        assert days.weekday(DAY) == "Wed 15 Apr"
        assert days.whole_day(DAY) == "Wed 15 Apr 2026"
        assert days.day_month(DAY) == "15 Apr"
        assert days.weekday_time(TIME) == "Wed 15 Apr 16:05"
        assert days.moment(TIME) == "2026-04-15 16:05"
        assert amounts.counted(12500) == "12,500"
        assert amounts.rounded(18_911, "ml") == "18.9 ml"


def test_in_german_it_is_written_as_there() -> None:
    """By Unicode CLDR, as Babel has it."""
    with speaking(find_language("de")):
        assert days.weekday(DAY) == "Mi., 15. Apr."
        assert days.whole_day(DAY) == "Mi., 15. Apr. 2026"
        assert days.day_month(DAY) == "15. Apr."
        assert days.weekday_time(TIME) == "Mi., 15. Apr. 16:05"
        assert amounts.counted(12500) == "12.500"
        assert amounts.rounded(18_911, "ml") == "18,9 ml"
