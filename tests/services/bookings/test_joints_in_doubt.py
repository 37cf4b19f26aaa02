"""What is in doubt of a joint itself keeps a booking from being ready, as it keeps its plan."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, ON, SUPPLY, load, planned, said, stock, unit
from kitting.facts.verdicts import Verdict
from kitting.services.bookings.booking import BookingRequest, book, renew_promises
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.safe_dates import CarRequest, dates_unbooked
from kitting.store import reading

RING = "{position: ring, item: RING, lubricant: dry}"
FINE = f"{{code: j, name: J, system: fuel, fluids: [petrol], fits: [{RING}]}}"
FOREIGN = FINE.replace("petrol", "engine-oil").replace("fuel", "brakes")
BARE = f"{FINE}\n      - {{code: bare, name: Bare, system: body}}"


def catalogue(joints: str) -> str:
    opens = "j, bare" if "bare" in joints else "j"
    return (
        unit(
            f"      - {joints}",
            f"      - {{code: S, name: s, hours: 1 h, opens: [{opens}]}}",
            "      - {code: J, name: j, needs: [S]}",
        )
        + SUPPLY
    )


@pytest.fixture
def shop(lite: Engine, tmp_path: Path) -> Engine:
    load(lite, catalogue(FINE))
    stock(lite, tmp_path, "yard,RING,R1,5 each,1Q26")
    return lite


@pytest.mark.parametrize(
    ("joints", "why"),
    [(FOREIGN, "none of what it holds is of that"), (BARE, "bare takes is not described")],
)
def test_a_booking_is_no_better_than_its_plan(shop: Engine, joints: str, why: str) -> None:
    load(shop, catalogue(joints))
    plan = planned(shop, "PELL 001", "J")
    booking = book(shop, BookingRequest("PELL 001", ["J"], ON, "yard"), NOW)
    assert (plan.verdict, booking.verdict) == (Verdict.UNKNOWN, Verdict.UNKNOWN)
    for doubts in (plan.doubts, booking.doubts):
        assert sum(why in text for text in said(doubt.because for doubt in doubts)) == 1
    with reading(shop) as session:
        asked = dates_unbooked(session, CarRequest("PELL 001", ("J",), "yard"), NOW)
    assert why in " ".join(said(one.doubt.because for one in asked.doubts))


def test_a_joint_that_is_in_doubt_by_now_is_told_on_a_booking_of_before(shop: Engine) -> None:
    booking = book(shop, BookingRequest("PELL 001", ["J"], date(2026, 6, 1), "yard"), NOW)
    assert booking.verdict is Verdict.FINE
    load(shop, catalogue(BARE))
    with reading(shop) as session:
        changed = booking_view(session, find_booking(session, booking.number))
    assert changed.verdict is Verdict.UNKNOWN
    assert "bare takes is not described" in " ".join(said(changed.changes))
    renewed = renew_promises(shop, booking.number)
    assert renewed.verdict is Verdict.UNKNOWN
    assert "bare takes is not described" in " ".join(said(d.because for d in renewed.doubts))
