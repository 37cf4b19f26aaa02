"""A list of bookings says of each what the booking itself says."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from sqlalchemy import Engine

from helpers import NOW, booked, load, shop, stock
from kitting.facts.verdicts import Verdict
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import step_to
from kitting.services.bookings.listing import list_bookings
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.stock.holds import put_on_hold
from kitting.services.stock.shelves import LotName
from kitting.store import reading


def test_the_list_has_the_verdict_of_each_booking(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 1}, "X2": {"BOLT": 1}, "X3": {"RING": 9}}))
    stock(store, tmp_path, "yard,RING,A,2 each,1Q26", "yard,BOLT,B,2 each")
    numbers = [booked(store, job).number for job in ("X1", "X2", "X3")]
    step_to(store, numbers[0], BookingState.CONFIRMED)
    put_on_hold(store, LotName("yard", "RING", "A"), "recalled", NOW)
    with reading(store) as session:
        listed = list_bookings(session, None, tuple(BookingState))
        shown = [booking_view(session, find_booking(session, number)) for number in numbers]
    assert [line.verdict for line in listed] == [view.verdict for view in shown]
    assert [line.verdict for line in listed] == [Verdict.NO, Verdict.FINE, Verdict.NO]
    # Nothing is short of the first: it is promised a ring that may not be fitted.
    assert (listed[0].state, listed[0].short) == ("confirmed", 0)


def test_the_list_judges_a_late_car_at_the_day_of_asking(lite: Engine, tmp_path: Path) -> None:
    items = "\n  - {code: WASHER, name: Washer, kind: copper-washer}"
    load(lite, shop({"X1": {"WASHER": 1}}, items))
    stock(lite, tmp_path, "yard,WASHER,A,1 each,,2026-04-16")
    booked(lite, "X1")
    with reading(lite) as session:
        verdicts = [
            list_bookings(session, None, ["provisional"], today)[0].verdict
            for today in (None, date(2026, 4, 16), date(2026, 4, 17))
        ]
    assert verdicts == [Verdict.FINE, Verdict.FINE, Verdict.NO]
