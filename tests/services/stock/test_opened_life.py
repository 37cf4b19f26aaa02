"""Bookings share a tube only while what is left of it keeps: 18.9 ml of 70 ml, 60 days opened."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, load, needed, priced, said, stock
from kitting.facts.verdicts import Aspect, Verdict
from kitting.services.bookings.booking import BookingRequest, book, renew_promises
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.shortages import shortage
from kitting.services.stock.lots import find_item
from kitting.store import reading
from kitting.views.bookings import BookingView

SOON, LATE = date(2026, 4, 15), date(2026, 7, 24)
SHOP = """
items:
  - {code: TUBE, name: sealant, kind: sealant, unit: ml, pack: 70 ml, nozzle_waste: 5 ml,
     shelf_life: 24 months, opened_life: 60 days,
     times: {open: 10 min, cure: 24 h, laying: 1 m/min, source: invented}}
units:
  - code: u
    name: U
    joints:
      - {code: j, name: J, system: engine,
         uses: [{item: TUBE, bead: {diameter: 3 mm, length: 1.64 m}}]}
    steps: [{code: S, name: s, hours: 1 h, opens: [j]}]
    jobs: [{code: J, name: job, needs: [S]}]
models: [{code: m, name: M, units: [u]}]
vehicles: [{registration: C 1, model: m}, {registration: C 2, model: m}]
branches: [{code: yard, name: Yard}]
suppliers: [{code: prompt, name: Prompt, cutoffs: ["16:00"], lead_days: 1, late_days: 1}]
"""


@pytest.fixture
def sealing(store: Engine, tmp_path: Path) -> Engine:
    load(store, SHOP)
    priced(store, tmp_path, "prompt", "T,TUBE,12.00 GBP,70 ml")
    return store


def made(engine: Engine, car: str, on: date) -> BookingView:
    return book(engine, BookingRequest(car, ["J"], on, "yard"), NOW)


def now(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def lacking(engine: Engine, *numbers: str) -> int:
    with reading(engine) as session:
        found = shortage(session, numbers)
        return found.needs.get(find_item(session, "TUBE").id, 0)


def test_one_tube_serves_two_bookings_within_its_opened_life(
    sealing: Engine, tmp_path: Path
) -> None:
    stock(sealing, tmp_path, "yard,TUBE,T1,70 ml,,2027-12-31")
    for car, on in (("C 1", SOON), ("C 2", date(2026, 6, 14))):
        assert made(sealing, car, on).verdict is Verdict.FINE
    assert lacking(sealing, "B0001", "B0002") == 0


def test_a_booking_long_after_another_gets_nothing_of_its_opened_tube(
    sealing: Engine, tmp_path: Path
) -> None:
    stock(sealing, tmp_path, "yard,TUBE,T1,70 ml,,2027-12-31")
    assert made(sealing, "C 1", SOON).verdict is Verdict.FINE
    late = made(sealing, "C 2", LATE)
    assert (late.verdict, needed(late, "TUBE").short) == (Verdict.NO, 18_911)
    assert lacking(sealing, "B0001", "B0002") == 18_911


def test_a_booking_before_another_takes_its_tube_from_it_and_both_are_told(
    sealing: Engine, tmp_path: Path
) -> None:
    """Promised while nobody else wanted it; the earlier work is put in by a moved date."""
    stock(sealing, tmp_path, "yard,TUBE,T1,140 ml,,2027-12-31")
    assert made(sealing, "C 1", LATE).verdict is Verdict.FINE
    assert made(sealing, "C 2", SOON).verdict is Verdict.FINE
    stock(sealing, tmp_path, "yard,TUBE,T1,70 ml,,2027-12-31")
    late = now(sealing, "B0001")
    assert late.verdict is Verdict.NO
    (doubt,) = late.doubts
    assert (doubt.aspect, said([doubt.because])) == (
        Aspect.AGE, ["TUBE: 18.911 ml from lot T1 EXPIRES 2026-06-14, before the fitting date"],
    )  # fmt: skip
    assert now(sealing, "B0002").verdict is Verdict.FINE
    assert lacking(sealing, "B0001") == 18_911
    assert lacking(sealing, "B0002") == 0
    stock(sealing, tmp_path, "yard,TUBE,T2,70 ml,,2027-12-31")
    assert renew_promises(sealing, "B0001").verdict is Verdict.FINE


def test_tubes_are_bought_by_the_dates_not_by_the_sum(sealing: Engine) -> None:
    for car, on in (("C 1", SOON), ("C 2", LATE)):
        made(sealing, car, on)
    assert lacking(sealing, "B0001") == 18_911
    assert lacking(sealing, "B0001", "B0002") == 140_000
