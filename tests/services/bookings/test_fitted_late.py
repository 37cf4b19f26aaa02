"""A car that is fitted later than booked is judged at the day on which it is really fitted."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, booked, load, shop, stock
from kitting.facts.reasons import RefusedError
from kitting.facts.words import BookingState, LotState
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.kit_sheets import labels_of, own_doubts, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals, refit_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.store import reading
from kitting.views.bookings import BookingView, Lack

ON = date(2026, 4, 10)
# The packet keeps two days longer than the car was booked for.
LAST = date(2026, 4, 12)
LATE = datetime(2026, 5, 20, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
LATE_DAY = LATE.date()


def kept_to(engine: Engine, folder: Path, *rows: str) -> str:
    """A booking of one ring whose packet keeps to LAST."""
    items = "\n  - {code: WASHER, name: Washer, kind: copper-washer}"
    load(engine, shop({"X1": {"WASHER": 1}}, items))
    stock(engine, folder, f"yard,WASHER,A,1 each,,{LAST}", *rows)
    return booked(engine, "X1", on=ON).number


def seen(engine: Engine, number: str, today: date | None) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number), today)


def codes(view: BookingView) -> set[object]:
    return {doubt.because.code for doubt in own_doubts(view)}


def test_a_booking_is_judged_at_the_day_of_asking_once_its_date_is_past(
    store: Engine, tmp_path: Path
) -> None:
    number = kept_to(store, tmp_path)
    assert seen(store, number, None).ready
    assert seen(store, number, NOW.date()).ready
    assert seen(store, number, LAST).ready
    late = seen(store, number, LATE_DAY)
    assert not late.ready
    assert codes(late) == {Lack.EXPIRED_SINCE}
    assert late.needs[0].sources[0].state is LotState.EXPIRED


def test_what_expired_since_is_not_picked(store: Engine, tmp_path: Path) -> None:
    number = kept_to(store, tmp_path)
    view = pick(store, number, LATE)
    assert (view.ready, view.needs[0].picked) == (False, 0)


def test_a_car_with_an_expired_kit_is_not_put_on_the_ramp(store: Engine, tmp_path: Path) -> None:
    number = kept_to(store, tmp_path)
    step_to(store, number, BookingState.CONFIRMED, today=NOW.date())
    pick(store, number, NOW)
    assert step_to(store, number, BookingState.ON_THE_RAMP, today=LATE_DAY).state == "confirmed"
    reason = "checked by hand"
    gone = step_to(store, number, BookingState.ON_THE_RAMP, reason, today=LATE_DAY)
    assert (gone.state, gone.override) == ("on the ramp", reason)


def test_a_reason_given_before_does_not_excuse_what_expired_since(
    lite: Engine, tmp_path: Path
) -> None:
    number = kept_to(lite, tmp_path)
    pick(lite, number, NOW)
    with lite.begin() as connection:
        connection.exec_driver_sql("UPDATE booking SET override = 'the customer waits'")
    step_to(lite, number, BookingState.CONFIRMED, today=NOW.date())
    assert step_to(lite, number, BookingState.ON_THE_RAMP, today=LATE_DAY).state == "confirmed"


def test_closing_over_what_expired_since_needs_a_reason(store: Engine, tmp_path: Path) -> None:
    number = kept_to(store, tmp_path)
    pick(store, number, NOW)
    step_to(store, number, BookingState.CONFIRMED)
    step_to(store, number, BookingState.ON_THE_RAMP)
    count_seals(store, number, {"x1": 1}, NOW)
    with pytest.raises(RefusedError) as refused:
        close(store, number, Closing({}, {}), LATE)
    assert [reason.code for reason in refused.value.reasons] == [Lack.EXPIRED_SINCE]
    assert close(store, number, Closing({}, {}), LATE, "was fitted in time").state == "closed"


def test_the_sheets_of_a_late_car_say_what_expired_since(lite: Engine, tmp_path: Path) -> None:
    number = kept_to(lite, tmp_path)
    with reading(lite) as session:
        for sheet in (pick_of, labels_of, refit_of):
            said = {doubt.because.code for doubt in sheet(session, number, LATE_DAY).doubts}
            assert Lack.EXPIRED_SINCE in said
            before = {doubt.because.code for doubt in sheet(session, number, LAST).doubts}
            assert Lack.EXPIRED_SINCE not in before


def test_promising_anew_gives_up_what_expired_since(store: Engine, tmp_path: Path) -> None:
    number = kept_to(store, tmp_path)
    stock(store, tmp_path, "yard,WASHER,B,1 each,,2027-01-01")
    view = renew_promises(store, number, LATE_DAY)
    assert [source.lot for source in view.needs[0].sources] == ["B"]
    assert view.ready
