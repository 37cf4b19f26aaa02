"""Event "more came than was ordered": it is kept and charged, or goes back for nothing."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, assert_ledger, balances, booked, load, needed, priced, shop
from kitting.cli.actions import command
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.words import ClaimKind
from kitting.files.output.order_csv import order_csv
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.by_hand import HandOrder, place_by_hand
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.kept_goods import Kept, keep
from kitting.services.purchasing.order_view import find_order, order_view
from kitting.services.stock.holds import put_on_hold, release
from kitting.services.stock.shelves import LotName
from kitting.services.upkeep.audit import audit
from kitting.store import reading, writing
from kitting.tables.stock import Lot
from kitting.views.orders import OrderView

TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FRESH, LATER = date(2026, 3, 31), date(2026, 4, 20)


@pytest.fixture
def over(store: Engine, tmp_path: Path) -> Engine:
    """P0001 of two packs of ten at £8.40 and £1.50 core; 33 came: 13 in R1-OVER, on hold."""
    load(store, shop({"X1": {"RING": 24}}))
    priced(store, tmp_path, "prompt", "P-R,RING,8.40 GBP,10 each,1.50 GBP,yes",
           heading="part,item,price,pack,core,returns")  # fmt: skip
    place_by_hand(store, HandOrder("prompt", {"RING": 2}, "yard"), NOW)
    receive(store, "P0001", [GoodsReceived("RING", 33_000, lot="R1", made=FRESH)], TUESDAY)
    return store


def kept(engine: Engine, much: int, lot: str | None = None, token: str | None = None) -> OrderView:
    return keep(engine, "P0001", Kept("RING", Quantity(much * 1000, "each"), lot), TUESDAY, token)


def sent_back(engine: Engine, much: int, lot: str) -> OrderView:
    new = NewClaim(ClaimKind.RETURN, "RING", Quantity(much * 1000, "each"), "too many", lot)
    return claim(engine, "P0001", new, TUESDAY)


def charged(view: OrderView) -> list[tuple[int, int, int, int]]:
    """Packs, price of a pack, ordered and received, of each line."""
    return [(one.packs, one.price.minor, one.ordered, one.received) for one in view.lines]


def test_it_is_not_ordered_once_more(over: Engine) -> None:
    """The list for the supplier stays as it was, even where the keeping was taken back since."""
    ordered = "part,packs,item,description,order\r\nP-R,2,RING,Ring,P0001\r\n"
    with reading(over) as session:
        before = order_view(session, find_order(session, "P0001"))
    assert (order_csv(before), [one.kept for one in before.lines]) == (ordered, [False])
    view = kept(over, 10)
    assert (order_csv(view), [one.kept for one in view.lines]) == (ordered, [False, True])
    view = take_back_receipt(over, "P0001", "RING", "miscounted", TUESDAY)
    assert (order_csv(view), [one.kept for one in view.lines]) == (ordered, [False, True])


def test_it_is_charged_as_ordered_and_free_for_who_lacks_it(over: Engine) -> None:
    """Three packs are £25.20 and £4.50 core; three singly £2.52 and £0.45."""
    number = booked(over, "X1", on=date(2026, 6, 1)).number
    view = kept(over, 10)
    assert charged(view) == [(2, 840, 20_000, 20_000), (1, 840, 10_000, 10_000)]
    assert (view.state, view.total) == ("complete", Money(2520 + 450, "GBP"))
    assert [one.over for one in view.lines] == [3000, 0]
    assert balances(over) == {
        ("yard", "RING", "R1"): (30_000, 24_000), ("yard", "RING", "R1-OVER"): (3000, 0),
    }  # fmt: skip
    view = kept(over, 3)
    assert charged(view)[2] == (1, 252, 3000, 3000)
    assert (view.total, [one.over for one in view.lines]) == (
        Money(2520 + 450 + 252 + 45, "GBP"), [0, 0, 0],
    )  # fmt: skip
    with reading(over) as session:
        need = needed(booking_view(session, find_booking(session, number)), "RING")
    assert (need.on_shelf, need.short) == (24_000, 0)
    assert_ledger(over)
    assert audit(over, TUESDAY).fine


def test_sent_twice_it_is_kept_once(over: Engine) -> None:
    assert kept(over, 3, token="t") == kept(over, 3, token="t")
    assert balances(over)["yard", "RING", "R1-OVER"] == (10_000, 0)


def test_no_more_than_came_too_much_is_kept(over: Engine) -> None:
    for much in (0, 14):
        with pytest.raises(KittingError, match="13 of lot R1-OVER came too much on P0001"):
            kept(over, much)
    with pytest.raises(UnknownNameError, match="lot 'R1' is none of RING"):
        kept(over, 1, "R1")
    kept(over, 13, "R1-OVER")
    with pytest.raises(KittingError, match="nothing of RING that came too much is there"):
        kept(over, 1)


def test_what_goes_back_of_it_is_none_of_what_was_ordered(over: Engine) -> None:
    view = sent_back(over, 3, "R1-OVER")
    assert (view.claims[0].expected, view.lines[0].over) == (Money(0, "GBP"), 10_000)
    assert sent_back(over, 20, "R1").claims[1].quantity == 20_000
    with pytest.raises(KittingError, match="10 came too much and are neither kept nor sent back"):
        sent_back(over, 11, "R1-OVER")


def test_it_is_not_let_go_before_it_is_kept_or_sent_back(over: Engine) -> None:
    """Neither are pieces that come too much later, in the same packet."""
    name = LotName("yard", "RING", "R1-OVER")
    with pytest.raises(KittingError, match="13 each of it came too much on P0001") as refused:
        release(over, name, TUESDAY)
    assert command(refused.value.then[0]) == (
        'kitting order keep P0001 RING "13 each" --lot R1-OVER'
    )
    sent_back(over, 3, "R1-OVER")
    kept(over, 9)
    with pytest.raises(KittingError, match="1 each of it came too much on P0001"):
        release(over, name, TUESDAY, hold="own")
    kept(over, 1)
    assert release(over, name, TUESDAY).on_hold is None
    receive(over, "P0001", [GoodsReceived("RING", 2000, lot="R1", made=FRESH)], TUESDAY)
    with pytest.raises(KittingError, match="2 each of it came too much on P0001"):
        release(over, name, TUESDAY)
    assert audit(over, TUESDAY).fine


def test_a_recall_of_its_batch_ends_and_it_stays_on_its_own_hold(over: Engine) -> None:
    name = LotName("yard", "RING", "R1-OVER")
    hold = put_on_hold(over, LotName("yard", "RING", "R1"), "recalled", TUESDAY)
    assert "more than ordered" in str(release(over, name, TUESDAY, hold=str(hold.number)).on_hold)


def test_what_was_kept_goes_back_like_what_was_ordered(over: Engine) -> None:
    kept(over, 3)
    with pytest.raises(KittingError, match="which have 20 and 3 left for this, no more"):
        sent_back(over, 24, "R1")
    told = [(one.line, one.quantity) for one in sent_back(over, 21, "R1").claims]
    assert told == [(1, 20_000), (2, 1000)]
    assert [one.line for one in sent_back(over, 2, "R1").claims] == [1, 2, 2]


def test_taken_back_it_is_on_hold_again_and_not_charged(over: Engine) -> None:
    kept(over, 3)
    view = take_back_receipt(over, "P0001", "RING", "the driver took them", TUESDAY)
    assert (view.total, view.lines[0].over) == (Money(1680 + 300, "GBP"), 13_000)
    assert balances(over)["yard", "RING", "R1-OVER"] == (13_000, 0)
    assert_ledger(over)
    assert audit(over, TUESDAY).fine
    take_back_receipt(over, "P0001", "RING", "counted wrongly", TUESDAY)
    assert balances(over)["yard", "RING", "R1"] == (0, 0)


def test_taken_back_nothing_comes_for_it_any_more(over: Engine) -> None:
    """What comes later came too much too, and nothing is sent once more of what was not ordered."""
    kept(over, 3)
    take_back_receipt(over, "P0001", "RING", "the driver took them", TUESDAY)
    with pytest.raises(KittingError, match="0 of RING came unusable or was given up"):
        announce(over, "P0001", Announcement(LATER, "RING", Quantity(3000, "each")), TUESDAY)
    with pytest.raises(KittingError, match="nothing of it is to come"):
        receive(over, "P0001", None, TUESDAY)
    one = GoodsReceived("RING", 1000, lot="R1", made=FRESH)
    view = receive(over, "P0001", [one], TUESDAY)
    assert charged(view) == [(2, 840, 20_000, 20_000), (1, 252, 3000, 0)]
    assert (view.total, view.lines[0].over) == (Money(1680 + 300, "GBP"), 14_000)
    assert balances(over)["yard", "RING", "R1-OVER"] == (14_000, 0)
    assert_ledger(over)
    assert audit(over, TUESDAY).fine


def test_where_its_packet_was_inspected_since_it_is_a_lot_of_its_own_and_recalled_with_it(
    over: Engine,
) -> None:
    with writing(over) as session:
        lot = session.scalars(select(Lot).where(Lot.code == "R1")).one()
        lot.inspected_on, lot.inspection = TUESDAY.date(), "no crack"
        session.commit()
    kept(over, 3)
    assert balances(over)["yard", "RING", "R1-OVER-KEPT"] == (3000, 0)
    put_on_hold(over, LotName("yard", "RING", "R1"), "recalled", TUESDAY)
    with reading(over) as session:
        lot = session.scalars(select(Lot).where(Lot.code == "R1-OVER-KEPT")).one()
        assert (lot.batch, lot.held, lot.made_on) == ("R1", "recalled", FRESH)


def why_held(engine: Engine) -> str | None:
    with reading(engine) as session:
        return session.scalars(select(Lot.own_hold).where(Lot.code == "R1-OVER")).one()


def test_a_lot_that_came_too_much_on_two_orders_names_those_that_it_still_is_of(
    over: Engine,
) -> None:
    place_by_hand(over, HandOrder("prompt", {"RING": 1}, "yard"), TUESDAY)
    came = GoodsReceived("RING", 12_000, lot="R1", made=FRESH)
    receive(over, "P0002", [came], TUESDAY)
    assert why_held(over) == "more than ordered on P0001 and P0002: keep or send back"
    kept(over, 13)
    assert why_held(over) == "more than ordered on P0002: keep or send back"
    take_back_receipt(over, "P0001", "RING", "not kept", TUESDAY)
    assert why_held(over) == "more than ordered on P0001 and P0002: keep or send back"
    take_back_receipt(over, "P0002", "RING", "came on another order", TUESDAY)
    assert why_held(over) == "more than ordered on P0001: keep or send back"
