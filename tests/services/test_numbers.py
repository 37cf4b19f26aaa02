"""Numbers by their last digits: one rule for bookings, orders and transfers."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine

from helpers import NOW, booked, load, priced, shop, stock
from kitting.errors import UnknownNameError
from kitting.facts.units import Quantity
from kitting.services.bookings.states import find_booking
from kitting.services.lookup import whole_number
from kitting.services.purchasing.order_view import find_order
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import find_transfer, send
from kitting.store import reading

KNOWN = ("B0001", "B0002", "B0011", "B0112", "B10002")


@pytest.mark.parametrize(
    ("given_as", "meant"),
    [
        ("B0001", "B0001"),
        (" b0001 ", "B0001"),
        ("0001", "B0001"),
        ("11", "B0011"),
        ("b11", "B0011"),
        ("12", "B0112"),
        ("10002", "B10002"),
        # All digits of a number name it, though another ends so.
        ("0002", "B0002"),
    ],
)
def test_last_digits_name_a_number_where_they_are_clear(given_as: str, meant: str) -> None:
    assert whole_number("booking", given_as, KNOWN) == meant


@pytest.mark.parametrize(
    ("given_as", "said"),
    [
        ("1", "booking '1': which one? B0001, B0011 end so. Give more of its digits"),
        ("2", "booking '2': which one? B0002, B0112, B10002 end so. Give more of its digits"),
        ("P0001", "booking 'P0001': unknown name. Known: B0001"),
        ("9", "Known: B0001, B0002, B0011, B0112, B10002"),
        ("", "Known: "),
        ("B", "Known: "),
        ("-1", "unknown name"),
        ("²", "unknown name"),
        ("0" * 30, "unknown name"),
    ],
)
def test_what_is_unknown_or_not_clear_names_what_could_be_meant(given_as: str, said: str) -> None:
    with pytest.raises(UnknownNameError, match=re.escape(said)):
        whole_number("booking", given_as, KNOWN)


def test_of_very_many_the_newest_are_named_and_the_rest_counted() -> None:
    known = [f"B{number:04d}" for number in range(1, 100, 10)]
    with pytest.raises(UnknownNameError, match=r"B0051, .*B0091 and 5 more end so"):
        whole_number("booking", "1", known)


@given(st.sets(st.integers(1, 20_000), min_size=1, max_size=8), st.integers(0, 99_999))
def test_a_number_is_found_only_if_it_is_the_only_one_that_ends_so(
    numbers: set[int], asked: int
) -> None:
    known = [f"B{number:04d}" for number in sorted(numbers)]
    ends = [number for number in known if number.endswith(str(asked))]
    whole = [number for number in known if number == f"B{asked}"]
    try:
        found = whole_number("booking", str(asked), known)
    except UnknownNameError:
        assert len(ends) != 1
        assert not whole
    else:
        assert [found] == (whole or ends)


def test_bookings_orders_and_transfers_are_found_by_their_last_digits(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    stock(store, tmp_path, "quay,RING,Q,2 each,1Q26")
    for _ in range(12):
        booked(store, "X1", on=date(2026, 6, 1))
    place(store, ["12", "b0003"], NOW)
    number, _ = send(store, LotName("quay", "RING", "Q"), Quantity(1000, "each"), "yard", NOW)
    with reading(store) as session:
        assert find_booking(session, "12").number == "B0012"
        assert find_order(session, "1").number == "P0001"
        assert find_transfer(session, str(number)) == number
        assert buy(session, ["3", "B0003"], NOW).bookings == ("B0003",)
        with pytest.raises(UnknownNameError, match="B0002, B0012 end so"):
            buy(session, ["2"], NOW)
        with pytest.raises(UnknownNameError, match="B0002, B0012 end so"):
            find_booking(session, "2")
        with pytest.raises(UnknownNameError, match="transfer"):
            find_transfer(session, "77")


def test_where_there_is_none_yet_it_says_what_makes_one(store: Engine) -> None:
    with reading(store) as session:
        for find, what in ((find_booking, "booking"), (find_order, "order")):
            with pytest.raises(UnknownNameError, match="None is made yet") as told:
                find(session, "1")
            assert told.value.then, what
