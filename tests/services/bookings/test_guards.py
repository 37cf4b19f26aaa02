"""Guards: what protects the car, the stock and the till from a slip."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import all_told, said
from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.reasons import RefusedError
from kitting.facts.units import Quantity
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import BookingRequest, book, step_to, take_from
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.kit_sheets import pick_of
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.seal_count import count_seals, refit_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.price_lists import load_prices
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import on_the_way, send
from kitting.store import reading
from kitting.views.bookings import ElsewhereKind, ElsewhereView
from kitting.wording.purchasing import discrepancies

NOW = datetime(2026, 4, 2, 14, 20)  # noqa: DTZ001
ON = date(2026, 4, 15)
COUNTS = {"rear-pipe-heater": 1, "rear-pipe-pump": 1, "coolant-drain": 1, "intake": 5}
NOTHING = Closing({}, {})
MADE = date(2026, 1, 15)


@pytest.fixture
def on_the_ramp(lite_garage: Engine) -> Engine:
    """B0001 (J1 of PELL 042), bought, received, picked, on the ramp."""
    (order,) = place(lite_garage, ["B0001"], NOW, ON).orders
    receive(lite_garage, order, None, datetime(2026, 4, 7, 11, 0))  # noqa: DTZ001
    pick(lite_garage, "B0001", NOW)
    # No date of making was given when the rings came.
    step_to(lite_garage, "B0001", BookingState.CONFIRMED, "dated by the counter")
    step_to(lite_garage, "B0001", BookingState.ON_THE_RAMP)
    return lite_garage


def test_nothing_is_closed_over_seals_that_nobody_counted(on_the_ramp: Engine) -> None:
    with pytest.raises(RefusedError) as caught:
        close(on_the_ramp, "B0001", all_told(on_the_ramp, "B0001"), NOW)
    assert said(caught.value.reasons) == [
        "old seals not counted out of intake, coolant-drain, rear-pipe-pump, rear-pipe-heater"
    ]
    count_seals(on_the_ramp, "B0001", {**COUNTS, "intake": 4}, NOW)
    with pytest.raises(RefusedError, match="B0001 cannot be closed: still in there"):
        close(on_the_ramp, "B0001", all_told(on_the_ramp, "B0001"), NOW)
    count_seals(on_the_ramp, "B0001", {"intake": 5}, NOW)
    assert close(on_the_ramp, "B0001", all_told(on_the_ramp, "B0001"), NOW).state == "closed"


def test_a_reason_closes_all_the_same_and_stays_on_record(on_the_ramp: Engine) -> None:
    with pytest.raises(KittingError, match="a reason is required"):
        close(on_the_ramp, "B0001", all_told(on_the_ramp, "B0001"), NOW, " ")
    view = close(
        on_the_ramp, "B0001", all_told(on_the_ramp, "B0001"), NOW, "counted at the other yard"
    )
    assert (view.state, view.override) == (
        "closed", "dated by the counter; counted at the other yard",
    )  # fmt: skip


def test_a_lot_that_is_held_after_picking_stops_the_closing_and_is_on_the_refit_sheet(
    on_the_ramp: Engine,
) -> None:
    count_seals(on_the_ramp, "B0001", COUNTS, NOW)
    put_on_hold(
        on_the_ramp, LotName("upper", "SEAL-INTAKE", "SI-2411"), "recalled by the maker", NOW
    )
    with reading(on_the_ramp) as session:
        refit = refit_of(session, "B0001")
    on_hold = "SEAL-INTAKE: 4 from lot SI-2411 in S1-01 ON HOLD: recalled by the maker"
    assert on_hold in said(doubt.because for doubt in refit.doubts)
    with pytest.raises(RefusedError) as caught:
        close(on_the_ramp, "B0001", all_told(on_the_ramp, "B0001"), NOW)
    assert said(caught.value.reasons) == [on_hold]
    assert caught.value.then == (
        next_step(Action.PROMISE, booking="B0001"),
        next_step(Action.CLOSE_DESPITE, booking="B0001"),
    )


def test_a_confirmed_booking_does_not_go_on_the_ramp_when_its_stock_is_held_by_then(
    lite_garage: Engine,
) -> None:
    (order,) = place(lite_garage, ["B0001"], NOW, ON).orders
    came = [GoodsReceived(item, 1000, made=MADE) for item in ("RING-FKM-17X2.5", "RING-EPDM-17X2")]
    receive(lite_garage, order, came, NOW)
    assert step_to(lite_garage, "B0001", BookingState.CONFIRMED).state == "confirmed"
    put_on_hold(lite_garage, LotName("upper", "SEAL-INTAKE", "SI-2411"), "recalled", NOW)
    stays = step_to(lite_garage, "B0001", BookingState.ON_THE_RAMP)
    assert (stays.state, stays.ready) == ("confirmed", False)
    assert (
        step_to(lite_garage, "B0001", BookingState.ON_THE_RAMP, "checked by hand").state
        == "on the ramp"
    )


def test_a_reason_must_say_something(lite_garage: Engine) -> None:
    with pytest.raises(KittingError, match="a reason is required"):
        step_to(lite_garage, "B0001", BookingState.CONFIRMED, "  ")


def test_buying_and_dates_count_what_is_promised_and_held_as_lacking(lite_garage: Engine) -> None:
    put_on_hold(lite_garage, LotName("upper", "SEAL-INTAKE", "SI-2411"), "recalled", NOW)
    with reading(lite_garage) as session:
        view = buy(session, ["B0001"], NOW, ON)
    amounts = {line.item: line.ordered for parcel in view.parcels for line in parcel.lines}
    assert amounts["SEAL-INTAKE"] == 4000
    place(lite_garage, ["B0001"], NOW, ON)
    with reading(lite_garage) as session:
        needs = {n.item: n for n in booking_view(session, find_booking(session, "B0001")).needs}
    assert (needs["SEAL-INTAKE"].coming, needs["SEAL-INTAKE"].short) == (4000, 0)


def test_the_safe_order_time_still_holds_the_chance_asked_for_when_it_is_kept(
    lite_garage: Engine,
) -> None:
    with reading(lite_garage) as session:
        view = dates(session, ["B0001"], NOW)
        assert view.earliest is not None
        last = min(order.safe for order in view.order_by)
        just_before = last - timedelta(minutes=1)
        kept = dates(session, ["B0001"], just_before)
    assert {day.on: day.state for day in kept.dates}[view.earliest] == "safe"


def test_the_same_job_on_the_same_car_is_booked_twice_only_when_it_is_said(
    lite_garage: Engine,
) -> None:
    with pytest.raises(KittingError, match="PELL 042 is booked for J1 already: B0001"):
        book(lite_garage, BookingRequest("PELL 042", ["J1"], ON, "upper"), NOW)
    assert (
        book(lite_garage, BookingRequest("PELL 042", ["J1"], ON, "upper", again=True), NOW).number
        == "B0002"
    )
    with pytest.raises(KittingError, match="is past"):
        book(lite_garage, BookingRequest("PELL 117", ["J1"], date(2026, 4, 1), "upper"), NOW)


def test_a_confirmed_booking_whose_promise_is_taken_is_provisional_again(
    lite_garage: Engine,
) -> None:
    (order,) = place(lite_garage, ["B0001"], NOW, ON).orders
    receive(lite_garage, order, None, NOW)
    step_to(lite_garage, "B0001", BookingState.CONFIRMED)
    book(lite_garage, BookingRequest("PELL 117", ["J1"], ON, "upper"), NOW)
    take_from(lite_garage, "B0002", "SEAL-INTAKE", "B0001")
    with reading(lite_garage) as session:
        assert find_booking(session, "B0001").state == "provisional"


def test_a_receipt_or_a_return_in_another_unit_or_a_part_of_a_piece_is_refused(
    on_the_ramp: Engine,
) -> None:
    (order,) = place_more(on_the_ramp)
    for came, told in (
        (GoodsReceived("SEAL-INTAKE", 1000, unit="ml"), "stocked in each"),
        (GoodsReceived("SEAL-INTAKE", 500), "pieces are whole"),
        (GoodsReceived("SEAL-INTAKE", 1000, made=date(2029, 3, 31)), "still to come"),
    ):
        with pytest.raises(KittingError, match=told):
            receive(on_the_ramp, order, [came], NOW)
    wrong = Closing({"CAP-PLUG": 3000}, {}, {"CAP-PLUG": "ml"})
    with pytest.raises(KittingError, match="CAP-PLUG is stocked in each"):
        close(on_the_ramp, "B0001", wrong, NOW, "test")


def place_more(engine: Engine) -> tuple[str, ...]:
    number = book(engine, BookingRequest("PELL 117", ["J1"], ON, "upper"), NOW).number
    return place(engine, [number], NOW, ON).orders


def test_what_came_damaged_or_as_another_part_stays_told(lite_garage: Engine) -> None:
    (order,) = place(lite_garage, ["B0001"], NOW, ON).orders
    came = GoodsReceived("RING-FKM-17X2.5", 0, damaged=1000, wrong=2000)
    view = receive(lite_garage, order, [came], NOW)
    (line,) = (line for line in view.lines if line.item == "RING-FKM-17X2.5")
    assert (line.damaged, line.wrong, line.over) == (1000, 2000, 0)
    assert discrepancies(line) == ("1 damaged", "2 another part")


def test_an_empty_list_leaves_the_prices_that_were_there(
    lite_garage: Engine, tmp_path: Path
) -> None:
    path = tmp_path / "empty.csv"
    path.write_text("part,price\n")
    with pytest.raises(KittingError, match="no part stands in it"):
        load_prices(lite_garage, "ombrith", path)
    with reading(lite_garage) as session:
        assert buy(session, ["B0001"], NOW, ON).total is not None


def test_sheets_of_a_cancelled_booking_are_not_printed(lite_garage: Engine) -> None:
    cancel(lite_garage, "B0001", NOW)
    with reading(lite_garage) as session, pytest.raises(KittingError, match="is cancelled"):
        pick_of(session, "B0001")


def test_goods_between_branches_are_listed(lite_garage: Engine) -> None:
    number, due = send(
        lite_garage,
        LotName("canal", "SEAL-INTAKE", "SI-2503"),
        Quantity(2000, "each"),
        "upper",
        NOW,
    )
    with reading(lite_garage) as session:
        (going,) = on_the_way(session)
    assert (going.number, going.item, going.source, going.to, going.quantity, going.due) == (
        number, "SEAL-INTAKE", "canal", "upper", 2000, due,
    )  # fmt: skip


def test_expired_stock_is_told_apart_from_what_is_free(lite_garage: Engine) -> None:
    view = book(lite_garage, BookingRequest("PELL 117", ["J6"], ON, "van1"), NOW)
    (ring,) = (need for need in view.needs if need.item == "RING-NBR-11X2")
    assert ring.elsewhere == (
        ElsewhereView(ElsewhereKind.FREE, 2000, branch="upper"),
        ElsewhereView(ElsewhereKind.NOT_USABLE, 7000, branch="upper"),
    )
