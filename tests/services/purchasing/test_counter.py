"""Event "bought over the counter": order, receipt and stock in one change."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, balances, booked, load, needed, priced, shop
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.verdicts import Aspect, Verdict
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.cancellation import cancel_order
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.counter import CounterPurchase, buy_over_counter
from kitting.services.purchasing.goods_in import GoodsReceived
from kitting.services.purchasing.order_view import list_orders
from kitting.services.purchasing.supplier_terms import read_suppliers
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.tables.supply import Supplier
from kitting.views.orders import OrderView

FRESH = date(2026, 3, 31)
PAID = Money(640, "GBP")


@pytest.fixture
def yard(store: Engine, tmp_path: Path) -> Engine:
    load(store, shop({"X1": {"RING": 4}, "X2": {"BOLT": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    return store


def bought(engine: Engine, good: int = 4, *bookings: str, token: str | None = None,
           item: str = "RING", made: date | None = FRESH, **changes: Any) -> OrderView:  # fmt: skip
    values = {"supplier": "prompt", "paid": PAID, "bill": "4711", "branch": "yard"} | changes
    goods = GoodsReceived(item, good * 1000, made=made, lot="C1")
    return buy_over_counter(
        engine, CounterPurchase(goods=goods, bookings=bookings, **values), NOW, token
    )


def test_it_is_ordered_paid_received_and_in_the_kit_at_once(yard: Engine) -> None:
    number = booked(yard, "X1").number
    view = bought(yard, 6, number)
    (line,) = view.lines
    assert (view.bill, view.state, view.total, view.due) == ("4711", "complete", PAID, NOW.date())
    assert (line.part, line.received, line.promised) == ("P-R", 6000, ())
    assert balances(yard) == {("yard", "RING", "C1"): (6000, 4000)}
    with reading(yard) as session:
        need = needed(booking_view(session, find_booking(session, number)), "RING")
    assert (need.on_shelf, need.short) == (4000, 0)
    assert_ledger(yard)
    assert audit(yard, NOW).fine


def test_for_nobody_it_lies_free_on_the_shelf(yard: Engine) -> None:
    booked(yard, "X1")
    bought(yard, 3)
    assert balances(yard) == {("yard", "RING", "C1"): (3000, 0)}


def test_sent_twice_it_is_recorded_once(yard: Engine) -> None:
    first, second = bought(yard, 3, token="t"), bought(yard, 3, token="t")
    assert first == second
    assert balances(yard) == {("yard", "RING", "C1"): (3000, 0)}


def test_rubber_is_asked_for_its_age(yard: Engine) -> None:
    with pytest.raises(KittingError, match="RING ages: state when it was made"):
        bought(yard, made=None)
    assert balances(yard) == {}
    number = booked(yard, "X1").number
    bought(yard, 4, number, made=None, age_unknown=True)
    # It is there for who waits, yet nothing unknown counts as fine.
    assert balances(yard) == {("yard", "RING", "C1"): (4000, 4000)}
    with reading(yard) as session:
        view = booking_view(session, find_booking(session, number))
    assert not view.ready
    assert [(d.aspect, d.verdict) for d in view.doubts] == [(Aspect.AGE, Verdict.UNKNOWN)]
    bought(yard, 2, made=None, item="BOLT", bill="4712")


def test_what_cannot_be_is_refused_and_nothing_is_written(yard: Engine) -> None:
    for wrong, why in (
        ({"paid": Money(640, "EUR")}, "is paid in GBP, not in EUR"),
        ({"bill": "  "}, "number of the receipt"),
        ({"bill": "4" * 41}, "40 characters at most"),
        ({"good": 0}, "more than nothing"),
        ({"made": date(2026, 5, 1)}, "still to come"),
    ):
        with pytest.raises(KittingError, match=why):
            bought(yard, **wrong)
    with pytest.raises(UnknownNameError, match="Did you mean prompt"):
        bought(yard, supplier="promt")
    with reading(yard) as session:
        assert list_orders(session) == ()
    assert balances(yard) == {}


def test_it_teaches_no_lead_time(yard: Engine) -> None:
    for no in range(12):
        bought(yard, 1, bill=f"R{no}")
    with reading(yard) as session:
        (supplier,) = (s for s in session.query(Supplier) if s.code == "prompt")
        assert read_suppliers(session, [supplier.id], NOW)[supplier.id].terms.lead.observed == ()


def test_an_item_of_a_bill_is_recorded_once_unless_the_bill_has_it_twice(yard: Engine) -> None:
    bought(yard, 3, bill="A 17")
    for bill in ("A 17", "a17"):
        with pytest.raises(
            KittingError, match=r"3 of RING for £6\.40 are recorded of bill A 17 of"
        ):
            bought(yard, 2, bill=bill, paid=Money(430, "GBP"))
    assert balances(yard) == {("yard", "RING", "C1"): (3000, 0)}
    bought(yard, 3, bill="A 17", another_line=True)
    bought(yard, 1, bill="A 18")
    bought(yard, 1, bill="A 17", item="BOLT", made=None)
    bought(yard, 1, bill="A 17", supplier="slow")
    assert balances(yard)["yard", "RING", "C1"] == (8000, 0)


def test_recorded_wrongly_it_is_taken_back_and_recorded_anew(yard: Engine) -> None:
    """The advice of the refusal, followed."""
    bought(yard, 3)
    take_back_receipt(yard, "P0001", "RING", "two, not three", NOW)
    cancel_order(yard, "P0001", NOW)
    assert bought(yard, 2).total == PAID
    assert balances(yard) == {("yard", "RING", "C1"): (2000, 0)}
    with reading(yard) as session:
        assert [order.total.minor for order in list_orders(session)] == [0, 640]
