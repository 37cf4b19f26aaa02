"""Variants: settled only when one option fits and no other can."""

from __future__ import annotations

from datetime import date

from kitting.calc.planning.variants import CarFacts, Open, OptionFacts, Settled, SplitFacts, settle

CHANGE = date(2019, 6, 1)
BY_DATE = SplitFacts(
    1,
    1,
    "cooler",
    "Which cooler?",
    "Look at it.",
    (
        OptionFacts(10, "early", "Early", built_before=CHANGE),
        OptionFacts(11, "late", "Late", built_from=CHANGE),
    ),
)
BY_EQUIPMENT = SplitFacts(
    2,
    1,
    "drive",
    "Which pulley?",
    "Look at it.",
    (
        OptionFacts(20, "with", "With", equipment="air-conditioning"),
        OptionFacts(21, "without", "Without", without="air-conditioning"),
    ),
)


def car(
    built: date | None = None, settled: dict[int, int] | None = None, *, ac: bool | None = None
) -> CarFacts:
    return CarFacts(built, {} if ac is None else {"air-conditioning": ac}, settled or {})


def test_the_build_date_decides_and_the_day_of_the_change_is_late() -> None:
    assert settle(BY_DATE, car(date(2019, 5, 31))) == Settled(10, "built 2019-05-31")
    assert settle(BY_DATE, car(CHANGE)) == Settled(11, "built 2019-06-01")


def test_an_unknown_build_date_leaves_it_open() -> None:
    assert settle(BY_DATE, car()) == Open("the build date is not known")


def test_what_was_seen_at_the_car_goes_before_the_build_date() -> None:
    assert settle(BY_DATE, car(date(2021, 1, 1), {1: 10})) == Settled(10, "seen at the car")


def test_equipment_decides_both_ways_and_unlisted_equipment_is_unknown() -> None:
    assert settle(BY_EQUIPMENT, car(ac=True)) == Settled(20, "with air-conditioning")
    assert settle(BY_EQUIPMENT, car(ac=False)) == Settled(21, "without air-conditioning")
    assert settle(BY_EQUIPMENT, car()) == Open("whether the car has air-conditioning is not known")


def test_overlapping_options_stay_open() -> None:
    overlap = SplitFacts(
        3, 1, "x", "?", "Look.",
        (
            OptionFacts(1, "a", "A", built_before=date(2020, 1, 1)),
            OptionFacts(2, "b", "B", built_from=date(2019, 1, 1)),
        ),
    )  # fmt: skip
    assert settle(overlap, car(date(2019, 7, 1))) == Open(
        "more than one option fits (built 2019-07-01)"
    )


def test_a_car_that_fits_no_option_stays_open_and_says_so() -> None:
    gap = SplitFacts(
        4, 1, "x", "?", "Look.",
        (
            OptionFacts(1, "a", "A", built_before=date(2018, 1, 1)),
            OptionFacts(2, "b", "B", built_from=date(2019, 1, 1)),
        ),
    )  # fmt: skip
    assert settle(gap, car(date(2018, 7, 1))) == Open(
        "no option fits what is known of this car (built 2018-07-01)"
    )


def test_options_without_conditions_are_decided_only_by_a_look() -> None:
    sight = SplitFacts(
        5, 1, "x", "?", "Look.", (OptionFacts(1, "a", "A"), OptionFacts(2, "b", "B"))
    )
    assert settle(sight, car(date(2020, 1, 1))) == Open("only a look at the car decides")
