"""Days of making: what is written on a packet is a period, and shelf life counts from its end."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.errors import FigureError
from kitting.facts.making import MakingDays, parse_made, parse_making_days, recorded_days


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("2Q18", date(2018, 6, 30)),
        ("1q24", date(2024, 3, 31)),
        ("4Q98", date(1998, 12, 31)),
        (" 3Q2021 ", date(2021, 9, 30)),
        ("2018-06", date(2018, 6, 30)),
        ("2024-02", date(2024, 2, 29)),
        ("2018-06-12", date(2018, 6, 12)),
    ],
)
def test_a_date_of_making_counts_from_the_last_day_of_what_is_written(
    written: str, day: date
) -> None:
    assert parse_made(written) == day


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("2018-02-30", "'2018-02-30' is no day or month of the calendar"),
        ("2018-13", "'2018-13' is no day or month of the calendar"),
        ("0018-06", "'0018-06' is of the year 18; check the year"),
        *(
            (
                written,
                f"{written!r} is no date of making;"
                " write for example '2Q18', '2018-06' or '2018-06-30'",
            )
            for written in ("5Q18", "2Q", "June 2018", "20180630", "2018-W26-6", "")
        ),
    ],
)
def test_other_texts_are_refused(written: str, reason: str) -> None:
    with pytest.raises(FigureError) as caught:
        parse_made(written)
    assert str(caught.value) == reason


@pytest.mark.parametrize(
    ("written", "first", "last"),
    [
        ("1Q25", date(2025, 1, 1), date(2025, 3, 31)),
        ("2024-02", date(2024, 2, 1), date(2024, 2, 29)),
        ("2018-06-12", date(2018, 6, 12), date(2018, 6, 12)),
    ],
)
def test_a_day_is_in_the_quarter_or_month_that_is_written(
    written: str, first: date, last: date
) -> None:
    days = parse_making_days(written)
    assert days == MakingDays(first, last)
    assert first in days
    assert last in days
    assert date.fromordinal(first.toordinal() - 1) not in days
    assert date.fromordinal(last.toordinal() + 1) not in days


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        (date(2025, 3, 31), "2025-01-01 to 2025-03-31"),
        (date(2025, 4, 30), "2025-04-01 to 2025-04-30"),
        (date(2025, 3, 30), "2025-03-30"),
        (date(2026, 1, 1), "2026-01-01"),
    ],
)
def test_a_last_day_on_record_may_stand_for_all_of_its_quarter_or_month(
    kept: date, said: str
) -> None:
    assert str(recorded_days(kept)) == said
