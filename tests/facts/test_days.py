"""Days as people write them: none is made up for a month or a year."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.errors import FigureError
from kitting.facts.days import parse_day

LESS = "and a day is needed; write the day only if it is on record"


def test_a_day_is_read() -> None:
    assert parse_day(" 2026-04-15 ") == date(2026, 4, 15)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("2016-02", f"'2016-02' is a month, {LESS}"),
        ("2016/2", f"'2016/2' is a month, {LESS}"),
        ("02.2016", f"'02.2016' is a month, {LESS}"),
        ("February 2016", f"'February 2016' is a month, {LESS}"),
        ("2016", f"'2016' is a year, {LESS}"),
        ("2026-02-30", "'2026-02-30' is no date of the calendar; check day and month"),
        ("2016-13", "'2016-13' is no date; write year-month-day, for example 2026-04-15"),
        ("14.02.2016", "'14.02.2016' is no date; write year-month-day, for example 2026-04-15"),
        ("soon", "'soon' is no date; write year-month-day, for example 2026-04-15"),
        (
            "0001-01-01",
            "'0001-01-01' is out of reason for a date: years 1885 to 2099 are known. Check the year",
        ),
    ],
)
def test_what_is_no_day_is_refused_with_its_cause(text: str, told: str) -> None:
    with pytest.raises(FigureError) as refused:
        parse_day(text)
    assert str(refused.value) == told
