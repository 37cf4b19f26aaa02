"""Variants: settled only when one option fits and no other can."""

from __future__ import annotations

from datetime import date

from kitting.calc.planning.variants import Open, OptionFacts, Settled, SplitFacts, settle
from kitting.facts.conditions import BuildDate, CarFacts, Equipment, OptionChosen, hold
from kitting.wording.reasons import say

CHANGE = date(2019, 6, 1)
BY_DATE = SplitFacts(
    1,
    1,
    "cooler",
    "Which cooler?",
    "Look at it.",
    (
        OptionFacts(10, "early", "Early", (BuildDate(before=CHANGE),)),
        OptionFacts(11, "late", "Late", (BuildDate(since=CHANGE),)),
    ),
)
BY_EQUIPMENT = SplitFacts(
    2,
    1,
    "drive",
    "Which pulley?",
    "Look at it.",
    (
        OptionFacts(20, "with", "With", (Equipment("air-conditioning"),)),
        OptionFacts(21, "without", "Without", (Equipment("air-conditioning", present=False),)),
    ),
)


def car(
    built: date | None = None, settled: dict[int, int] | None = None, *, ac: bool | None = None
) -> CarFacts:
    return CarFacts(built, {} if ac is None else {"air-conditioning": ac}, settled or {})


def told(answer: Settled | Open) -> tuple[int | None, str]:
    """The option that is settled, and why or why not in words."""
    return (answer.option if isinstance(answer, Settled) else None, say(answer.because))


def test_the_build_date_decides_and_the_day_of_the_change_is_late() -> None:
    assert told(settle(BY_DATE, car(date(2019, 5, 31)))) == (10, "built 2019-05-31")
    assert told(settle(BY_DATE, car(CHANGE))) == (11, "built 2019-06-01")


def test_an_unknown_build_date_leaves_it_open() -> None:
    assert told(settle(BY_DATE, car())) == (None, "the build date is not known")


def test_what_was_seen_at_the_car_goes_before_the_build_date() -> None:
    assert told(settle(BY_DATE, car(date(2021, 1, 1), {1: 10}))) == (10, "seen at the car")


def test_equipment_decides_both_ways_and_unlisted_equipment_is_unknown() -> None:
    assert told(settle(BY_EQUIPMENT, car(ac=True))) == (20, "with air-conditioning")
    assert told(settle(BY_EQUIPMENT, car(ac=False))) == (21, "without air-conditioning")
    assert told(settle(BY_EQUIPMENT, car())) == (
        None,
        "whether the car has air-conditioning is not known",
    )


def test_overlapping_options_stay_open() -> None:
    overlap = SplitFacts(
        3, 1, "x", "?", "Look.",
        (
            OptionFacts(1, "a", "A", (BuildDate(before=date(2020, 1, 1)),)),
            OptionFacts(2, "b", "B", (BuildDate(since=date(2019, 1, 1)),)),
        ),
    )  # fmt: skip
    assert told(settle(overlap, car(date(2019, 7, 1)))) == (
        None,
        "more than one option fits (built 2019-07-01)",
    )


def test_a_car_that_fits_no_option_stays_open_and_says_so() -> None:
    gap = SplitFacts(
        4, 1, "x", "?", "Look.",
        (
            OptionFacts(1, "a", "A", (BuildDate(before=date(2018, 1, 1)),)),
            OptionFacts(2, "b", "B", (BuildDate(since=date(2019, 1, 1)),)),
        ),
    )  # fmt: skip
    assert told(settle(gap, car(date(2018, 7, 1)))) == (
        None,
        "no option fits what is known of this car (built 2018-07-01)",
    )


def test_options_without_conditions_are_decided_only_by_a_look() -> None:
    sight = SplitFacts(
        5, 1, "x", "?", "Look.", (OptionFacts(1, "a", "A"), OptionFacts(2, "b", "B"))
    )
    assert told(settle(sight, car(date(2020, 1, 1)))) == (None, "only a look at the car decides")


def test_an_option_that_fits_is_not_settled_while_another_is_still_possible() -> None:
    half_known = SplitFacts(
        6, 1, "x", "?", "Look.",
        (
            OptionFacts(1, "a", "A", (BuildDate(since=CHANGE),)),
            OptionFacts(2, "b", "B", (Equipment("air-conditioning"),)),
        ),
    )  # fmt: skip
    late = date(2020, 1, 1)
    assert told(settle(half_known, car(late))) == (
        None, "whether the car has air-conditioning is not known",
    )  # fmt: skip
    assert told(settle(half_known, car(late, ac=False))) == (1, "built 2020-01-01")


def test_an_option_that_only_an_inspection_shows_keeps_the_others_from_being_settled() -> None:
    sight = SplitFacts(
        7, 1, "x", "?", "Look.",
        (OptionFacts(1, "a", "A", (BuildDate(since=CHANGE),)), OptionFacts(2, "b", "B")),
    )  # fmt: skip
    assert told(settle(sight, car(date(2020, 1, 1)))) == (None, "only a look at the car decides")


def test_an_option_with_two_conditions_needs_both() -> None:
    both = SplitFacts(
        8, 1, "x", "?", "Look.",
        (
            OptionFacts(1, "a", "A", (BuildDate(since=CHANGE), Equipment("tow-bar"))),
            OptionFacts(2, "b", "B", (Equipment("tow-bar", present=False),)),
        ),
    )  # fmt: skip
    with_bar = CarFacts(date(2020, 1, 1), {"tow-bar": True}, {})
    assert told(settle(both, with_bar)) == (1, "built 2020-01-01, with tow-bar")
    assert told(settle(both, CarFacts(None, {}, {}))) == (
        None, "the build date is not known and whether the car has tow-bar is not known",
    )  # fmt: skip
    early = CarFacts(date(2018, 1, 1), {"tow-bar": True}, {})
    assert told(settle(both, early)) == (
        None, "no option fits what is known of this car (built 2018-01-01, with tow-bar)",
    )  # fmt: skip


def test_a_part_of_one_option_is_taken_only_once_its_split_is_settled_so() -> None:
    condition = OptionChosen(split=1, option=10)
    assert condition.ask(car()).holds is None
    assert hold((condition,), car(settled={1: 10}))
    assert not hold((condition,), car(settled={1: 11}))
    assert not hold((condition,), car())
    assert hold((), car())


def test_an_option_of_which_only_one_condition_is_met_is_not_certain() -> None:
    split = SplitFacts(
        8, 1, "x", "?", "Look.",
        (OptionFacts(1, "a", "A", (BuildDate(since=CHANGE), Equipment("tow-bar"))),),
    )  # fmt: skip
    assert told(settle(split, car(date(2020, 1, 1)))) == (
        None, "whether the car has tow-bar is not known",
    )  # fmt: skip
