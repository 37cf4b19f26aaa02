"""Public holidays by country; how a country is closed is the `holidays` package's word."""

from __future__ import annotations

from datetime import date

import pytest

from kitting.errors import FigureError
from kitting.facts.public_holidays import country_closures

GOOD_FRIDAY = date(2026, 4, 3)
EASTER_MONDAY = date(2026, 4, 6)
# Easter Sunday by the ecclesiastical rule, as in published tables (from memory).
EASTER = {2024: date(2024, 3, 31), 2025: date(2025, 4, 20), 2026: date(2026, 4, 5)}


def test_england_is_closed_from_good_friday_to_easter_monday() -> None:
    closed = country_closures("GB", "ENG", [2026])
    assert closed[GOOD_FRIDAY] == "Good Friday"
    assert closed[EASTER_MONDAY] == "Easter Monday"
    assert list(closed) == sorted(closed)


@pytest.mark.parametrize("country", ["GB", "DE", "FR", "NO"])
def test_countries_that_keep_easter_monday_are_closed_the_day_after_easter(country: str) -> None:
    closed = country_closures(country, None if country != "GB" else "ENG", EASTER)
    assert {date.fromordinal(sunday.toordinal() + 1) for sunday in EASTER.values()} <= set(closed)


def test_scotland_works_on_easter_monday_and_rests_on_st_andrews_day() -> None:
    # Bank holidays of Scotland as its government lists them (from memory).
    closed = country_closures("gb", "sct", [2026])
    assert EASTER_MONDAY not in closed
    assert date(2026, 11, 30) in closed


def test_names_are_english_where_the_package_has_them() -> None:
    assert country_closures("DEU", "BY", [2026])[EASTER_MONDAY] == "Easter Monday"
    assert country_closures("FR", None, [2026])[date(2026, 5, 1)] == "Labor Day"


def test_only_the_years_asked_for_are_given() -> None:
    assert {day.year for day in country_closures("GB", "ENG", iter([2027, 2025]))} == {2025, 2027}
    assert country_closures("GB", "ENG", []) == {}


@pytest.mark.parametrize(
    ("country", "subdivision", "reason"),
    [
        (
            "Germany",
            None,
            "'Germany' is no country code of ISO 3166-1 with known holidays."
            " Near: DE (Germany), GG (Guernsey)",
        ),
        (
            "GBX",
            None,
            "'GBX' is no country code of ISO 3166-1 with known holidays. Near: GB, VGB, GNB",
        ),
        (
            "Q9",
            None,
            "'Q9' is no country code of ISO 3166-1 with known holidays."
            " Write two letters, for example GB, DE or FR",
        ),
        ("GB", "ENGL", "'ENGL' is no part of GB with holidays of its own. Near: ENG"),
        (
            "GB",
            "Q9",
            "'Q9' is no part of GB with holidays of its own. Near: ENG, NIR, SCT, WLS",
        ),
        (
            "JM",
            "Q9",
            "'Q9' is no part of JM with holidays of its own."
            " It has none; leave the subdivision out",
        ),
    ],
)
def test_an_unknown_place_is_refused_with_near_ones(
    country: str, subdivision: str | None, reason: str
) -> None:
    with pytest.raises(FigureError) as caught:
        country_closures(country, subdivision, [2026])
    assert str(caught.value) == reason
