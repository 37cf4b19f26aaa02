"""Closing is checked and done in one transaction: nobody gets in between."""

from __future__ import annotations

from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import Engine, event, select

from helpers import NOW, assert_ledger, booked, load, shop, stock
from kitting.facts.reasons import RefusedError
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import count_seals
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.shelves import LotName
from kitting.store import make_engine
from kitting.tables.bookings import Booking
from kitting.views.bookings import Lack

NOTHING = Closing({}, {})
RINGS = LotName("yard", "RING", "A")


def on_the_ramp(engine: Engine, folder: Path) -> str:
    """A booking whose four rings are picked and whose old ones are counted."""
    load(engine, shop({"X1": {"RING": 4}}))
    stock(engine, folder, "yard,RING,A,6 each,1Q25")
    number = booked(engine, "X1").number
    pick(engine, number, NOW)
    step_to(engine, number, BookingState.CONFIRMED)
    step_to(engine, number, BookingState.ON_THE_RAMP)
    count_seals(engine, number, {"x1": 4}, NOW)
    return number


def test_a_lot_put_on_hold_while_a_booking_is_closed_waits_until_it_is_closed(
    store: Engine, tmp_path: Path
) -> None:
    """Between the checks and the closing it would be in the car, and nobody would be told."""
    number = on_the_ramp(store, tmp_path)
    done = Event()

    def hold() -> None:
        other = make_engine(store.url.render_as_string(hide_password=False))
        put_on_hold(other, RINGS, "recalled", NOW)
        done.set()
        other.dispose()

    second = Thread(target=hold)
    early: list[bool] = []

    def meanwhile(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        # The count of old seals is the first thing that closing checks.
        if "FROM seal_count" in statement and not second.ident:
            second.start()
            early.append(done.wait(0.5))

    event.listen(store, "after_cursor_execute", meanwhile)
    try:
        closed = close(store, number, NOTHING, NOW)
    finally:
        event.remove(store, "after_cursor_execute", meanwhile)
        second.join(20)
    assert early == [False]
    assert closed.state is BookingState.CLOSED
    assert done.is_set()
    assert_ledger(store)


def test_what_is_on_hold_by_then_stops_the_closing_and_nothing_is_recorded(
    store: Engine, tmp_path: Path
) -> None:
    number = on_the_ramp(store, tmp_path)
    put_on_hold(store, RINGS, "recalled", NOW)
    with pytest.raises(RefusedError) as caught:
        close(store, number, NOTHING, NOW)
    assert [reason.code for reason in caught.value.reasons] == [Lack.ON_HOLD]
    with store.connect() as connection:
        assert connection.scalar(select(Booking.state)) == BookingState.ON_THE_RAMP
    assert close(store, number, NOTHING, NOW, "checked by the maker").state == BookingState.CLOSED
    assert_ledger(store)


def test_a_reason_that_was_not_needed_is_not_kept(lite: Engine, tmp_path: Path) -> None:
    number = on_the_ramp(lite, tmp_path)
    closed = close(lite, number, NOTHING, NOW, "just in case")
    assert (closed.state, closed.override) == (BookingState.CLOSED, None)


def test_what_is_on_hold_and_was_left_on_the_shelf_does_not_stop_the_closing(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 4}}))
    stock(lite, tmp_path, "yard,RING,A,6 each,1Q25")
    number = booked(lite, "X1").number
    put_on_hold(lite, RINGS, "recalled", NOW)
    step_to(lite, number, BookingState.CONFIRMED, "rings of the customer")
    step_to(lite, number, BookingState.ON_THE_RAMP)
    count_seals(lite, number, {"x1": 4}, NOW)
    assert close(lite, number, NOTHING, NOW).state is BookingState.CLOSED
    assert_ledger(lite)
