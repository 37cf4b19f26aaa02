"""A job code that two units of a car describe: a booking says which unit it is of, and keeps it."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, load, shop
from kitting.actions import Action
from kitting.errors import UnknownNameError
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.change import Change
from kitting.services.bookings.kit_record import plan_of
from kitting.services.bookings.states import find_booking
from kitting.services.purchasing.booking_change import make_change
from kitting.services.purchasing.safe_dates import CarRequest, dates_unbooked
from kitting.store import reading
from kitting.views.bookings import BookingView

CAR = "PELL 001"
SECOND = """
units:
  - code: hare
    name: Hare
    joints:
      - code: cap
        name: cap
        system: engine
        fluids: [diesel]
        fits:
          - item: BOLT
            position: cap
            quantity: 3 each
            rules: [{rule: renew, source: workshop, reference: test}]
            tightening: {stages: [8 N·m], thread: dry, source: test}
    steps: [{code: S-CAP, name: cap off, hours: 1 h, opens: [cap]}]
    jobs: [{code: x1, name: cap, needs: [S-CAP]}]
vehicles: [{registration: PELL 001, model: pell, units: [grebe, hare]}]
"""


def needs(view: BookingView) -> dict[str, int]:
    return {need.item: need.needed for need in view.needs}


@pytest.fixture
def two(lite: Engine) -> Engine:
    """A car of which two units describe a job X1 (the second writes it small)."""
    load(lite, shop({"X1": {"RING": 2}, "X2": {"RING": 1}}))
    load(lite, SECOND)
    return lite


def test_the_unit_is_asked_for_and_stays_with_the_booking(two: Engine) -> None:
    with pytest.raises(UnknownNameError, match=r"more than one unit. Say grebe/X1 or hare/x1"):
        book(two, BookingRequest(CAR, ["X1"], ON, "yard"), NOW)
    first = book(two, BookingRequest(CAR, ["HARE/x1"], ON, "yard"), NOW)
    assert (first.jobs, needs(first)) == (("hare/x1",), {"BOLT": 3000})
    other = book(two, BookingRequest(CAR, ["grebe/X1", "X2"], ON, "yard"), NOW)
    assert (other.jobs, needs(other)) == (("grebe/X1", "X2"), {"RING": 3000})
    with reading(two) as session:
        again = plan_of(session, find_booking(session, first.number))
        asked = dates_unbooked(session, CarRequest(CAR, ["grebe/x1"], "yard"), NOW)
    assert [job.code for job in again.jobs] == ["hare/x1"]
    assert [one.booking for one in asked.booked] == [other.number]


def test_a_booking_of_two_jobs_of_one_code_keeps_both(two: Engine) -> None:
    both = book(two, BookingRequest(CAR, ["hare/X1", "grebe/X1"], ON, "yard"), NOW)
    assert needs(both) == {"BOLT": 3000, "RING": 2000}
    change = Change(drop=("hare/x1",))
    assert make_change(two, both.number, change, NOW).after.jobs == ("grebe/X1",)


def test_a_job_that_a_second_unit_has_by_now_is_told_with_the_way_to_say_which(
    lite: Engine,
) -> None:
    load(lite, shop({"X1": {"RING": 2}}))
    number = book(lite, BookingRequest(CAR, ["X1"], ON, "yard"), NOW).number
    load(lite, SECOND)
    with reading(lite) as session, pytest.raises(UnknownNameError) as told:
        plan_of(session, find_booking(session, number))
    assert str(told.value) == (
        f"job 'X1' of {number} is described by more than one unit by now. Say which it is:"
        " grebe/X1 or hare/x1"
    )
    (step,) = told.value.then
    assert step.action is Action.SAY_UNIT
    assert dict(step.values) == {"booking": number, "job": "X1", "unit_job": "grebe/X1"}
    make_change(lite, number, Change(add=("grebe/X1",), drop=("X1",)), NOW)
    with reading(lite) as session:
        found = plan_of(session, find_booking(session, number))
    assert [job.code for job in found.jobs] == ["grebe/X1"]
    assert {line.item for line in found.lines} == {"RING"}
