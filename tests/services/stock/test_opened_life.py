"""Bookings share a tube only while what is left of it keeps: 18.9 ml of 70 ml, 60 days opened."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, load, needed, priced, said, stock
from kitting.facts.verdicts import Aspect, Verdict
from kitting.services.bookings.booking import BookingRequest, book, renew_promises
from kitting.services.bookings.pick import pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.shortages import shortage
from kitting.services.stock.lots import find_item
from kitting.store import reading
from kitting.tables.stock import Lot
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
vehicles:
  - {registration: C 1, model: m}
  - {registration: C 2, model: m}
  - {registration: C 3, model: m}
branches: [{code: yard, name: Yard}]
suppliers: [{code: prompt, name: Prompt, cutoffs: ["16:00"], lead_days: 1, late_days: 1}]
"""


@pytest.fixture
def sealing(store: Engine, tmp_path: Path) -> Engine:
    load(store, SHOP)
    priced(store, tmp_path, "prompt", "T,TUBE,12.00 GBP,70 ml")
    return store


def made(engine: Engine, car: str, on: date) -> BookingView:
    return book(engine, BookingRequest(car, ["J"], on, "yard", again=True), NOW)


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
        Aspect.AGE, ["TUBE: 18.9 ml from lot T1 EXPIRES 2026-06-14, before the fitting date"],
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


@pytest.mark.parametrize("shelf", [["T1,210 ml"], ["T1,70 ml", "T2,70 ml", "T3,70 ml"]])
@pytest.mark.parametrize("order", [None, ("B0001", "B0002", "B0003"), ("B0003", "B0001", "B0002")])
def test_p9_three_jobs_of_one_day_open_one_tube(
    sealing: Engine, tmp_path: Path, shelf: list[str], order: tuple[str, ...] | None
) -> None:
    """Picked in any order, or each at once when it is booked: two tubes stay sealed."""
    stock(sealing, tmp_path, *(f"yard,TUBE,{lot},,2027-12-31" for lot in shelf))
    for car in ("C 1", "C 2", "C 3"):
        number = made(sealing, car, SOON).number
        if order is None:
            pick(sealing, number, NOW)
    for number in order or ():
        pick(sealing, number, NOW)
    with reading(sealing) as session:
        left = session.scalars(select(Lot.on_hand).where(Lot.on_hand > 0)).all()
    assert sum(left) == 210_000 - 3 * 18_911
    assert sum(amount for amount in left if amount % 70_000 == 0) == 140_000


def test_what_is_left_of_an_opened_tube_is_opened_though_it_is_promised(
    sealing: Engine, tmp_path: Path
) -> None:
    """Five kits of one day share two tubes; one is picked 113 days before, so a tube is begun."""
    stock(sealing, tmp_path, "yard,TUBE,T1,140 ml,,2027-12-31")
    for car in ("C 1", "C 2", "C 3", "C 1", "C 2"):
        assert made(sealing, car, LATE).verdict is Verdict.FINE
    pick(sealing, "B0005", NOW)
    with reading(sealing) as session:
        lots = session.execute(select(Lot.code, Lot.on_hand, Lot.promised, Lot.opened_on)).all()
    assert sorted(map(tuple, lots)) == [
        ("T1", 70_000, 70_000, None),
        ("T1-OPEN-260402", 51_089, 4 * 18_911 - 70_000, date(2026, 4, 2)),
    ]
    last = now(sealing, "B0004")
    assert last.verdict is Verdict.NO
    assert said([doubt.because for doubt in last.doubts]) == [
        "TUBE: 5.64 ml from lot T1-OPEN-260402 EXPIRES 2026-06-01, before the fitting date"
    ]
    for number in ("B0001", "B0002", "B0003"):
        assert now(sealing, number).verdict is Verdict.FINE


@pytest.mark.parametrize(
    ("shelf", "keeps"), [("140 ml", True), ("100 ml", False), ("30 ml", False)]
)
def test_a_part_of_a_pack_was_opened_and_nobody_says_when(
    sealing: Engine, tmp_path: Path, shelf: str, keeps: bool
) -> None:
    """Tubes of 70 ml: what is no whole number of them has a begun one; the printed date is not its."""
    stock(sealing, tmp_path, f"yard,TUBE,T1,{shelf},,2027-12-31")
    booking = made(sealing, "C 1", SOON)
    assert booking.verdict is (Verdict.FINE if keeps else Verdict.UNKNOWN)
    told = said([doubt.because for doubt in booking.doubts])
    assert ["nobody says since when (opened: of the stock list)" in text for text in told] == (
        [] if keeps else [True]
    )


def test_picking_uses_a_part_of_a_pack_up_first(sealing: Engine, tmp_path: Path) -> None:
    """Of 100 ml, 30 were in a begun tube: the sealed one stays sealed."""
    stock(sealing, tmp_path, "yard,TUBE,T1,100 ml,,2027-12-31")
    number = made(sealing, "C 1", SOON).number
    pick(sealing, number, NOW)
    with reading(sealing) as session:
        lots = session.execute(select(Lot.code, Lot.on_hand, Lot.opened_on)).all()
    assert [tuple(lot) for lot in lots] == [("T1", 100_000 - 18_911, None)]
