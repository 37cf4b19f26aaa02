"""What the work uses up has to be in the kit like a part: nobody closes over it without a word."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, SUPPLY, booked, load, stock, unit
from kitting.actions import Action
from kitting.facts.reasons import RefusedError
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.exchange import exchange
from kitting.services.bookings.pick import pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.store import reading
from kitting.views.bookings import Lack

NOTHING = Closing({}, {})
ITEMS = """
  - {code: FLUID, name: Fluid, kind: brake-fluid, unit: ml, pack: 500 ml, alternatives: [{item: OIL, note: none}]}
  - {code: OIL, name: Oil, kind: engine-oil, unit: ml, pack: 500 ml}
"""
STEP = "\n      - {code: S1, name: S, hours: 1 h, uses: [{item: FLUID, amount: 300 ml}]}"
FLUID = "yard,FLUID,F,500 ml,,2028-01-01"
OIL = "yard,OIL,O,500 ml,,2028-01-01"


def fluid_job(engine: Engine, folder: Path, *rows: str) -> str:
    """A booking of a job that uses 300 ml of a fluid and opens nothing."""
    joint = (
        "\n      - code: x1\n        name: X1\n        system: engine"
        "\n        fits:\n          - {item: BOLT, position: a}"
    )
    job = "\n      - {code: X1, name: X1, needs: [S1]}"
    load(engine, unit(joint, STEP, job, ITEMS) + SUPPLY)
    stock(engine, folder, *rows)
    return booked(engine, "X1").number


def to_the_ramp(engine: Engine, number: str, reason: str | None = None) -> None:
    step_to(engine, number, BookingState.CONFIRMED, reason)
    assert step_to(engine, number, BookingState.ON_THE_RAMP, reason).state == "on the ramp"


def refused(engine: Engine, number: str) -> RefusedError:
    with pytest.raises(RefusedError) as caught:
        close(engine, number, NOTHING, NOW)
    return caught.value


def test_a_fluid_that_was_never_picked_stops_the_closing(store: Engine, tmp_path: Path) -> None:
    number = fluid_job(store, tmp_path, FLUID)
    to_the_ramp(store, number)
    error = refused(store, number)
    assert [reason.code for reason in error.reasons] == [Lack.NOTHING_TO_USE]
    assert [step.action for step in error.then] == [Action.PICK, Action.CLOSE_DESPITE]
    pick(store, number, NOW)
    assert close(store, number, NOTHING, NOW).override is None


def test_it_is_closed_without_a_fluid_for_a_reason_that_stays(lite: Engine, tmp_path: Path) -> None:
    number = fluid_job(lite, tmp_path, FLUID)
    to_the_ramp(lite, number)
    assert close(lite, number, NOTHING, NOW, "filled from the drum").override == (
        "filled from the drum"
    )


def test_a_reason_given_before_excuses_a_missing_fluid_as_it_does_a_part(
    lite: Engine, tmp_path: Path
) -> None:
    number = fluid_job(lite, tmp_path)
    to_the_ramp(lite, number, "the customer brings it")
    assert close(lite, number, NOTHING, NOW).override == "the customer brings it"


def test_what_stood_in_for_a_fluid_does_not_count_after_it_was_exchanged_back(
    store: Engine, tmp_path: Path
) -> None:
    number = fluid_job(store, tmp_path, FLUID, OIL)
    exchange(store, number, "FLUID", "OIL")
    pick(store, number, NOW)
    exchange(store, number, "FLUID", "FLUID")
    with reading(store) as session:
        view = booking_view(session, find_booking(session, number))
    assert [(need.item, need.needed, need.picked) for need in view.needs] == [
        ("FLUID", 300_000, 0), ("OIL", 0, 300_000),
    ]  # fmt: skip
    to_the_ramp(store, number)
    assert [r.code for r in refused(store, number).reasons] == [Lack.NOTHING_TO_USE]
