"""Buying for several bookings, each at its own date; goods that are free or on a van count."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine, func, select, update

from helpers import NOW, assert_ledger, booked, load, needed, priced, shop, stock
from kitting.cli.render.dates import show_dates
from kitting.cli.render.purchasing import show_purchase
from kitting.errors import KittingError
from kitting.facts.units import Quantity
from kitting.facts.words import DateState
from kitting.services.bookings.arrived import arrive
from kitting.services.bookings.pick import cancel, pick
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.open_bookings import open_bookings
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import send
from kitting.store import reading
from kitting.tables.bookings import Promise
from kitting.tables.stock import Lot
from kitting.views.bookings import BookingView
from kitting.views.purchasing import PurchaseView
from kitting.wording.figures import money
from kitting.wording.purchasing import reasons

SOON, LATER = date(2026, 4, 9), date(2026, 6, 1)


def bought(engine: Engine, *numbers: str, now: datetime = NOW, on: date | None = None,
           sure: float = 0.9) -> PurchaseView:  # fmt: skip
    with reading(engine) as session:
        return buy(session, numbers, now, on, sure)


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def total(view: PurchaseView) -> str | None:
    return None if view.total is None else money(view.total)


@pytest.fixture
def two_dates(lite: Engine, tmp_path: Path) -> Engine:
    """Prompt sells dear, Slow cheap: one booking next week, one in two months."""
    load(lite, shop({"X1": {"RING": 1}, "X2": {"BOLT": 4}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,20.00 GBP,1 each", "P-B,BOLT,9.00 GBP,1 each")
    priced(lite, tmp_path, "slow", "S-B,BOLT,0.25 GBP,1 each")
    booked(lite, "X1", on=SOON)
    booked(lite, "X2", on=LATER)
    return lite


def test_p11_each_booking_is_judged_at_its_own_date(two_dates: Engine) -> None:
    """By hand: £20 from Prompt, £1 and £6.95 carriage from Slow; all at the first £20 + £36."""
    view = bought(two_dates, "B0001", "B0002")
    assert total(view) == "£27.95"
    assert [(one.booking, one.fit_on) for one in view.whole] == [("B0001", SOON), ("B0002", LATER)]
    assert view.chance == min(one.chance for one in view.whole)
    assert view.chance >= 0.9
    apart = [bought(two_dates, number).total for number in ("B0001", "B0002")]
    assert sum(one.minor for one in apart if one is not None) == 2795
    assert total(bought(two_dates, "B0001", "B0002", on=SOON)) == "£56.00"


def test_p11_both_are_ordered_and_each_is_promised_its_own(two_dates: Engine) -> None:
    view = place(two_dates, ["B0001", "B0002"], NOW, None, 0.9)
    assert view.orders == ("P0001", "P0002")
    for number, item in (("B0001", "RING"), ("B0002", "BOLT")):
        assert needed(shown(two_dates, number), item).short == 0
    again = bought(two_dates, "B0001", "B0002")
    assert (total(again), again.lacking) == (None, ())
    assert again.chance >= 0.9
    assert_ledger(two_dates)


def test_what_is_too_late_for_one_booking_does_not_keep_the_other_from_being_bought_for(
    two_dates: Engine,
) -> None:
    """Fitted tomorrow nothing comes in time; the other is bought for all the same."""
    booked(two_dates, "X1", on=date(2026, 4, 3))
    view = bought(two_dates, "B0003", "B0002")
    assert [(missing.item, missing.quantity) for missing in view.lacking] == [("RING", 1000)]
    assert total(view) == "£7.95"
    assert view.chance == 0.0
    assert {one.booking: one.chance > 0.9 for one in view.whole} == {"B0003": False, "B0002": True}
    booked(two_dates, "X2", on=date(2026, 4, 3))
    (line,) = bought(two_dates, "B0004", "B0002").parcels[0].lines
    assert (line.needed, reasons(line.why)) == (4000, "for B0002")


def test_where_nothing_comes_in_time_for_any_date_it_is_said(two_dates: Engine) -> None:
    """Two bookings before anything can come: no purchase, and what is lacking is named."""
    booked(two_dates, "X1", on=date(2026, 4, 3))
    booked(two_dates, "X2", on=date(2026, 4, 5))
    view = bought(two_dates, "B0003", "B0004")
    assert (view.total, view.chance, view.best_chance) == (None, 0.0, 0.0)
    assert [(missing.item, missing.quantity) for missing in view.lacking] == [
        ("RING", 1000), ("BOLT", 4000),
    ]  # fmt: skip
    assert view.would_do is not None
    assert place(two_dates, ["B0003", "B0004"], NOW).orders == ()


def test_all_open_bookings_of_a_branch_are_bought_for(two_dates: Engine) -> None:
    cancel(two_dates, "B0001", NOW)
    with reading(two_dates) as session:
        assert open_bookings(session) == ("B0002",)
    booked(two_dates, "X1", on=SOON, branch="quay")
    with reading(two_dates) as session:
        assert open_bookings(session, "quay") == ("B0003",)
        with pytest.raises(KittingError, match="open bookings are of quay, yard"):
            open_bookings(session)


def test_p10_a_transfer_on_its_way_is_counted_and_promised_when_it_arrives(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    stock(store, tmp_path, "quay,RING,A,5 each,1Q25")
    booked(store, "X1", on=date(2026, 4, 20))
    number, due = send(store, LotName("quay", "RING", "A"), Quantity(2000, "each"), "yard", NOW)
    view = bought(store, "B0001")
    assert (view.total, view.lacking, view.chance) == (None, (), 1.0)
    assert [(van.transfer, van.item, van.quantity, van.branch, van.due) for van in view.vans] == [
        (number, "RING", 2000, "quay", due)
    ]
    out = StringIO()
    show_purchase(Console(file=out, width=400, markup=False), view)
    assert "HOW SURELY IS NOT KNOWN and in no chance here, no van from there was" in out.getvalue()
    assert "All of it is here in time with at most 100%" in out.getvalue()
    with reading(store) as session:
        found = dates(session, ["B0001"], NOW, 0.95)
    assert found.vans == view.vans
    assert found.earliest is not None
    assert (found.safe, view.sure) == (False, False)
    out = StringIO()
    show_dates(Console(file=out, width=400, markup=False), found)
    assert "The chances are at most these:\n  2 × RING comes from quay by van" in out.getvalue()
    rows = [line.split() for line in out.getvalue().splitlines() if "SAFE" in line]
    assert len(rows) == sum(day.state is DateState.SAFE for day in found.dates)
    assert all(" at most " in " ".join(row) for row in rows)
    assert all("SAFE IF THE VAN KEEPS ITS DAY" in " ".join(row) for row in rows)
    assert "safe date" not in out.getvalue()
    assert {day.state for day in found.dates if day.on > date(2026, 4, 8)} == {DateState.SAFE}
    assert {day.cost for day in found.dates} <= {None, found.dates[0].cost}
    arrive(store, number, NOW + timedelta(hours=3))
    with reading(store) as session:
        assert dates(session, ["B0001"], NOW, 0.95).safe
    assert bought(store, "B0001").sure
    line = needed(shown(store, "B0001"), "RING")
    assert (line.short, [one.lot for one in line.sources]) == (0, ["A"])
    assert_ledger(store)


def test_p10_one_transfer_is_not_counted_for_two_bookings(lite: Engine, tmp_path: Path) -> None:
    """The earlier one takes it, whoever is asked about."""
    load(lite, shop({"X1": {"RING": 2}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    stock(lite, tmp_path, "quay,RING,A,5 each,1Q25")
    booked(lite, "X1", on=date(2026, 4, 20))
    booked(lite, "X1", on=date(2026, 4, 21))
    send(lite, LotName("quay", "RING", "A"), Quantity(3000, "each"), "yard", NOW)
    (line,) = bought(lite, "B0002").parcels[0].lines
    assert line.ordered == 1000
    (line,) = bought(lite, "B0001", "B0002").parcels[0].lines
    assert line.ordered == 1000
    assert bought(lite, "B0001").parcels == ()


@pytest.mark.parametrize("days", [6, 30])
def test_an_overdue_van_is_not_relied_on(lite: Engine, tmp_path: Path, days: int) -> None:
    load(lite, shop({"X1": {"RING": 2}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    stock(lite, tmp_path, "quay,RING,A,5 each,1Q25")
    booked(lite, "X1", on=LATER)
    send(lite, LotName("quay", "RING", "A"), Quantity(2000, "each"), "yard", NOW)
    view = bought(lite, "B0001", now=NOW + timedelta(days=days))
    assert (view.vans, total(view)) == ((), "£5.80")


def test_p6_what_comes_free_is_counted_as_placing_would(lite: Engine, tmp_path: Path) -> None:
    """Ten come for one who needs three; the next needs four of them, and nothing is bought."""
    load(lite, shop({"X1": {"RING": 3}, "X2": {"RING": 4}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,8.40 GBP,10 each")
    booked(lite, "X1", on=LATER)
    place(lite, ["B0001"], NOW)
    booked(lite, "X2", on=LATER)
    with reading(lite) as session:
        assert needed(booking_view(session, find_booking(session, "B0002")), "RING").short in (0, 4)
    view = bought(lite, "B0002")
    assert (view.total, [one.order for one in view.awaited]) == (None, ["P0001"])
    placed = place(lite, ["B0002"], NOW)
    assert (placed.orders, placed.chance) == ((), view.chance)


def test_p6_what_lies_free_on_the_shelf_is_counted_before_buying(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"RING": 3}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,1.00 GBP,1 each")
    booked(lite, "X1", on=LATER)
    booked(lite, "X1", on=LATER + timedelta(days=1))
    stock(lite, tmp_path, "yard,RING,A,4 each,1Q25")
    (line,) = bought(lite, "B0001", "B0002").parcels[0].lines
    assert (line.ordered, line.needed) == (2000, 2000)
    with reading(lite) as session:
        found = dates(session, ["B0001"], NOW, 0.95)
    assert {(day.state, day.cost) for day in found.dates} == {(DateState.SAFE, None)}


def test_p19_goods_do_not_arrive_before_they_were_sent(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 2}}))
    stock(lite, tmp_path, "quay,RING,A,5 each,1Q25")
    number, _ = send(lite, LotName("quay", "RING", "A"), Quantity(2000, "each"), "yard", NOW)
    with pytest.raises(KittingError, match="was sent 2026-04-02 14:20 and cannot arrive"):
        arrive(lite, number, NOW - timedelta(minutes=1))
    arrive(lite, number, NOW)


def test_what_is_bought_for_a_later_booking_is_not_taken_by_an_earlier_one_it_is_too_late_for(
    lite: Engine, tmp_path: Path
) -> None:
    """By hand: Slow comes on Fri 10 Apr with one half, which is not sure enough for Mon 13."""
    load(lite, shop({"X1": {"RING": 1}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each")
    booked(lite, "X1", on=date(2026, 4, 13))
    booked(lite, "X1", on=LATER)
    view = place(lite, ["B0001", "B0002"], NOW, None, 0.9)
    assert {one.booking: one.chance > 0.9 for one in view.whole} == {"B0001": False, "B0002": True}
    assert {number: needed(shown(lite, number), "RING").short for number in ("B0001", "B0002")} == {
        "B0001": 1000,
        "B0002": 0,
    }
    again = place(lite, ["B0001", "B0002"], NOW, None, 0.9)
    assert (again.orders, [one.item for one in again.lacking]) == ((), ["RING"])
    assert_ledger(lite)


def test_what_is_left_over_of_a_pack_goes_to_who_hopes_for_it(lite: Engine, tmp_path: Path) -> None:
    """Five come for the later booking, which needs one; the earlier one may have another."""
    load(lite, shop({"X1": {"RING": 1}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,5 each")
    booked(lite, "X1", on=date(2026, 4, 14))
    booked(lite, "X1", on=LATER)
    place(lite, ["B0001", "B0002"], NOW, None, 0.9)
    assert [needed(shown(lite, number), "RING").short for number in ("B0001", "B0002")] == [0, 0]


def test_what_has_to_be_there_is_promised_before_spares_of_an_earlier_booking(
    lite: Engine, tmp_path: Path
) -> None:
    """Two are bought, one for each; the spare of the first is brought only if one is left."""
    text = shop(
        {"X1": {"CLIP": 1}, "X2": {"RING": 1}}, "  - {code: CLIP, name: Clip, kind: wire-clip}"
    )
    spare = "fits:\n          - {item: CLIP, position: spare, quantity: 1 each}"
    load(lite, spare.join(text.rsplit("fits:", 1)))
    stock(lite, tmp_path, "yard,RING,A,5 each,1Q25")
    priced(lite, tmp_path, "prompt", "P-C,CLIP,0.40 GBP,1 each")
    booked(lite, "X1", "X2", on=SOON)
    booked(lite, "X1", on=LATER)
    place(lite, ["B0001", "B0002"], NOW, None, 0.9)
    assert needed(shown(lite, "B0001"), "CLIP", "renew").short == 0
    assert needed(shown(lite, "B0001"), "CLIP", "inspect").short == 1000
    assert needed(shown(lite, "B0002"), "CLIP").short == 0


def test_what_is_bought_in_place_of_a_kit_on_hold_is_not_promised_beside_it(
    lite: Engine, tmp_path: Path
) -> None:
    """Two lie in the kit on hold: two are bought, and free until the others leave the kit."""
    load(lite, shop({"X1": {"RING": 2}}))
    stock(lite, tmp_path, "yard,RING,A,2 each,1Q26")
    priced(lite, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each")
    booked(lite, "X1", on=LATER)
    pick(lite, "B0001", NOW)
    with lite.begin() as connection:
        connection.execute(update(Lot).values(own_hold="recalled"))
    view = place(lite, ["B0001"], NOW, None, 0.9)
    assert view.orders == ("P0001",)
    with reading(lite) as session:
        waiting = session.scalars(select(func.sum(Promise.waiting))).one()
        (line,) = order_view(session, find_order(session, "P0001")).lines
    assert (waiting, line.ordered, line.promised) == (0, 2000, ())
    again = bought(lite, "B0001")
    assert (again.parcels, [one.order for one in again.awaited]) == ((), ["P0001"])
    assert_ledger(lite)


def test_what_comes_late_and_cannot_be_bought_anew_is_waited_for_still(
    lite: Engine, tmp_path: Path
) -> None:
    """What is on its way comes with one half in time: better than nothing."""
    load(lite, shop({"X1": {"RING": 1}, "X2": {"BOLT": 4}}))
    priced(lite, tmp_path, "slow", "S-R,RING,0.40 GBP,1 each", "S-B,BOLT,0.25 GBP,1 each")
    booked(lite, "X1", on=LATER)
    (late,) = place(lite, ["B0001"], NOW, None, 0.9).orders
    booked(lite, "X2", on=LATER)
    place(lite, ["B0001", "B0002"], NOW, date(2026, 4, 10), 0.4)
    sources = needed(shown(lite, "B0001"), "RING").sources
    assert [source.order for source in sources] == [late]
