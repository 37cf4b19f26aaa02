"""Goods in: what came, what did not, who is promised the lot, orders cancelled."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import (
    NOW,
    assert_ledger,
    balances,
    booked,
    load,
    needed,
    priced,
    said,
    shop,
    stock,
)
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.money import Money
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect
from kitting.facts.words import BookingState, ClaimKind
from kitting.services.bookings.booking import renew_promises, step_to
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.announcements import Announcement, announce
from kitting.services.purchasing.cancellation import cancel_order
from kitting.services.purchasing.claims import NewClaim, claim
from kitting.services.purchasing.corrections import take_back_receipt
from kitting.services.purchasing.credit_notes import Credit, credit
from kitting.services.purchasing.delivery_notes import receive_notes
from kitting.services.purchasing.goods_in import GoodsReceived
from kitting.services.purchasing.goods_in import receive as take_in
from kitting.services.purchasing.order_view import find_order, list_orders, order_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import send
from kitting.store import reading
from kitting.tables.stock import Lot
from kitting.tables.supply import OrderLine, Receipt
from kitting.views.bookings import BookingView, NeededView
from kitting.views.orders import OrderView
from kitting.wording.figures import money
from kitting.wording.purchasing import parcel_sum

LATER = date(2026, 6, 1)
TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
FRESH = date(2026, 3, 31)
ONE = Quantity(1000, "each")
OWN = ("yard", "RING", "P0001-RING")


def receive(engine: Engine, *came: GoodsReceived, order: str = "P0001") -> OrderView:
    return take_in(engine, order, came or None, TUESDAY)


def ordered(engine: Engine, folder: Path, *needs: int) -> None:
    """Bookings B0001, B0002 … of one job each, one order of all they need (invented prices)."""
    load(engine, shop({f"X{no}": {"RING": need} for no, need in enumerate(needs, 1)}))
    priced(engine, folder, "prompt", "P-R,RING,0.40 GBP,1 each")
    numbers = [
        booked(engine, f"X{no}", on=date(2026, 6, no)).number for no in range(1, len(needs) + 1)
    ]
    assert place(engine, numbers, NOW).orders == ("P0001",)


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def ring(engine: Engine, number: str) -> NeededView:
    return needed(shown(engine, number), "RING")


def covered(engine: Engine, number: str) -> tuple[int, int, int]:
    """On the shelf, to come, short."""
    line = ring(engine, number)
    return line.on_shelf, line.coming, line.short


def state(view: OrderView) -> tuple[str, int, int, tuple[str, ...]]:
    (line,) = view.lines
    return view.state, line.received, line.lost, line.promised


def receipts(engine: Engine) -> list[tuple[int, int, int, int]]:
    """Good, damaged, wrong, over."""
    with engine.connect() as connection:
        rows = connection.execute(
            select(Receipt.good, Receipt.damaged, Receipt.wrong, Receipt.over).order_by(Receipt.id)
        )
        return [(row[0], row[1], row[2], row[3]) for row in rows]


def test_an_order_tells_what_it_costs_and_who_waits(store: Engine, tmp_path: Path) -> None:
    ordered(store, tmp_path, 8, 4)
    with reading(store) as session:
        view = order_view(session, find_order(session, "p0001"))
        assert list_orders(session) == (view,)
        with pytest.raises(UnknownNameError, match=r"order 'P0002': unknown name\. Known: P0001"):
            find_order(session, "P0002")
    assert (view.supplier, view.branch, view.placed_at, view.due, view.total) == (
        "prompt", "yard", NOW, date(2026, 4, 7), Money(480, "GBP"),
    )  # fmt: skip
    assert state(view) == ("placed", 0, 0, ("B0001", "B0002"))


def test_p19_the_total_of_an_order_has_its_cores_and_falls_by_what_is_lost(
    store: Engine, tmp_path: Path
) -> None:
    """By hand: two packs of ten at £8.40 and £1.50 core each; one pack is lost: £9.90 off."""
    load(store, shop({"X1": {"RING": 20}}))
    priced(store, tmp_path, "slow", "S-R,RING,8.40 GBP,10 each,1.50 GBP",
           heading="part,item,price,pack,core")  # fmt: skip
    booked(store, "X1", on=date(2026, 6, 1))
    place(store, ["B0001"], NOW)

    def sums() -> list[str]:
        with reading(store) as session:
            view = order_view(session, find_order(session, "P0001"))
        parts = view.goods, view.carriage, view.cores, view.lost, view.total
        return [money(one) for one in parts]

    assert sums() == ["£16.80", "£6.95", "£3.00", "£0.00", "£26.75"]
    some = GoodsReceived("RING", 10_000, made=date(2026, 1, 5), final=True)
    take_in(store, "P0001", [some], NOW + timedelta(days=8))
    assert sums() == ["£16.80", "£6.95", "£3.00", "£9.90", "£16.85"]


def test_all_came_and_each_booking_is_promised_the_lot_itself(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8, 4)
    assert state(receive(store)) == ("complete", 12_000, 0, ())
    assert balances(store) == {OWN: (12_000, 12_000)}
    assert (covered(store, "B0001"), covered(store, "B0002")) == ((8000, 0, 0), (4000, 0, 0))
    assert [s.lot for s in ring(store, "B0001").sources] == ["P0001-RING"]
    # Nobody said when the rings were made.
    assert [d.aspect for d in shown(store, "B0001").doubts] == [Aspect.AGE]
    assert receipts(store) == [(12_000, 0, 0, 0)]
    with pytest.raises(KittingError, match="nothing of it is to come any more"):
        receive(store)
    assert receipts(store) == [(12_000, 0, 0, 0)]
    assert_ledger(store)


def test_when_less_came_the_earliest_date_is_served_and_the_rest_is_waited_for(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8, 4)
    view = receive(store, GoodsReceived("RING", 9000, lot="R26", made=FRESH, bin="R1-01"))
    assert state(view) == ("part received", 9000, 0, ("B0002",))
    assert (covered(store, "B0001"), covered(store, "B0002")) == ((8000, 0, 0), (1000, 3000, 0))
    source = ring(store, "B0001").sources[0]
    assert (source.lot, source.bin, source.keeps_to) == ("R26", "R1-01", date(2036, 3, 31))
    assert said(shown(store, "B0002").lacking) == ["RING: 3 not here yet, due 2026-04-07"]
    assert state(receive(store)) == ("complete", 12_000, 0, ())
    assert covered(store, "B0002") == (4000, 0, 0)
    assert_ledger(store)


def test_when_the_rest_will_not_come_who_waited_for_it_is_short_again(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8, 4)
    view = receive(store, GoodsReceived("RING", 9000, made=FRESH, final=True))
    assert state(view) == ("complete", 9000, 3000, ())
    assert (covered(store, "B0001"), covered(store, "B0002")) == ((8000, 0, 0), (1000, 0, 3000))
    assert place(store, ["B0002"], TUESDAY).orders == ("P0002",)
    assert covered(store, "B0002") == (1000, 3000, 0)
    assert_ledger(store)


def test_what_came_too_much_lies_apart_held_until_somebody_decides(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8)
    assert state(receive(store, GoodsReceived("RING", 11_000, lot="R26", made=FRESH))) == (
        "complete", 8000, 0, (),
    )  # fmt: skip
    over = ("yard", "RING", "R26-OVER")
    assert balances(store) == {("yard", "RING", "R26"): (8000, 8000), over: (3000, 0)}
    assert receipts(store) == [(8000, 0, 0, 3000)]
    line = needed(booked(store, "X1", on=LATER), "RING")
    assert (line.on_shelf, line.short) == (0, 8000)
    receive(store, GoodsReceived("RING", 1000, lot="R26", made=FRESH))
    assert needed(renew_promises(store, "B0002"), "RING").on_shelf == 0
    assert balances(store)[over] == (4000, 0)
    assert_ledger(store)


def test_damaged_and_wrong_pieces_are_told_and_never_on_the_shelf(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8)
    came = GoodsReceived("RING", 5000, damaged=2000, wrong=1000, made=FRESH, note="box crushed")
    assert state(receive(store, came)) == ("complete", 5000, 3000, ())
    assert balances(store) == {OWN: (5000, 5000)}
    assert receipts(store) == [(5000, 2000, 1000, 0)]
    # Nobody waits for what came unusable: it is short at once.
    assert covered(store, "B0001") == (5000, 0, 3000)
    assert said(shown(store, "B0001").lacking) == ["RING: 3 short"]
    with reading(store) as session:
        assert buy(session, ["B0001"], TUESDAY).parcels[0].lines[0].item == "RING"
    # Sent again it is taken in, and is not too much.
    again = GoodsReceived("RING", 3000, made=FRESH, lot="AGAIN")
    assert state(receive(store, again))[:3] == ("complete", 8000, 0)
    assert receipts(store)[1:] == [(3000, 0, 0, 0)]
    assert_ledger(store)


@pytest.mark.parametrize(("good", "still"), [(8000, 0), (5000, 3000)])
def test_what_is_expired_when_it_comes_is_held_and_promised_to_nobody(
    store: Engine, tmp_path: Path, good: int, still: int
) -> None:
    ordered(store, tmp_path, 8)
    receive(store, GoodsReceived("RING", good, lot="OLD", expires=date(2026, 4, 6)))
    assert balances(store) == {("yard", "RING", "OLD"): (good, 0)}
    assert covered(store, "B0001") == (0, still, 8000 - still)
    with pytest.raises(KittingError, match="on hold: expired when it came"):
        send(store, LotName("yard", "RING", "OLD"), Quantity(1000, "each"), "quay", TUESDAY)
    assert_ledger(store)


def test_of_a_lot_that_is_held_and_comes_in_again_nothing_is_promised(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8)
    stock(store, tmp_path, "yard,RING,R26,1 each,1Q26,,,recalled")
    receive(store, GoodsReceived("RING", 5000, lot="R26", made=FRESH))
    assert balances(store) == {("yard", "RING", "R26"): (6000, 0)}
    assert covered(store, "B0001") == (0, 3000, 5000)
    assert_ledger(store)


def test_what_does_not_keep_until_a_fitting_date_goes_to_the_bookings_it_keeps_for(
    store: Engine, tmp_path: Path
) -> None:
    """B0001 is on 1 June, B0002 on 2 June; the lot keeps to 1 June."""
    ordered(store, tmp_path, 8, 4)
    receive(store, GoodsReceived("RING", 12_000, expires=date(2026, 6, 1)))
    assert (covered(store, "B0001"), covered(store, "B0002")) == ((8000, 0, 0), (0, 0, 4000))
    assert balances(store) == {OWN: (12_000, 8000)}
    assert_ledger(store)


def test_a_second_packet_of_another_age_is_not_added_to_the_first(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8)
    receive(store, GoodsReceived("RING", 5000, lot="R26", made=FRESH))
    with pytest.raises(KittingError, match="lot R26 is here with other dates"):
        receive(store, GoodsReceived("RING", 3000, lot="R26", made=date(2018, 6, 30)))
    assert balances(store) == {("yard", "RING", "R26"): (5000, 5000)}
    assert receipts(store) == [(5000, 0, 0, 0)]
    receive(store, GoodsReceived("RING", 3000, lot="R26", made=FRESH))
    assert balances(store) == {("yard", "RING", "R26"): (8000, 8000)}
    assert_ledger(store)


def test_rubber_of_unknown_age_does_not_gain_the_date_of_the_lot_that_is_here(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8)
    receive(store, GoodsReceived("RING", 5000, lot="R26", made=FRESH))
    with pytest.raises(KittingError, match="lot R26 is here with made on 2026-03-31, and this"):
        receive(store, GoodsReceived("RING", 3000, lot="R26"))
    receive(store, GoodsReceived("RING", 5000, lot="R26", made=FRESH))
    over = ("yard", "RING", "R26-OVER")
    assert balances(store)[over] == (2000, 0)
    with pytest.raises(KittingError, match="lot R26-OVER is here with made on 2026-03-31"):
        receive(store, GoodsReceived("RING", 1000, lot="R26"))
    assert balances(store)[over] == (2000, 0)
    assert_ledger(store)


def test_one_delivery_may_hold_two_lots_of_an_item(store: Engine, tmp_path: Path) -> None:
    ordered(store, tmp_path, 8)
    old = GoodsReceived("RING", 3000, lot="R25", made=date(2025, 3, 31))
    assert state(receive(store, old, GoodsReceived("RING", 6000, lot="R26", made=FRESH))) == (
        "complete", 8000, 0, (),
    )  # fmt: skip
    assert balances(store) == {
        ("yard", "RING", "R25"): (3000, 3000), ("yard", "RING", "R26"): (5000, 5000),
        ("yard", "RING", "R26-OVER"): (1000, 0),
    }  # fmt: skip
    assert_ledger(store)


def test_an_item_bought_by_the_pack_and_singly_comes_in_on_both_lines(
    store: Engine, tmp_path: Path
) -> None:
    """Twelve: ten for £8.40 and two at £2.90 (invented prices) are cheaper than two packs."""
    load(store, shop({"X1": {"RING": 12}}))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each", "P-TEN,RING,8.40 GBP,10 each")
    booked(store, "X1", on=LATER)
    assert place(store, ["B0001"], NOW).total == Money(1420, "GBP")
    short = receive(store, GoodsReceived("RING", 11_000, made=FRESH))
    assert (short.state, sum(line.received for line in short.lines)) == ("part received", 11_000)
    assert covered(store, "B0001") == (11_000, 1000, 0)
    view = receive(store, GoodsReceived("RING", 1000, made=FRESH))
    assert view.state == "complete"
    assert sorted(line.received for line in view.lines) == [2000, 10_000]
    assert covered(store, "B0001") == (12_000, 0, 0)
    assert_ledger(store)


@pytest.mark.parametrize(
    ("came", "told"),
    [
        (GoodsReceived("BOLT", 1000), "P0001 has no 'BOLT'. It has: RING"),
        (GoodsReceived("RING", -1000), "RING: an amount must not be negative"),
        (GoodsReceived("RING", 1000, damaged=-1), "RING: an amount must not be negative"),
        (GoodsReceived("RING", 1000, lot="L" * 41), "is longer than 40 characters"),
        (GoodsReceived("RING", 0, lot="L1"), "P0001: it is not said how much of RING came"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_of_the_delivery_recorded(
    lite: Engine, tmp_path: Path, came: GoodsReceived, told: str
) -> None:
    ordered(lite, tmp_path, 8)
    with pytest.raises(KittingError, match=told):
        receive(lite, GoodsReceived("RING", 2000, made=FRESH), came)
    assert (balances(lite), receipts(lite)) == ({}, [])
    assert covered(lite, "B0001") == (0, 8000, 0)
    assert_ledger(lite)


def test_nothing_is_given_up_of_what_has_come(store: Engine, tmp_path: Path) -> None:
    ordered(store, tmp_path, 8)
    receive(store)
    with pytest.raises(KittingError, match="nothing of RING is to come any more"):
        receive(store, GoodsReceived("RING", 0, final=True))


def test_a_cancelled_order_frees_who_waited_and_looks_for_what_else_is_free(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 8, 4)
    receive(store, GoodsReceived("RING", 3000, made=FRESH))
    stock(store, tmp_path, "yard,RING,FOUND,6 each,1Q26")
    view = cancel_order(store, "P0001", TUESDAY)
    assert state(view) == ("cancelled", 3000, 0, ())
    # Twelve rings at £0.40 were ordered, three came.
    assert (view.goods, view.lost, view.total) == tuple(Money(n, "GBP") for n in (480, 360, 120))
    assert (covered(store, "B0001"), covered(store, "B0002")) == ((8000, 0, 0), (1000, 0, 3000))
    with pytest.raises(KittingError, match="P0001 is cancelled already"):
        cancel_order(store, "P0001", TUESDAY)
    with pytest.raises(KittingError, match="P0001 was cancelled; send it back or order it anew"):
        receive(store)
    with store.connect() as connection:
        assert connection.scalars(select(OrderLine.promised)).all() == [0]
    assert_ledger(store)


@pytest.mark.parametrize(("good", "damaged", "total"), [(0, 0, 0), (5000, 0, 1190), (0, 1000, 695)])
def test_of_a_cancelled_order_what_came_is_charged_with_its_carriage(
    store: Engine, tmp_path: Path, good: int, damaged: int, total: int
) -> None:
    """Two packs of ten at £8.40 and £1.50 core, carriage £6.95: half a pack is £4.95."""
    load(store, shop({"X1": {"RING": 20}}))
    priced(store, tmp_path, "slow", "S-R,RING,8.40 GBP,10 each,1.50 GBP",
           heading="part,item,price,pack,core")  # fmt: skip
    booked(store, "X1", on=date(2026, 6, 1))
    place(store, ["B0001"], NOW)
    if good or damaged:
        receive(store, GoodsReceived("RING", good, damaged=damaged, made=FRESH))
    assert cancel_order(store, "P0001", TUESDAY).total == Money(total, "GBP")


def test_nothing_is_owed_of_an_order_that_is_lost_whole(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 20}}))
    priced(store, tmp_path, "slow", "S-R,RING,8.40 GBP,10 each")
    booked(store, "X1", on=date(2026, 6, 1))
    place(store, ["B0001"], NOW)
    view = receive(store, GoodsReceived("RING", 0, final=True))
    assert (view.total, view.lost) == (Money(0, "GBP"), Money(1680 + 695, "GBP"))


def test_what_has_come_in_full_cannot_be_cancelled(store: Engine, tmp_path: Path) -> None:
    ordered(store, tmp_path, 8)
    receive(store)
    with pytest.raises(KittingError, match="P0001 has come in full"):
        cancel_order(store, "P0001", TUESDAY)
    with reading(store) as session:
        assert order_view(session, find_order(session, "P0001")).state == "complete"


def test_a_booking_is_ready_only_once_its_order_has_come(store: Engine, tmp_path: Path) -> None:
    ordered(store, tmp_path, 8)
    assert step_to(store, "B0001", BookingState.CONFIRMED).state == "provisional"
    receive(store, GoodsReceived("RING", 8000, made=FRESH))
    assert step_to(store, "B0001", BookingState.CONFIRMED).state == "confirmed"


def test_what_comes_again_after_it_was_lost_goes_to_the_booking_that_is_still_short(
    store: Engine, tmp_path: Path
) -> None:
    ordered(store, tmp_path, 2, 2)
    receive(store, GoodsReceived("RING", 2000, damaged=1000, made=FRESH, lot="L1", final=True))
    assert [ring(store, number).short for number in ("B0001", "B0002")] == [0, 2000]
    receive(store, GoodsReceived("RING", 1000, made=FRESH, lot="L2"))
    assert [ring(store, number).short for number in ("B0001", "B0002")] == [0, 1000]
    assert [source.lot for source in ring(store, "B0002").sources] == ["L2"]
    assert_ledger(store)


def test_what_is_left_over_of_a_pack_on_its_way_is_not_bought_again(
    store: Engine, tmp_path: Path
) -> None:
    """The pack has ten; the second booking was made before it was ordered for the first."""
    load(store, shop({"X1": {"RING": 2}, "X2": {"RING": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,1.00 GBP,10 each")
    booked(store, "X1", on=date(2026, 6, 1))
    booked(store, "X2", on=date(2026, 6, 2))
    assert place(store, ["B0001"], NOW).orders == ("P0001",)
    view = place(store, ["B0002"], NOW)
    assert view.orders == ()
    assert [one.order for one in view.awaited] == ["P0001"]
    line = ring(store, "B0002")
    assert (line.coming, line.short, line.sources[0].order) == (2000, 0, "P0001")
    assert_ledger(store)


def test_what_lies_free_on_the_shelf_is_promised_before_anything_is_bought(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 3}}))
    priced(store, tmp_path, "prompt", "P-R,RING,1.00 GBP,1 each")
    booked(store, "X1", on=LATER)
    stock(store, tmp_path, "yard,RING,A,2 each,1Q26")
    assert place(store, ["B0001"], NOW).total == Money(100, "GBP")
    line = ring(store, "B0001")
    assert (line.on_shelf, line.coming, line.short) == (2000, 1000, 0)
    assert_ledger(store)


def test_p19_what_is_to_be_bought_names_the_cores_that_are_paid_on_top(
    store: Engine, tmp_path: Path
) -> None:
    """By hand: four rings of ten a pack are one pack at £8.40; its core is £1.50."""
    load(store, shop({"X1": {"RING": 4}}))
    heading = "part,item,price,pack,core"
    priced(store, tmp_path, "prompt", "P-R,RING,8.40 GBP,10 each,1.50 GBP", heading=heading)
    booked(store, "X1", on=date(2026, 6, 1))
    with reading(store) as session:
        (parcel,) = buy(session, ["B0001"], NOW).parcels
    assert (parcel.total, parcel.cores) == (Money(840, "GBP"), Money(150, "GBP"))
    assert parcel_sum(parcel).endswith("; on top £1.50 of cores, refunded for the old parts")


PACKETS = (
    "  - {code: SET, name: Set, kind: bracket, contents: [{item: RING, quantity: 1 each}]}\n"
    "  - {code: PLATE, name: Plate, kind: bracket}"
)


def test_where_all_came_whatever_ages_has_its_date_also_what_brings_a_ring(
    lite: Engine, tmp_path: Path
) -> None:
    load(lite, shop({"X1": {"SET": 1, "PLATE": 1}}, PACKETS))
    priced(lite, tmp_path, "prompt", "P-S,SET,4.00 GBP,1 each", "P-P,PLATE,9.00 GBP,1 each")
    number = booked(lite, "X1", on=LATER).number
    place(lite, [number], NOW)
    take_in(lite, "P0001", None, TUESDAY, made=FRESH)
    with lite.connect() as connection:
        dates = connection.execute(select(Lot.code, Lot.made_on))
        assert dict(dates.all()) == {"P0001-SET": FRESH, "P0001-PLATE": None}
    assert shown(lite, number).ready


def test_a_date_of_making_for_nothing_that_ages_is_refused(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"PLATE": 1}}, PACKETS))
    priced(lite, tmp_path, "prompt", "P-P,PLATE,9.00 GBP,1 each")
    place(lite, [booked(lite, "X1", on=LATER).number], NOW)
    with pytest.raises(KittingError, match="Nothing that is to come of this order ages"):
        take_in(lite, "P0001", None, TUESDAY, made=FRESH)
    assert receipts(lite) == []


def test_nothing_happens_to_an_order_before_it_was_placed(lite: Engine, tmp_path: Path) -> None:
    ordered(lite, tmp_path, 2)
    early = NOW - timedelta(minutes=1)
    told = "P0001 was placed 2026-04-02 14:20, and a receipt cannot have been 2026-04-02 14:19"
    note = tmp_path / "note.csv"
    note.write_text("item,good\nRING,2 each\n", encoding="utf-8")
    with pytest.raises(KittingError, match=told):
        take_in(lite, "P0001", None, early, made=FRESH)
    with pytest.raises(KittingError, match=told):
        receive_notes(lite, "P0001", [note], early)
    with pytest.raises(KittingError, match="an announcement cannot have been"):
        announce(lite, "P0001", Announcement(LATER), early)
    with pytest.raises(KittingError, match="its cancelling cannot have been"):
        cancel_order(lite, "P0001", early)
    take_in(lite, "P0001", None, TUESDAY, made=FRESH)
    with pytest.raises(KittingError, match="that of RING came 2026-04-07 09:00, and its taking"):
        take_back_receipt(lite, "P0001", "RING", "one came", NOW)
    with pytest.raises(KittingError, match="a claim cannot have been"):
        claim(lite, "P0001", NewClaim(ClaimKind.WARRANTY, "RING", ONE, "cracked"), early)
    here = NewClaim(ClaimKind.WARRANTY, "RING", ONE, "cracked", "P0001-RING")
    claim(lite, "P0001", here, TUESDAY)
    credited = Credit(1, Money(40, "GBP"), "CN-1")
    with pytest.raises(KittingError, match="claim 1 was made 2026-04-07 09:00, and its credit"):
        credit(lite, "P0001", credited, NOW)
