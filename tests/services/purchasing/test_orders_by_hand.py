"""Event "order for the shelf or by choice": parts of one supplier, chosen by somebody."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, assert_ledger, booked, load, needed, priced, shop
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand, propose_by_hand
from kitting.services.purchasing.order_view import find_order, list_orders, order_view
from kitting.services.upkeep.audit import audit
from kitting.store import reading
from kitting.views.bookings import NeededView
from kitting.views.orders import HandOrderView

LATER = date(2026, 6, 1)
# Invented: single rings, with a break; a packet of ten; bolts in tens, five at least.
SINGLY = "P-R,RING,2.00 GBP,1 each,10,1.50 GBP"
PACKET = "P-R10,RING,12.00 GBP,10 each"


def asked(engine: Engine, *, supplier: str = "slow", branch: str = "yard",
          bookings: tuple[str, ...] = (), **packs: int) -> HandOrderView:  # fmt: skip
    wanted = HandOrder(
        supplier, {k.replace("_", "-"): n for k, n in packs.items()}, branch, bookings
    )
    with reading(engine) as session:
        return propose_by_hand(session, wanted, NOW)


@pytest.fixture
def shelf(store: Engine, tmp_path: Path) -> Engine:
    load(store, shop({"X1": {"RING": 4}, "X2": {"RING": 2}}))
    priced(store, tmp_path, "slow", SINGLY)
    return store


def ring(engine: Engine, number: str) -> NeededView:
    with reading(engine) as session:
        return needed(booking_view(session, find_booking(session, number)), "RING")


def test_for_the_shelf_it_costs_what_the_list_says(shelf: Engine) -> None:
    """£2.00 each, £1.50 from ten on; carriage £6.95 under £50: 3 × 2.00 + 6.95 = 12.95."""
    view = asked(shelf, RING=3)
    assert (view.goods, view.carriage, view.total) == (
        Money(600, "GBP"), Money(695, "GBP"), Money(1295, "GBP"),
    )  # fmt: skip
    assert asked(shelf, RING=10).goods == Money(1500, "GBP")
    free = asked(shelf, RING=34)
    assert (free.goods, free.carriage) == (Money(5100, "GBP"), Money(0, "GBP"))
    # Ordered on Thursday 14:20 after the cut-off at 12:00, before Easter: counts for Tuesday.
    assert (view.arrives, view.late) == (date(2026, 4, 10), date(2026, 4, 14))
    assert (view.lines[0].for_bookings, view.lines[0].spare, view.order) == (0, 3000, None)
    with reading(shelf) as session:
        assert list_orders(session) == ()


def test_what_is_for_the_shelf_is_free_until_a_booking_asks(shelf: Engine) -> None:
    placed = place_by_hand(shelf, HandOrder("slow", {"RING": 5}, "yard"), NOW)
    assert placed.order == "P0001"
    with reading(shelf) as session:
        view = order_view(session, find_order(session, "P0001"))
    assert (view.total, view.lines[0].promised) == (placed.total, ())
    assert ring(shelf, booked(shelf, "X1", on=LATER).number).coming == 4000
    assert_ledger(shelf)
    assert audit(shelf, NOW).fine


def test_what_is_for_a_booking_is_promised_to_it_and_the_rest_is_free(shelf: Engine) -> None:
    first, second = (booked(shelf, job, on=LATER).number for job in ("X1", "X2"))
    view = asked(shelf, RING=5, bookings=(second,))
    assert (view.lines[0].for_bookings, view.lines[0].spare) == (2000, 3000)
    place_by_hand(shelf, HandOrder("slow", {"RING": 5}, "yard", (second,)), NOW)
    assert (ring(shelf, second).coming, ring(shelf, first).coming) == (2000, 0)
    assert_ledger(shelf)


def test_it_is_promised_to_its_booking_even_if_it_comes_late(shelf: Engine) -> None:
    number = booked(shelf, "X1", on=date(2026, 4, 8)).number
    place_by_hand(shelf, HandOrder("slow", {"RING": 4}, "yard", (number,)), NOW)
    assert ring(shelf, number).coming == 4000


def test_sent_twice_it_is_ordered_once(shelf: Engine) -> None:
    wanted = HandOrder("slow", {"RING": 5}, "yard")
    both = [place_by_hand(shelf, wanted, NOW, "token").order for _ in range(2)]
    assert both == ["P0001", "P0001"]
    with reading(shelf) as session:
        assert len(list_orders(session)) == 1


def test_an_item_sold_as_several_parts_is_named_by_its_part(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    priced(store, tmp_path, "slow", SINGLY, PACKET)
    with pytest.raises(KittingError, match=r"Slow sells RING as P-R, P-R10\. Name the part"):
        asked(store, RING=1)
    view = asked(store, P_R10=2)
    assert (view.lines[0].ordered, view.goods) == (20_000, Money(2400, "GBP"))


def test_what_the_supplier_does_not_sell_so_is_refused(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 4}}))
    heading = "part,item,price,pack,minimum,multiple,available"
    priced(store, tmp_path, "slow", "P-R,RING,2.00 GBP,1 each,4,2,12", heading=heading)
    for packs in (0, 2, 5, 14):
        with pytest.raises(
            KittingError, match=r"at least 4 packs, a multiple of 2, at most 12, which is all"
        ):
            asked(store, RING=packs)
    with pytest.raises(KittingError, match="Slow has no price for 'BOLT'"):
        asked(store, BOLT=1)
    with pytest.raises(UnknownNameError, match="Did you mean slow"):
        asked(store, supplier="slov", RING=4)


def test_under_the_least_order_nothing_is_ordered(store: Engine, tmp_path: Path) -> None:
    least = shop({"X1": {"RING": 4}}).replace(
        "carriage: 6.95", "minimum_order: 20.00 GBP\n    carriage: 6.95"
    )
    load(store, least)
    priced(store, tmp_path, "slow", SINGLY)
    with pytest.raises(KittingError, match=r"nothing under .*20\.00.*: .*14\.00.* more of goods"):
        asked(store, RING=3)


def test_it_serves_no_booking_of_another_branch_nor_one_that_is_over(shelf: Engine) -> None:
    there = booked(shelf, "X1", on=LATER, branch="quay").number
    with pytest.raises(KittingError, match=f"{there} is of another branch"):
        asked(shelf, RING=1, bookings=(there,))
