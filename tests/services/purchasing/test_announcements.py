"""Event "supplier announces a new date; overdue orders marked", and N9: damaged and wrong goods."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, booked, load, needed, priced, shop
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.units import Quantity
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.order_view import find_order, list_orders, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.bookings import NeededView
from kitting.views.orders import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FIT = date(2026, 4, 15)
MONDAY, LATER = date(2026, 4, 13), date(2026, 4, 20)


@pytest.fixture
def ordered(store: Engine, tmp_path: Path) -> Engine:
    """P0001 of six rings and two bolts for B0001 on 15 April, due on the 7th."""
    load(store, shop({"X1": {"RING": 6, "BOLT": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each", "P-B,BOLT,0.10 GBP,1 each")
    number = booked(store, "X1", on=FIT).number
    assert place(store, [number], NOW).orders == ("P0001",)
    return store


def said(engine: Engine, due: date, item: str | None = None, again: int | None = None,
         token: str | None = None) -> OrderView:  # fmt: skip
    more = None if again is None else Quantity(again * 1000, "each")
    return announce(engine, "P0001", Announcement(due, item, more, "strike"), TUESDAY, token)


def ring(engine: Engine) -> NeededView:
    with reading(engine) as session:
        return needed(booking_view(session, find_booking(session, "B0001"), TUESDAY.date()), "RING")


def test_the_new_date_holds_and_the_one_of_before_stays_on_record(ordered: Engine) -> None:
    said(ordered, MONDAY)
    view = said(ordered, LATER)
    assert (view.due, view.due_late, view.state) == (LATER, LATER, "placed")
    assert [(one.due, one.why) for one in view.lines[0].notices] == [
        (MONDAY, "strike"), (LATER, "strike"),
    ]  # fmt: skip
    (source,) = ring(ordered).sources
    assert (source.due, source.late) == (LATER, True)
    assert_ledger(ordered)
    assert audit(ordered, TUESDAY).fine


def test_chances_are_judged_by_the_announced_date(ordered: Engine) -> None:
    """Due on the 7th all is in time for the 15th; announced for the 20th it is bought anew."""
    with reading(ordered) as session:
        before = buy(session, ["B0001"], NOW)
    assert (before.total, before.awaited[0].late) == (None, False)
    assert before.awaited[0].chance > 0.95
    said(ordered, MONDAY)
    with reading(ordered) as session:
        near = buy(session, ["B0001"], TUESDAY)
    assert 0.5 < near.awaited[0].chance < before.awaited[0].chance
    said(ordered, LATER)
    with reading(ordered) as session:
        after = buy(session, ["B0001"], TUESDAY)
    (one,) = after.awaited
    assert (one.late, one.chance, one.due) == (True, 0.0, LATER)
    assert after.total is not None


def test_one_item_is_announced_and_the_other_keeps_its_date(ordered: Engine) -> None:
    view = said(ordered, LATER, "BOLT")
    due = {line.item: line.due for line in view.lines}
    assert due == {"RING": date(2026, 4, 7), "BOLT": LATER}
    assert view.due == LATER


def test_what_is_due_and_not_here_is_overdue(ordered: Engine) -> None:
    due = date(2026, 4, 7)
    for days, overdue in ((0, False), (1, True)):
        with reading(ordered) as session:
            (view,) = list_orders(session, today=due + timedelta(days=days))
        assert view.overdue is overdue
    said(ordered, LATER)
    with reading(ordered) as session:
        order = find_order(session, "P0001")
        assert not order_view(session, order, LATER).overdue
        assert order_view(session, order, LATER + timedelta(days=1)).overdue
    receive(ordered, "P0001", None, TUESDAY, made=date(2026, 3, 31))
    with reading(ordered) as session:
        assert not order_view(session, find_order(session, "P0001"), date(2026, 6, 1)).overdue


def test_what_came_damaged_or_wrong_is_lacking_until_it_is_sent_once_more(
    ordered: Engine,
) -> None:
    came = GoodsReceived("RING", 3000, damaged=2000, wrong=1000, made=date(2026, 3, 31))
    receive(ordered, "P0001", [came], TUESDAY)
    assert (ring(ordered).on_shelf, ring(ordered).coming, ring(ordered).short) == (3000, 0, 3000)
    with reading(ordered) as session:
        proposed = buy(session, ["B0001"], TUESDAY)
    (line,) = proposed.parcels[0].lines
    assert (line.item, line.needed) == ("RING", 3000)
    view = said(ordered, MONDAY, "RING", again=2)
    found = next(one for one in view.lines if one.item == "RING")
    assert (found.lost, found.coming, found.due) == (1000, 2000, MONDAY)
    assert (ring(ordered).coming, ring(ordered).short) == (2000, 1000)
    assert_ledger(ordered)
    receive(ordered, "P0001", [GoodsReceived("RING", 2000, made=date(2026, 3, 31))], TUESDAY)
    assert (ring(ordered).on_shelf, ring(ordered).short) == (5000, 1000)
    assert audit(ordered, TUESDAY).fine


def test_what_is_sent_too_late_once_more_is_not_waited_for(ordered: Engine) -> None:
    receive(ordered, "P0001", [GoodsReceived("RING", 0, damaged=6000)], TUESDAY)
    said(ordered, LATER, "RING", again=6)
    assert (ring(ordered).coming, ring(ordered).short) == (0, 6000)


def test_what_cannot_be_is_refused(ordered: Engine) -> None:
    with pytest.raises(KittingError, match="2026-04-06 is past"):
        said(ordered, date(2026, 4, 6))
    with pytest.raises(UnknownNameError, match=r"has no 'CLAMP'\. It has: BOLT, RING"):
        said(ordered, LATER, "CLAMP")
    with pytest.raises(KittingError, match="0 of RING came unusable or was given up"):
        said(ordered, LATER, "RING", again=1)
    with pytest.raises(KittingError, match="of which item"):
        said(ordered, LATER, again=1)
    receive(ordered, "P0001", None, TUESDAY, made=date(2026, 3, 31))
    with pytest.raises(KittingError, match="nothing of it is to come"):
        said(ordered, LATER)


def test_sent_twice_it_is_announced_once(ordered: Engine) -> None:
    said(ordered, LATER, token="t")
    assert len(said(ordered, LATER, token="t").lines[0].notices) == 1
