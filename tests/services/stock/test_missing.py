"""A missing or broken piece can be recorded though it is promised: the last booking is short."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances, load, needed, shop, stock
from kitting.actions import Action, next_step
from kitting.facts.units import Quantity
from kitting.services.bookings.booking import BookingRequest, book
from kitting.services.bookings.pick import pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.stock.ledger import TakenError
from kitting.services.stock.missing import Missing, record_missing
from kitting.services.stock.shelves import LotName, count_lot, scrap
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.stock import GivenUpView

LOT = LotName("yard", "RING", "A")
SOON, LATE = date(2026, 4, 15), date(2026, 4, 20)


def each(number: int) -> Quantity:
    return Quantity(number * 1000, "each")


@pytest.fixture
def promised(store: Engine, tmp_path: Path) -> Engine:
    """Three rings, of which B0001 is promised one late and B0002 one soon."""
    load(store, shop({"X1": {"RING": 1}}))
    stock(store, tmp_path, "yard,RING,A,3 each,1Q26")
    for day in (LATE, SOON):
        book(store, BookingRequest("PELL 001", ["X1"], day, "yard", again=True), NOW)
    return store


def short(engine: Engine, number: str) -> int:
    with reading(engine) as session:
        return needed(booking_view(session, find_booking(session, number)), "RING").short


@pytest.mark.parametrize(
    "missing", [Missing(each(1), scrapped=False, why="one in the bin"),
                Missing(each(2), scrapped=True, why="cut")],
)  # fmt: skip
def test_the_booking_that_fits_last_gives_its_ring_up_and_is_named(
    promised: Engine, missing: Missing
) -> None:
    first = record_missing(promised, LOT, missing, NOW, "t1")
    assert (first.difference, first.balance) == (-2000, 1000)
    assert first.given_up == (GivenUpView("B0001", "PELL 001", LATE, 1000),)
    assert record_missing(promised, LOT, missing, NOW, "t1") == first
    assert balances(promised)["yard", "RING", "A"] == (1000, 1000)
    assert (short(promised, "B0001"), short(promised, "B0002")) == (1000, 0)
    assert_ledger(promised)
    assert audit(promised, NOW).fine


def test_nothing_is_given_up_while_there_is_enough(promised: Engine) -> None:
    assert record_missing(promised, LOT, Missing(each(2), scrapped=False), NOW).given_up == ()
    assert balances(promised)["yard", "RING", "A"] == (2000, 2000)


def test_what_lies_in_a_kit_is_not_given_up(promised: Engine) -> None:
    pick(promised, "B0001", NOW)
    view = record_missing(promised, LOT, Missing(each(0), scrapped=False), NOW)
    assert [given.booking for given in view.given_up] == ["B0002"]
    assert (short(promised, "B0001"), short(promised, "B0002")) == (0, 1000)


def test_more_than_is_there_is_not_scrapped(promised: Engine) -> None:
    with pytest.raises(TakenError, match="4 asked for"):
        record_missing(promised, LOT, Missing(each(4), scrapped=True), NOW)
    assert balances(promised)["yard", "RING", "A"] == (3000, 2000)


def test_a_refused_count_and_scrap_say_how_it_goes(promised: Engine) -> None:
    ways: list[Callable[[], int]] = [
        lambda: count_lot(promised, LOT, each(1), NOW),
        lambda: scrap(promised, LOT, each(2), NOW, "cut"),
    ]
    for refused in ways:
        with pytest.raises(TakenError) as caught:
            refused()
        assert next_step(Action.GIVE_UP) in caught.value.then


def test_what_is_not_there_is_not_given_up(promised: Engine) -> None:
    with pytest.raises(TakenError, match="4 asked for") as caught:
        scrap(promised, LOT, each(4), NOW, "cut")
    assert next_step(Action.GIVE_UP) not in caught.value.then
