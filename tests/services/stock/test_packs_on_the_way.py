"""Packs on the way are judged as they will arrive, whatever lies where they come from or go to.

Invented stock; a paste that keeps 30 days once its pack of 500 ml is opened.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, load, said, shop, stock
from kitting.facts.units import Quantity
from kitting.facts.words import LotState
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.purchasing.purchase import buy
from kitting.services.stock.shelves import LotName, list_stock
from kitting.services.stock.transfers import arrive, arrived_as, send
from kitting.store import reading
from kitting.views.purchasing import PurchaseView
from kitting.views.stock import LotView

ITEMS = """
  - {code: PASTE, name: paste, kind: sealant, unit: ml, pack: 500 ml, opened_life: 30 days,
     medium: petroleum-grease}
"""
USES = "\n        uses: [{item: PASTE, amount: 400 ml, note: all over}]\n        fits:"
DAY = date(2026, 4, 15)


@pytest.fixture
def yards(store: Engine) -> Engine:
    """A job that uses 400 ml of paste, booked at the yard, which has none."""
    text = shop({"X1": {"BOLT": 1}}, items=ITEMS)
    assert text.count("\n        fits:") == 1
    load(store, text.replace("\n        fits:", USES))
    return store


def booked_at_yard(engine: Engine) -> None:
    book(engine, BookingRequest("PELL 001", ("X1",), DAY, "yard"), NOW)


def shelves(engine: Engine, branch: str = "yard") -> dict[str, LotView]:
    with reading(engine) as session:
        return {lot.lot: lot for lot in list_stock(session, branch, ["PASTE"], DAY)}


def sent(engine: Engine, thousandths: int) -> int:
    name = LotName("quay", "PASTE", "P")
    return send(engine, name, Quantity(thousandths, "ml"), "yard", NOW)[0]


def of_unknown_age(engine: Engine) -> list[str]:
    view: PurchaseView
    with reading(engine) as session:
        view = buy(session, ["B0001"], NOW)
    assert [van.item for van in view.vans] == ["PASTE"]
    told = said(one.doubt.because for one in view.doubts)
    return [text for text in told if "AGE UNKNOWN" in text]


@pytest.mark.parametrize("there", ["0 ml", "200 ml"])
@pytest.mark.parametrize("left", ["0 ml", "200 ml"])
def test_a_sealed_pack_on_the_way_is_sealed(
    yards: Engine, tmp_path: Path, left: str, there: str
) -> None:
    """Though a begun one stays behind, or lies in the lot that it comes to."""
    stock(yards, tmp_path, f"quay,PASTE,P,{500 + int(left.split()[0])} ml,,2030-01-31")
    number = sent(yards, 500_000)
    stock(yards, tmp_path, f"yard,PASTE,P,{there},,2030-01-31")
    booked_at_yard(yards)
    told = of_unknown_age(yards)
    # What lies there begun is counted first, and told.
    assert told == [] if there == "0 ml" else all("200" in text for text in told)
    arrive(yards, number, NOW)
    with reading(yards) as session:
        lot = arrived_as(session, number).lot
    found = shelves(yards)
    assert (found[lot].on_hand, found[lot].state) == (500_000, LotState.GOOD)
    if there != "0 ml":
        assert lot != "P"
        assert (found["P"].on_hand, found["P"].state) == (200_000, LotState.AGE_UNKNOWN)
    assert_ledger(yards)


@pytest.mark.parametrize("there", ["0 ml", "500 ml", "100 ml"])
def test_a_begun_pack_on_the_way_is_begun(yards: Engine, tmp_path: Path, there: str) -> None:
    """Though with what lies there it comes to a whole one, or only sealed ones lie there."""
    stock(yards, tmp_path, "quay,PASTE,P,400 ml,,2030-01-31")
    number = sent(yards, 400_000)
    booked_at_yard(yards)
    stock(yards, tmp_path, f"yard,PASTE,P,{there},,2030-01-31")
    if there == "0 ml":
        (told,) = of_unknown_age(yards)
        assert told.startswith("PASTE: 400 ml from lot P AGE UNKNOWN: ")
    arrive(yards, number, NOW)
    found = shelves(yards)
    with reading(yards) as session:
        lot = arrived_as(session, number).lot
    assert (found[lot].on_hand, found[lot].state) == (400_000, LotState.AGE_UNKNOWN)
    if there != "0 ml":
        assert lot != "P"
        state = LotState.GOOD if there == "500 ml" else LotState.AGE_UNKNOWN
        assert found["P"].state is state


def test_sealed_packs_arrive_with_sealed_packs(yards: Engine, tmp_path: Path) -> None:
    stock(yards, tmp_path, "quay,PASTE,P,1000 ml,,2030-01-31")
    number = sent(yards, 500_000)
    stock(yards, tmp_path, "yard,PASTE,P,500 ml,,2030-01-31")
    arrive(yards, number, NOW)
    assert {lot: one.on_hand for lot, one in shelves(yards).items()} == {"P": 1_000_000}


def test_what_has_no_opened_life_arrives_with_the_rest(yards: Engine, tmp_path: Path) -> None:
    load(yards, shop({"X1": {"BOLT": 1}}, items=ITEMS.replace(" opened_life: 30 days,", "")))
    stock(yards, tmp_path, "quay,PASTE,P,400 ml,,2030-01-31")
    number = sent(yards, 400_000)
    stock(yards, tmp_path, "yard,PASTE,P,100 ml,,2030-01-31")
    arrive(yards, number, NOW)
    assert {lot: one.on_hand for lot, one in shelves(yards).items()} == {"P": 500_000}
