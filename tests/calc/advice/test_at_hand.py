"""What is at hand for a car: by hand, and what may not raise it. All figures invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.calc.advice.at_hand import AtHand, Own, at_hand
from kitting.calc.stock.allocation import Lot
from kitting.facts.words import LotState

ON = date(2026, 4, 15)
NONE = Own({})
GOOD = Lot(1, 7, 5000, 2000)
SPOILT = (
    {"on_hold": True},
    {"expires": ON - timedelta(days=1)},
    {"age_known": False},
)


def test_what_others_are_promised_is_not_at_hand() -> None:
    assert at_hand([GOOD], NONE, ON) == AtHand(3000)


def test_a_lot_may_be_fitted_on_the_day_it_expires() -> None:
    assert at_hand([replace(GOOD, expires=ON)], NONE, ON) == AtHand(3000)
    assert at_hand([replace(GOOD, expires=ON - timedelta(days=1))], NONE, ON) == AtHand(0)


def test_nothing_of_a_lot_on_hold_is_at_hand() -> None:
    assert at_hand([replace(GOOD, on_hold=True)], NONE, ON) == AtHand(0)


def test_what_is_of_unknown_age_does_not_count_and_is_told() -> None:
    assert at_hand([replace(GOOD, age_known=False)], NONE, ON) == AtHand(0, unknown=3000)


def test_what_others_are_promised_of_a_lot_on_hold_is_met_from_the_rest() -> None:
    held = Lot(2, 7, 2000, 2000, on_hold=True)
    assert at_hand([GOOD, held], NONE, ON) == AtHand(1000)
    # What the booking itself waits for there asks nothing of the rest.
    assert at_hand([GOOD, held], Own({2: 2000}), ON) == AtHand(3000)


def test_what_the_booking_has_counts_if_it_may_be_fitted() -> None:
    own = Own(
        {1: 1500},
        [(LotState.GOOD, 400), (LotState.EXPIRED, 30), (LotState.AGE_UNKNOWN, 2),
         (LotState.ON_HOLD, 1)],
        coming=10_000,
    )  # fmt: skip
    assert at_hand([GOOD], own, ON) == AtHand(1500 + 3000 + 400 + 10_000, 10_000, 2)


def test_what_the_booking_has_stays_its_own_where_others_were_promised_too_much() -> None:
    held = Lot(2, 7, 9000, 9000, on_hold=True)
    assert at_hand([GOOD, held], Own({1: 1500}), ON) == AtHand(1500)


@st.composite
def lots(draw: st.DrawFn) -> list[Lot]:
    found = []
    for key in range(draw(st.integers(1, 4))):
        quantity = draw(st.integers(0, 6))
        change = draw(st.sampled_from([{}, *SPOILT]))
        promised = draw(st.integers(0, quantity))
        found.append(replace(Lot(key, 7, quantity * 1000, promised * 1000), **change))
    return found


@given(lots(), st.data())
def test_a_lot_that_is_spoilt_never_leaves_more_at_hand(
    there: list[Lot], data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(there) - 1))
    waiting = data.draw(st.integers(0, there[at].promised))
    own = Own({there[at].key: waiting})
    spoilt = list(there)
    spoilt[at] = replace(there[at], **data.draw(st.sampled_from(SPOILT)))
    if there[at].on_hold or there[at].expires:
        spoilt[at] = replace(spoilt[at], on_hold=True)
    assert at_hand(spoilt, own, ON).usable <= at_hand(there, own, ON).usable


@given(lots(), st.integers(1, 6))
def test_a_lot_more_never_leaves_less_at_hand(there: list[Lot], pieces: int) -> None:
    more = Lot(99, 7, pieces * 1000)
    assert at_hand([*there, more], NONE, ON).usable >= at_hand(there, NONE, ON).usable


@pytest.mark.parametrize("change", SPOILT)
def test_a_spoilt_lot_more_changes_nothing(change: dict[str, object]) -> None:
    more = replace(Lot(99, 7, 4000), **change)  # type: ignore[arg-type]
    assert at_hand([GOOD, more], NONE, ON).usable == 3000
