"""Deliveries: cut-offs and holidays of the supplier, lead times with their chances."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.purchasing.delivery import (
    WORD_COUNTS_AS,
    LeadTime,
    Terms,
    arrival,
    before,
    chance_by,
    day_zero,
    next_cutoff,
    order_by,
)
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import FigureError

# The worked example: an order on the Thursday before Easter 2026. Days checked by hand.
EASTER = WorkCalendar({date(2026, 4, 3): "Good Friday", date(2026, 4, 6): "Easter Monday"})
P = Terms((time(16),), EASTER, LeadTime(1, 1))
Q = Terms((time(12),), EASTER, LeadTime(3, 5))
NOW = datetime.fromisoformat("2026-04-02T14:20")
TUESDAY, FRIDAY = date(2026, 4, 7), date(2026, 4, 10)
LATE_TUESDAY = date(2026, 4, 14)


def at(text: str) -> datetime:
    """A local time of the supplier."""
    return datetime.fromisoformat(text)


def test_before_the_cut_off_one_day_over_easter_is_tuesday() -> None:
    assert day_zero(NOW, P) == date(2026, 4, 2)
    assert arrival(NOW, P, P.lead.typical) == TUESDAY


def test_after_the_cut_off_three_days_are_friday_and_five_the_tuesday_after() -> None:
    assert day_zero(NOW, Q) == TUESDAY
    assert arrival(NOW, Q, Q.lead.typical) == FRIDAY
    assert arrival(NOW, Q, Q.lead.late) == LATE_TUESDAY


@pytest.mark.parametrize(
    ("now", "zero"),
    [
        ("2026-04-02T15:59:59", date(2026, 4, 2)),
        ("2026-04-02T16:00", TUESDAY),
        ("2026-04-02T16:05", TUESDAY),
        ("2026-04-03T09:00", TUESDAY),
        ("2026-04-05T09:00", TUESDAY),
    ],
)
def test_a_cut_off_missed_before_a_holiday_weekend_is_the_next_working_day(
    now: str, zero: date
) -> None:
    assert day_zero(at(now), P) == zero


def test_the_last_of_several_cut_offs_decides_and_the_next_is_announced() -> None:
    terms = replace(P, cutoffs=(time(16), time(10, 30)))
    assert day_zero(at("2026-04-02T11:00"), terms) == date(2026, 4, 2)
    assert next_cutoff(at("2026-04-02T10:00"), terms) == at("2026-04-02T10:30")
    assert next_cutoff(at("2026-04-02T10:30"), terms) == at("2026-04-02T16:00")
    assert next_cutoff(at("2026-04-02T16:00"), terms) == at("2026-04-07T10:30")
    assert next_cutoff(at("2026-04-04T08:00"), terms) == at("2026-04-07T10:30")


def test_a_time_zone_is_kept_in_the_next_cut_off() -> None:
    assert next_cutoff(NOW.replace(tzinfo=UTC), P) == at("2026-04-02T16:00+00:00")


def test_to_arrive_on_friday_three_days_are_ordered_by_tuesday_noon() -> None:
    assert order_by(Q, FRIDAY, Q.lead.typical) == at("2026-04-07T12:00")
    assert order_by(Q, FRIDAY, Q.lead.late) == at("2026-04-01T12:00")


def test_to_arrive_by_a_holiday_it_has_to_arrive_before_it() -> None:
    assert order_by(P, date(2026, 4, 6), 1) == at("2026-04-01T16:00")


DAYS = st.dates(date(2026, 3, 15), date(2026, 5, 1))
CALENDARS = st.builds(
    WorkCalendar,
    st.dictionaries(DAYS, st.just("closed")),
    st.frozensets(st.integers(0, 6), max_size=5),
)
TERMS = st.builds(
    Terms,
    st.lists(st.times(), min_size=1, max_size=3).map(tuple),
    CALENDARS,
    st.tuples(st.integers(0, 6), st.integers(0, 6)).map(
        lambda ends: LeadTime(min(ends), max(ends))
    ),
)


@given(TERMS, DAYS, st.integers(0, 8))
def test_an_order_before_its_cut_off_is_in_time_and_one_at_it_is_not(
    terms: Terms, by: date, days: int
) -> None:
    cutoff = order_by(terms, by, days)
    assert arrival(cutoff, terms, days) > by
    if cutoff.time() > time(0):
        assert arrival(cutoff - timedelta(microseconds=1), terms, days) <= by


@given(TERMS, st.datetimes(at("2026-03-15"), at("2026-05-01")), st.integers(0, 12))
def test_the_chance_by_the_day_of_arrival_is_that_of_its_lead_time(
    terms: Terms, now: datetime, days: int
) -> None:
    due = arrival(now, terms, days)
    assert chance_by(now, terms, due) == terms.lead.chance(days)
    before = due - timedelta(days=1)
    assert chance_by(now, terms, before) == (terms.lead.chance(days - 1) if days else 0.0)


@pytest.mark.parametrize(
    ("by", "chance"),
    [
        (date(2026, 4, 2), 0.0),
        (date(2026, 4, 9), 0.0),
        (FRIDAY, 0.5),
        (date(2026, 4, 12), 0.5),
        (LATE_TUESDAY, 0.9),
    ],
)
def test_the_chance_by_a_day_counts_the_suppliers_days(by: date, chance: float) -> None:
    assert chance_by(NOW, Q, by) == pytest.approx(chance)


@pytest.mark.parametrize(
    ("lead", "chances"),
    [
        # 1 − ½·⅕^((d − 3)/2): 0.5, 1 − 0.5/√5, 0.9, 1 − 0.1/√5, 0.98
        (LeadTime(3, 5), [0, 0, 0, 0.5, 0.776393, 0.9, 0.955279, 0.98]),
        (LeadTime(1, 2), [0, 0.5, 0.9, 0.98, 0.996]),
        (LeadTime(1, 1), [0, 0.9, 0.98, 0.996]),
        (LeadTime(0, 0), [0.9, 0.98, 0.996]),
    ],
)
def test_the_model_goes_through_half_at_typical_and_nine_tenths_at_late(
    lead: LeadTime, chances: list[float]
) -> None:
    assert [lead.chance(d) for d in range(len(chances))] == pytest.approx(chances, abs=1e-6)


RECEIPTS = (2, 2, 3, 3, 3, 3, 4, 4, 5, 9)


def test_receipts_and_the_suppliers_word_count_together() -> None:
    """By hand: of ten, six by day 3, nine by day 5. Spans of 6, 3 and 1 of the stated ½, ⅖, ⅒."""
    lead, stated = LeadTime(3, 5, RECEIPTS), (0.5, 0.4, 0.1)
    likely = [
        math.prod(math.gamma(s * q + n) / math.gamma(s * q)
                  for q, n in zip(stated, (6, 3, 1), strict=True))
        * math.gamma(s) / math.gamma(s + 10)
        for s in WORD_COUNTS_AS
    ]  # fmt: skip
    for days, quick, said in [(2, 2, 0.0), (3, 6, 0.5), (5, 9, 0.9), (9, 10, 1 - 0.5 * 0.2**3)]:
        expected = sum(
            w / sum(likely) * (quick + s * said) / (10 + s)
            for s, w in zip(WORD_COUNTS_AS, likely, strict=True)
        )
        assert lead.chance(days) == pytest.approx(expected)


@pytest.mark.parametrize("stated", [(1, 1), (1, 2), (3, 5), (0, 0)])
@pytest.mark.parametrize("late", [False, True])
def test_p7_ten_of_ten_punctual_receipts_are_no_refusal(
    stated: tuple[int, int], late: bool
) -> None:
    """By the day that is its late one: about 94 to 99 % at the price of no ceiling."""
    typical, latest = stated
    took = [typical + (latest - typical) * (late and one % 2) for one in range(10)]
    lead = LeadTime(typical, latest, tuple(took))
    assert 0.935 <= lead.chance(latest) <= 0.99
    assert lead.chance(35) > 0.9999
    assert lead.quantile(0.95) <= latest + 1
    assert lead.quantile(0.999) < 20


def test_who_does_not_keep_its_word_is_soon_not_taken_at_it() -> None:
    """Two days are stated, five came after four each."""
    lead = LeadTime(1, 2, (4,) * 5)
    assert lead.chance(2) < 0.5 < 0.95 < lead.chance(4)
    assert LeadTime(1, 2, (4,) * 50).chance(2) < 0.1


def test_the_order_of_receipts_is_nothing() -> None:
    assert LeadTime(3, 5, RECEIPTS[::-1]) == LeadTime(3, 5, RECEIPTS)


@pytest.mark.parametrize(
    ("p", "days"), [(0.01, 3), (0.5, 3), (0.51, 4), (0.9, 5), (0.91, 6), (0.98, 7)]
)
def test_a_quantile_is_the_first_day_that_is_sure_enough(p: float, days: int) -> None:
    assert LeadTime(3, 5).quantile(p) == days


@given(
    st.tuples(st.integers(0, 30), st.integers(0, 30)).map(sorted),
    st.lists(st.integers(0, 30), max_size=15),
    st.floats(0.001, 0.9),
)
def test_chances_rise_and_the_quantile_is_where_they_first_suffice(
    ends: list[int], observed: list[int], p: float
) -> None:
    lead = LeadTime(ends[0], ends[1], tuple(observed))
    chances = [lead.chance(d) for d in range(60)]
    assert chances == sorted(chances)
    assert chances[0] >= 0
    assert chances[-1] <= 1
    days = lead.quantile(p)
    assert lead.chance(days) >= p - 1e-9
    assert days == 0 or lead.chance(days - 1) < p


@pytest.mark.parametrize("p", [0.0, 1.0, 1.5, float("nan")])
def test_certainty_is_not_to_be_had(p: float) -> None:
    with pytest.raises(FigureError, match="must lie between 0 and 1"):
        LeadTime(3, 5).quantile(p)


@pytest.mark.parametrize("lead", [(5, 3, ()), (-1, 3, ()), (3, 5, (-1,))])
def test_lead_times_that_cannot_be_are_refused(lead: tuple[int, int, tuple[int, ...]]) -> None:
    with pytest.raises(FigureError, match="days are never negative"):
        LeadTime(*lead)


def test_an_unknown_cut_off_is_not_guessed() -> None:
    with pytest.raises(FigureError, match="no cut-off time is known"):
        Terms((), EASTER, LeadTime(1, 1))


def test_negative_days_are_refused() -> None:
    with pytest.raises(FigureError, match="a lead time of -1 days is negative"):
        order_by(P, FRIDAY, -1)


def test_one_receipt_before_it_was_ordered_is_refused_beside_others() -> None:
    with pytest.raises(FigureError, match="days are never negative"):
        LeadTime(1, 1, (3, -1))


def test_what_misses_the_cut_off_counts_from_the_very_next_working_day() -> None:
    wednesday = date(2026, 4, 15)
    assert day_zero(at("2026-04-14T16:00"), P) == wednesday
    assert next_cutoff(at("2026-04-14T16:00"), P) == at("2026-04-15T16:00")


def test_of_the_hour_that_runs_twice_only_its_own_cut_offs_are_past() -> None:
    again = at("2026-10-25T01:10").replace(fold=1)
    assert before(again.replace(fold=0), time(1, 30))
    assert not before(again, time(1, 30))
    assert before(again, time(3))
    assert not before(again, time(0, 30))


def test_what_comes_on_a_closed_day_of_the_branch_is_here_on_its_next_open_day() -> None:
    """A supplier that works on Good Friday and Easter Monday; the branch does neither."""
    abroad = Terms((time(16),), WorkCalendar({}), LeadTime(1, 2))
    here = replace(abroad, receiving=EASTER)
    assert (arrival(NOW, abroad, 1), arrival(NOW, abroad, 2)) == (
        date(2026, 4, 3),
        date(2026, 4, 6),
    )
    assert (arrival(NOW, here, 1), arrival(NOW, here, 2)) == (TUESDAY, TUESDAY)
    assert chance_by(NOW, here, date(2026, 4, 6)) == chance_by(NOW, here, date(2026, 4, 2))
    assert chance_by(NOW, here, TUESDAY) == chance_by(NOW, abroad, TUESDAY)
