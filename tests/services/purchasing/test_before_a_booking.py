"""Before a booking exists: which day, and how sure, are answered as a booking would be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import Engine, func, select

from helpers import NOW, counted, listed, load, priced, shop
from kitting.actions import Action, next_step
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.reasons import Reason
from kitting.facts.words import DateState
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.weighed_case import Work, work_of_booking
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.unbooked import names_a_car
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.open_doubts import lasting
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.purchase_unbooked import buy_unbooked
from kitting.services.purchasing.safe_dates import (
    BookedRequest,
    CarRequest,
    dates,
    dates_booked,
    dates_unbooked,
)
from kitting.services.stock.stock_lists import load_stock
from kitting.store import reading
from kitting.tables.bookings import Booking
from kitting.views.bookings import Lack
from kitting.views.possible_dates import DatesView
from kitting.views.purchasing import PurchaseView

CAR = "PELL 117"
TUESDAY = date(2026, 4, 7)  # the first working day after the demo's today
LATER = date(2026, 4, 20)
HEADING = "branch,item,lot,quantity,made,expires"


def asked(engine: Engine, *jobs: str, branch: str | None = "upper", **more: object) -> DatesView:
    with reading(engine) as session:
        return dates_unbooked(session, CarRequest(CAR, jobs, branch, **more), NOW, 0.95, 3)  # type: ignore[arg-type]


def of(engine: Engine, number: str) -> DatesView:
    with reading(engine) as session:
        return dates(session, [number], NOW, 0.95, 3)


def test_what_is_booked_already_is_told(garage: Engine) -> None:
    """Asked on the phone for two jobs of which one is in an open booking of the car."""
    booking = book(garage, BookingRequest(CAR, ["J2"], TUESDAY, "upper", again=True), NOW)
    expected = [("J2", booking.number, TUESDAY)]
    found = asked(garage, "J1", "J2").booked
    assert [(one.job, one.booking, one.on) for one in found if one.on == TUESDAY] == expected
    with reading(garage) as session:
        sure = completion_chance(session, Work(CAR, ("J1", "J2"), TUESDAY, "upper"), NOW, 0.95)
    assert sure.booked == found
    assert asked(garage, "J3").booked == ()
    assert of(garage, booking.number).booked == ()


@pytest.mark.parametrize("seed", [1, 2])
def test_the_answer_before_a_booking_is_the_one_after_it(
    lite_garage: Engine, tmp_path: Path, seed: int
) -> None:
    """Shelves, goods on their way and lots of unknown age, less and less free with each booking."""
    engine, rng = lite_garage, Random(seed)
    loose = ("RING-FKM-17X2.5", "RING-EPDM-17X2", "SEAL-CALIPER-PISTON", "SEAL-COOLER-LATE")
    rows = [f"upper,{item},X{seed},{rng.randrange(1, 5)} each" for item in loose]
    load_stock(engine, [listed(tmp_path, HEADING, *rows)], NOW)
    ordered = {"SEAL-INTAKE": 3, "RING-FKM-66X3": 2, "SEAL-CRANK-FRONT": 1, "HOSE-HEATER": 1}
    place_by_hand(engine, HandOrder("ombrith", ordered, "upper"), NOW)
    for _ in range(4):
        jobs = sorted(rng.sample([f"J{number}" for number in range(1, 8)], rng.randrange(1, 4)))
        branch = rng.choice(["upper", "upper", "canal"])
        on = rng.choice([TUESDAY, date(2026, 4, 9), date(2026, 4, 20)])
        before = asked(engine, *jobs, branch=branch, first=on)
        with reading(engine) as session:
            sure = completion_chance(session, Work(CAR, jobs, on, branch), NOW)
        number = book(engine, BookingRequest(CAR, jobs, on, branch, again=True), NOW).number
        with reading(engine) as session:
            after = dates(session, [number], NOW, 0.95, 15)
            told = completion_chance(session, work_of_booking(session, number), NOW)
        assert (before.car, before.jobs, before.bookings) == (CAR, tuple(jobs), ())
        assert {one.booking for one in before.doubts} <= {None}
        assert [one.doubt for one in before.doubts] == [one.doubt for one in after.doubts]
        days = {day.on: day for day in after.dates}
        assert before.dates == tuple(days[day.on] for day in before.dates)
        assert replace(sure, doubts=(), booked=()) == replace(told, doubts=())
        assert sure.doubts == lasting(told.doubts)


def test_with_nothing_promised_every_word_of_the_answer_is_the_same(garage: Engine) -> None:
    before = asked(garage, "J1", "J2", branch="canal")
    number = book(garage, BookingRequest(CAR, ["J1", "J2"], TUESDAY, "canal"), NOW).number
    after = of(garage, number)
    nobody = tuple(replace(one, booking=None) for one in after.doubts)
    assert before == replace(after, bookings=(), car=CAR, jobs=("J1", "J2"), doubts=nobody)


def test_a_free_lot_of_unknown_age_makes_no_date_safe_as_it_would_not_be_once_it_is_promised(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 2}}))
    load_stock(lite, [listed(tmp_path, HEADING, "yard,RING,A,9 each")], NOW)
    with reading(lite) as session:
        view = dates_unbooked(session, CarRequest("pell001", ["X1"], "yard"), NOW, days=2)
    reasons: list[Reason] = [one.doubt.because for one in view.doubts]
    assert [reason.code for reason in reasons] == [Lack.AGE_UNKNOWN]
    assert {day.state for day in view.dates} == {DateState.NOT_PROVEN}
    assert not view.safe


def test_nothing_is_written_and_no_more_is_read_than_for_a_booking(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 2, "BOLT": 1}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each", "P-B,BOLT,1.00 GBP,1 each")
    with counted(lite) as sent, reading(lite) as session:
        dates_unbooked(session, CarRequest("PELL 001", ["X1"], "yard"), NOW)
    assert {text.split()[0] for text in sent} <= {"BEGIN", "SELECT", "WITH"}
    assert len(sent) < 40
    with reading(lite) as session:
        assert session.scalar(select(func.count()).select_from(Booking)) == 0


def test_dates_begin_with_the_first_working_day_that_is_asked_about(lite_garage: Engine) -> None:
    view = asked(lite_garage, "J1", first=date(2026, 4, 18))
    assert [day.on.day for day in view.dates] == [20, 21, 22]
    with pytest.raises(KittingError, match="2026-03-01 is past; name a day from 2026-04-02 on"):
        asked(lite_garage, "J1", first=date(2026, 3, 1))


def test_an_open_variant_is_told_before_a_day_is_promised(lite_garage: Engine) -> None:
    with (
        reading(lite_garage) as session,
        pytest.raises(KittingError, match="PELL 042 cannot be booked for these jobs yet"),
    ):
        dates_unbooked(session, CarRequest("PELL 042", ["J2"], "upper"), NOW)
    with pytest.raises(UnknownNameError, match="J99"):
        asked(lite_garage, "J99")


def test_a_word_is_a_car_unless_it_is_the_number_of_a_booking(lite_garage: Engine) -> None:
    book(lite_garage, BookingRequest(CAR, ["J1"], TUESDAY, "upper"), NOW)
    with reading(lite_garage) as session:
        found = {word: names_a_car(session, word) for word in (
            "PELL 117", "pell-117", "pell117", "b0001", "1", "PEL 117", "PEL117",
        )}  # fmt: skip
    assert found == {
        "PELL 117": True, "pell-117": True, "pell117": True, "b0001": False, "1": False,
        "PEL 117": True, "PEL117": False,
    }  # fmt: skip


def test_dates_of_a_booking_begin_with_any_day_too(lite_garage: Engine) -> None:
    number = book(lite_garage, BookingRequest(CAR, ["J1"], TUESDAY, "upper"), NOW).number
    with reading(lite_garage) as session:
        asked_for = BookedRequest([number], date(2026, 4, 18))
        view = dates_booked(session, asked_for, NOW, 0.95, 3)
        assert [day.on.day for day in view.dates] == [20, 21, 22]
        assert view.bookings == (number,)
        with pytest.raises(KittingError, match="2026-03-01 is past"):
            dates_booked(session, BookedRequest([number], date(2026, 3, 1)), NOW)


def test_what_would_be_bought_is_told_before_there_is_a_booking(garage: Engine) -> None:
    with reading(garage) as session:
        before = buy_unbooked(session, CarRequest(CAR, ["J1", "J2"], "canal", LATER), NOW)
    number = book(garage, BookingRequest(CAR, ["J1", "J2"], LATER, "canal"), NOW).number
    with reading(garage) as session:
        after = buy(session, [number], NOW)
    assert (before.bookings, before.car, before.jobs) == ((), CAR, ("J1", "J2"))
    assert before.total == after.total is not None
    assert (before.chance, before.lacking) == (after.chance, after.lacking)

    def lines(view: PurchaseView) -> list[tuple[str, str, int]]:
        return [(p.supplier, one.part, one.packs) for p in view.parcels for one in p.lines]

    assert lines(before) == lines(after)
    with reading(garage) as session, pytest.raises(KittingError, match="2026-03-01 is past"):
        buy_unbooked(session, CarRequest(CAR, ["J1"], "upper", date(2026, 3, 1)), NOW)


def test_jobs_on_a_model_are_answered_without_a_car(lite: Engine, tmp_path: Path) -> None:
    """All that the answer takes is the unit: nothing of the car itself is asked for."""
    load(lite, shop({"X1": {"RING": 2, "BOLT": 1}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each", "P-B,BOLT,1.00 GBP,1 each")
    with reading(lite) as session:
        of_car = dates_unbooked(session, CarRequest("PELL 001", ["X1"], "yard"), NOW)
        of_model = dates_unbooked(session, CarRequest("", ["X1"], "yard", model="pell"), NOW)
        sure = completion_chance(session, Work("", ["X1"], LATER, "yard", model="pell"), NOW)
        bought = buy_unbooked(session, CarRequest("", ["X1"], "yard", LATER, "pell"), NOW)
        with pytest.raises(UnknownNameError, match=r"model 'pel': unknown name. Did you mean pell"):
            dates_unbooked(session, CarRequest("", ["X1"], "yard", model="pel"), NOW)
        with pytest.raises(UnknownNameError, match="no job 'X9' for any "):
            dates_unbooked(session, CarRequest("", ["X9"], "yard", model="pell"), NOW)
    assert of_model == replace(of_car, car=of_model.car)
    assert of_model.car is not None
    assert of_model.car.startswith("any ")
    assert sure.vehicle == of_model.car == bought.car
    assert bought.total is not None


def test_a_variant_of_a_model_asks_for_the_car(lite_garage: Engine) -> None:
    with (
        reading(lite_garage) as session,
        pytest.raises(
            KittingError, match=r"for these jobs the car has to be known: .*cooler"
        ) as no,
    ):
        dates_unbooked(session, CarRequest("", ["J2"], "upper", model="pell"), NOW)
    settled = [
        next_step(Action.ADD_CAR, model="pell"),
        next_step(Action.SETTLE_VARIANT, variant="cooler"),
    ]
    assert list(no.value.then) == settled
    with reading(lite_garage) as session, pytest.raises(KittingError) as unknown:
        completion_chance(session, Work("", ["J2"], LATER, "upper", model="pell"), NOW)
    assert str(unknown.value) == str(no.value)
    assert list(unknown.value.then) == settled
