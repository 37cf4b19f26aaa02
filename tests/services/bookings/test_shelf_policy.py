"""Storage life is judged by the branch's policy, or by the booking's own, from booking to closing.

Nitrile of 2Q18 keeps 7 years by ISO 2230:2002 and 15 by SAE ARP5316; sources in
tests/facts/test_shelf_life.py.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import (
    NOW,
    SUPPLY,
    UNCOUNTED,
    assert_ledger,
    booked,
    load,
    needed,
    priced,
    said,
    shop,
    stock,
)
from kitting.facts.words import BookingState, LotState, ShelfPolicy
from kitting.services.bookings.booking import judge_by, renew_promises, step_to, take_from
from kitting.services.bookings.close import Closing, close
from kitting.services.bookings.kit_sheets import labels_of, pick_of
from kitting.services.bookings.pick import pick
from kitting.services.bookings.seal_count import refit_of
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.van_day import van
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.services.stock.shelves import list_stock
from kitting.store import reading
from kitting.views.bookings import BookingView

LEAFLET = "media: [{medium: diesel, rating: suitable, source: leaflet, reference: test}]"
NITRILE = f"  - {{code: NBR, name: N, kind: o-ring, elastomer: NBR, {LEAFLET}}}"
BY_ARP = SUPPLY.replace("country: GB, sub", "shelf_policy: ARP5316, country: GB, sub")
ARP = ShelfPolicy.ARP5316
TUESDAY = datetime(2026, 4, 7, 9, 0)  # noqa: DTZ001  (wall clock of the garage)
OLD = "yard,NBR,N18,7 each,2Q18"


def garage_of(engine: Engine, folder: Path, supply: str, *rows: str) -> None:
    load(engine, shop({"X1": {"NBR": 2}}, items=NITRILE, supply=supply))
    stock(engine, folder, *rows)


def shown(engine: Engine, number: str) -> BookingView:
    with reading(engine) as session:
        return booking_view(session, find_booking(session, number))


def of_the_branch(engine: Engine, folder: Path) -> BookingView:
    garage_of(engine, folder, BY_ARP, OLD)
    return booked(engine, "X1")


def of_the_booking(engine: Engine, folder: Path) -> BookingView:
    garage_of(engine, folder, SUPPLY, OLD)
    return booked(engine, "X1", policy=ARP)


@pytest.mark.parametrize("made", [of_the_branch, of_the_booking])
def test_a_booking_judged_by_arp5316_is_ready_and_stays_so_to_its_end(
    store: Engine, tmp_path: Path, made: Callable[[Engine, Path], BookingView]
) -> None:
    view = made(store, tmp_path)
    number = view.number
    assert (view.ready, view.shelf_policy, view.own_policy) == (True, ARP, made is of_the_booking)
    again = renew_promises(store, number)
    assert (again.ready, needed(again, "NBR").on_shelf) == (True, 2000)
    confirmed = step_to(store, number, BookingState.CONFIRMED)
    assert (confirmed.state, said(confirmed.lacking)) == (BookingState.CONFIRMED, [])
    with reading(store) as session:
        assert buy(session, [number], NOW).parcels == ()
        assert dates(session, [number], NOW).dates[0].chance == 1.0
        assert labels_of(session, number).shortages == ()
        assert van(session, "yard", view.fit_on, []).stops[0].doubts == ()
        (line,) = pick_of(session, number).lines
        assert [source.state for source in line.sources] == [LotState.GOOD]
    ramp = step_to(store, number, BookingState.ON_THE_RAMP)
    assert (ramp.state, ramp.override) == (BookingState.ON_THE_RAMP, None)
    picked = needed(pick(store, number, NOW), "NBR")
    assert (picked.picked, picked.sources[0].state) == (2000, LotState.GOOD)
    with reading(store) as session:
        assert said(doubt.because for doubt in refit_of(session, number).doubts) == [
            "OLD SEALS NOT COUNTED: x1"
        ]
    closed = close(store, number, Closing({}, {}), NOW, UNCOUNTED)
    assert closed.state is BookingState.CLOSED
    assert_ledger(store)


def test_the_same_stock_is_refused_where_iso_2230_holds_and_nothing_else_is_said(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, tmp_path, SUPPLY, OLD)
    view = booked(store, "X1")
    assert (view.shelf_policy, view.own_policy, said(view.lacking)) == (
        ShelfPolicy.ISO_2230, False, ["NBR: 2 short"],
    )  # fmt: skip


def test_a_booking_s_own_policy_goes_before_that_of_its_branch(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, tmp_path, BY_ARP, OLD)
    assert booked(store, "X1", policy=ShelfPolicy.ISO_2230).ready is False
    assert booked(store, "X1").ready is True


def test_another_policy_gives_up_what_it_refuses_and_promises_what_it_allows(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, tmp_path, SUPPLY, OLD)
    number = booked(store, "X1").number
    by_arp = judge_by(store, number, ARP)
    assert (by_arp.ready, by_arp.own_policy, needed(by_arp, "NBR").on_shelf) == (True, True, 2000)
    assert shown(store, number) == by_arp
    by_branch = judge_by(store, number, None)
    assert (by_branch.ready, by_branch.own_policy) == (False, False)
    assert (needed(by_branch, "NBR").on_shelf, needed(by_branch, "NBR").short) == (0, 2000)
    assert_ledger(store)


def test_promises_are_taken_by_the_policy_of_the_booking_that_takes_them(
    store: Engine, tmp_path: Path
) -> None:
    garage_of(store, tmp_path, SUPPLY, "yard,NBR,N18,2 each,2Q18")
    giver = booked(store, "X1", policy=ARP)
    taker = booked(store, "X1", policy=ARP)
    assert (giver.ready, taker.ready) == (True, False)
    assert take_from(store, taker.number, "NBR", giver.number).taker.ready is True
    assert_ledger(store)


def test_what_comes_in_is_promised_by_the_policy_of_who_waited_for_it(
    store: Engine, tmp_path: Path
) -> None:
    """Both wait for the same parcel; it is of 2Q18, which only one of the policies lets fit."""
    garage_of(store, tmp_path, BY_ARP)
    by_iso, by_arp = booked(store, "X1", policy=ShelfPolicy.ISO_2230), booked(store, "X1")
    priced(store, tmp_path, "prompt", "P-N,NBR,0.40 GBP,1 each")
    place(store, [by_iso.number, by_arp.number], NOW)
    receive(
        store, "P0001", [GoodsReceived("NBR", 4000, lot="N18", made=date(2018, 6, 30))], TUESDAY
    )
    with reading(store) as session:
        (lot,) = list_stock(session, None, (), by_iso.fit_on)
    assert (lot.state, lot.promised) == (LotState.GOOD, 2000)
    assert needed(shown(store, by_iso.number), "NBR").short == 2000
    assert shown(store, by_arp.number).ready is True
    assert_ledger(store)


def test_the_stock_list_judges_each_lot_by_the_policy_of_its_branch(
    store: Engine, tmp_path: Path
) -> None:
    one = SUPPLY.replace(
        "{code: quay, name: Quay, ", "{code: quay, name: Quay, shelf_policy: ARP5316, "
    )
    garage_of(store, tmp_path, one, OLD, "quay,NBR,Q18,7 each,2Q18")
    with reading(store) as session:
        states = {view.branch: view.state for view in list_stock(session, None, (), NOW.date())}
    assert states == {"yard": LotState.EXPIRED, "quay": LotState.GOOD}
