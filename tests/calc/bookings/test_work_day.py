"""Ramps, people and licences on a day: what does not fit, and what is not known (issue 15, 9)."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.bookings.work_day import (
    DayBooking,
    DayTechnician,
    LicenceAsked,
    WorkDay,
    at_once,
    load_of,
    remarks_of,
)
from kitting.wording.work_day import remark_text

ON = date(2026, 4, 15)
COLD = LicenceAsked("cold", "refrigerant handling", "step A7")


def one(number: str = "B1", **about: Any) -> DayBooking:
    """A booking of two hours at eight on ramp R1 by T1, but for what is named."""
    usual = {"ramp": "R1", "technicians": ("T1",), "starts": 480, "hours": 2000}
    return DayBooking(number, **{**usual, **about})


def day(*bookings: DayBooking, **about: Any) -> WorkDay:
    """A day of eight hours on R1, at which T1 and T2 work eight hours."""
    usual: dict[str, Any] = {
        "branch": "yard", "on": ON, "closed": False, "holiday": None, "ramps": {"R1": 8000},
        "technicians": {code: DayTechnician(8000, None, {}) for code in ("T1", "T2")},
    }  # fmt: skip
    return WorkDay(bookings=bookings, **{**usual, **about})


def told(*bookings: DayBooking, **about: Any) -> list[str]:
    """What is told of the first of some bookings."""
    return [remark_text(remark) for remark in remarks_of(day(*bookings, **about), bookings[0])]


def test_what_fits_says_nothing() -> None:
    assert told(one(), one("B2", starts=600)) == []


def test_hours_beyond_the_day_are_told_of_the_ramp_and_of_people() -> None:
    assert told(one(hours=5000), one("B2", starts=780, hours=4500)) == [
        "DAY: ramp R1: 9.5 h planned of 8 h, 1.5 h too many (B1, B2)",
        "DAY: technician T1: 9.5 h planned of 8 h, 1.5 h too many (B1, B2)",
    ]


def test_two_at_once_are_told_at_both_and_not_at_a_third() -> None:
    both = (one(), one("B2", starts=540), one("B3", starts=660, technicians=("T2",)))
    assert told(*both) == [
        "DAY: ramp R1: B1 and B2 at the same time",
        "DAY: technician T1: B1 and B2 at the same time",
    ]
    assert told(both[2], *both[:2]) == []


def test_unknown_hours_and_times_are_told_as_unknown() -> None:
    assert told(one(hours=None), one("B2", starts=None, technicians=("T2",))) == [
        "NOT KNOWN: ramp R1: hours of B1 on the day",
        "NOT KNOWN: ramp R1: whether B1 and B2 are at the same time (a time or hours not stated)",
        "NOT KNOWN: technician T1: hours of B1 on the day",
    ]


def test_who_of_two_does_how_much_is_not_known() -> None:
    shared = one(hours=6000, technicians=("T1", "T2"))
    assert told(shared, one("B2", starts=840, hours=3000, ramp=None)) == [
        "NOT KNOWN: technician T1: who does how much of B1 is not stated, and all of it is more"
        " than 8 h"
    ]


def test_nothing_stated_and_nothing_named_are_not_fine() -> None:
    assert told(one(ramp=None, technicians=())) == [
        "NOT KNOWN: no ramp and no technician named: room on the day"
    ]
    assert told(one(ramp=None, technicians=()), ramps={}, technicians={}) == [
        "NOT KNOWN: no ramp of yard is stated: room on the day",
        "NOT KNOWN: no technician of yard is stated: hours on the day",
    ]
    gone = told(one(ramp="R9", technicians=("T9",)))
    assert gone == [
        "NOT KNOWN: ramp R9 is not listed at yard: its room",
        "NOT KNOWN: technician T9 is not listed at yard: hours",
    ]
    stated = {"ramps": {"R1": None}, "technicians": {"T1": DayTechnician(None, None, {})}}
    assert told(one(), **stated) == [
        "NOT KNOWN: the hours of ramp R1 are not stated: its room",
        "NOT KNOWN: the hours of technician T1 on Wed 15 Apr are not stated",
    ]


def test_who_is_away_or_does_not_work_that_day_is_told() -> None:
    away = DayTechnician(8000, date(2026, 4, 17), {})
    assert told(one(), technicians={"T1": away}) == [
        "DAY: technician T1 is away on Wed 15 Apr, until 2026-04-17"
    ]
    assert told(one(), technicians={"T1": DayTechnician(0, None, {})}) == [
        "DAY: technician T1 does not work on Wed 15 Apr"
    ]


@pytest.mark.parametrize(
    ("held", "expected"),
    [
        ({"cold": ON}, []),  # valid on its last day
        (
            {"cold": date(2026, 4, 14)},
            [
                "DAY: refrigerant handling (step A7): the licence of T1 was valid until"
                " 2026-04-14; local rules decide who may"
            ],
        ),
        (
            {},
            [
                "DAY: refrigerant handling (step A7): T1 without that licence; local rules decide"
                " who may"
            ],
        ),
        (
            {"cold": None},
            ["NOT KNOWN: refrigerant handling (step A7): until when the licence of T1 is valid"],
        ),
    ],
)
def test_a_licence_has_to_be_valid_on_the_day(
    held: dict[str, date | None], expected: list[str]
) -> None:
    people = {"T1": DayTechnician(8000, None, held)}
    assert told(one(licences=(COLD,)), technicians=people) == expected


def test_one_of_several_with_the_licence_is_enough_and_nobody_named_is_unknown() -> None:
    people = {
        "T1": DayTechnician(8000, None, {}),
        "T2": DayTechnician(8000, None, {"cold": date(2027, 1, 1)}),
    }
    work = one(licences=(COLD,), technicians=("T1", "T2"))
    assert told(work, technicians=people) == []
    assert told(one(licences=(COLD,), technicians=()), technicians=people) == [
        "NOT KNOWN: no technician named: room on the day",
        "NOT KNOWN: refrigerant handling (step A7): whether who does it has the licence",
    ]


def test_what_is_closed_used_its_hours_and_stands_nowhere_any_more() -> None:
    assert told(one(hours=7000), one("B2", hours=3000, done=True)) == [
        "DAY: ramp R1: 10 h planned of 8 h, 2 h too many (B1, B2)",
        "DAY: technician T1: 10 h planned of 8 h, 2 h too many (B1, B2)",
    ]


BOOKINGS = st.builds(
    DayBooking,
    number=st.sampled_from(("B1", "B2", "B3")),
    ramp=st.just("R1"),
    technicians=st.sampled_from((("T1",), ("T1", "T2"))),
    starts=st.none() | st.integers(0, 40).map(lambda quarter: quarter * 15),
    hours=st.none() | st.integers(0, 24).map(lambda quarter: quarter * 250),
)


@examples(15, 500)
@given(BOOKINGS, BOOKINGS)
def test_at_once_is_what_counting_the_minutes_says(first: DayBooking, second: DayBooking) -> None:
    """The second route: every minute that each takes; of unknown hours none and all of them."""

    def minutes(booking: DayBooking, hours: int) -> set[int]:
        start = booking.starts or 0
        return set(range(start, start + hours * 60 // 1000))

    found = at_once(first, second)
    assert found == at_once(second, first)
    if first.starts is None or second.starts is None:
        assert found is None
        return
    ways = [
        bool(minutes(first, mine) & minutes(second, others))
        for mine in ((first.hours,) if first.hours is not None else (17, 24_000))
        for others in ((second.hours,) if second.hours is not None else (17, 24_000))
    ]
    assert found == (ways[0] if len(set(ways)) == 1 else None)


@examples(15, 200)
@given(st.lists(BOOKINGS, max_size=4))
def test_the_least_and_the_most_that_one_of_several_does(bookings: list[DayBooking]) -> None:
    load = load_of(bookings, shared=True)
    known = [one for one in bookings if one.hours is not None]
    assert load.most == sum(one.hours or 0 for one in known)
    assert load.least == sum(one.hours or 0 for one in known if len(one.technicians) == 1)
    assert len(load.unknown) == len(bookings) - len(known)
