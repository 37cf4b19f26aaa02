"""How long orders may wait: kept, the chance holds; a cut-off later it would not."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from math import prod

from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.purchasing.delivery import LeadTime, Terms, chance_by, next_cutoff
from kitting.calc.purchasing.last_cutoffs import last_cutoffs
from kitting.calc.purchasing.workdays import WorkCalendar

NOW = datetime.fromisoformat("2026-04-02T15:20")
CLOSED = WorkCalendar({date(2026, 4, 3): "Good Friday", date(2026, 4, 6): "Easter Monday"})


def terms(typical: int, late: int, *cutoffs: str) -> Terms:
    return Terms(tuple(map(time.fromisoformat, cutoffs)), CLOSED, LeadTime(typical, late))


def test_the_worked_example_of_a_holiday_weekend() -> None:
    """Invented terms, counted by hand: closed on Friday 3 and Monday 6 April."""
    same_day = terms(0, 1, "10:30", "15:30")
    # For Thursday with 50 %: today's last cut-off, in ten minutes.
    assert last_cutoffs(NOW, [same_day], NOW.date(), 0.5) == (datetime(2026, 4, 2, 15, 30),)  # noqa: DTZ001
    # For Wednesday 8 with 90 %: a working day before, at its last cut-off.
    assert last_cutoffs(NOW, [same_day], date(2026, 4, 8), 0.9) == (
        datetime(2026, 4, 7, 15, 30),  # noqa: DTZ001
    )
    # After today's cut-off nothing comes today any more.
    late = NOW.replace(hour=15, minute=30)
    assert last_cutoffs(late, [same_day], NOW.date(), 0.5) is None


def test_nothing_ordered_is_sure_by_itself_and_a_chance_is_asked_for() -> None:
    assert last_cutoffs(NOW, [], NOW.date(), 0.9) == ()
    assert last_cutoffs(NOW, [terms(0, 1, "16:00")], date(2026, 4, 20), 0.0) is None


orders = st.builds(
    lambda usual, more, cutoffs: terms(usual, usual + more, *cutoffs),
    st.integers(0, 4),
    st.integers(0, 3),
    st.sampled_from([("10:30",), ("12:00",), ("10:30", "15:30"), ("16:00",)]),
)


@given(
    st.lists(orders, min_size=1, max_size=3),
    st.integers(0, 15),
    st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]),
    st.sampled_from(["2026-04-02T08:00", "2026-04-02T15:20", "2026-04-04T11:00"]),
)
def test_kept_the_chance_holds_and_no_single_order_could_wait_longer(
    some: list[Terms], days: int, wanted: float, at: str
) -> None:
    now = datetime.fromisoformat(at)
    by = now.date() + timedelta(days=days)
    last = last_cutoffs(now, some, by, wanted)
    at_once = prod(chance_by(now, one, by) for one in some)
    if last is None:
        assert at_once < wanted
        return
    minute = timedelta(minutes=1)
    kept = [chance_by(cutoff - minute, one, by) for cutoff, one in zip(last, some, strict=True)]
    assert prod(kept) >= wanted - 1e-9
    for place, (cutoff, one) in enumerate(zip(last, some, strict=True)):
        assert cutoff > now
        missed = next_cutoff(cutoff, one) - minute
        others = prod(kept[:place]) * prod(kept[place + 1 :])
        assert others * chance_by(missed, one, by) < wanted
