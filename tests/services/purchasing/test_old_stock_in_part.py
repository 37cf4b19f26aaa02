"""A need that old stock meets in part is no better than that stock, and it is told. All invented."""

from __future__ import annotations

from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine

from helpers import NOW, booked, load, needed, priced, said, shop, stock
from kitting.cli.render.bookings import show_booking
from kitting.cli.render.purchasing import show_purchase
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Verdict
from kitting.files.output.plain import as_plain
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import CarRequest, dates, dates_unbooked
from kitting.services.stock.shelves import LotName
from kitting.services.stock.transfers import send
from kitting.store import reading
from kitting.views.bookings import BookingView
from kitting.views.purchasing import BuyLineView, PurchaseView

LATER = date(2026, 6, 1)
UNKNOWN, NEW = "", ",1Q25"


@pytest.fixture
def market(lite: Engine, tmp_path: Path) -> Engine:
    load(lite, shop({"X1": {"RING": 4}, "X2": {"BOLT": 1}}))
    priced(lite, tmp_path, "prompt", "P-R,RING,0.40 GBP,1 each", "P-B,BOLT,0.10 GBP,1 each")
    return lite


def bought(engine: Engine, *numbers: str) -> PurchaseView:
    with reading(engine) as session:
        return buy(session, numbers or ("B0001",), NOW)


def line(view: PurchaseView, item: str = "RING") -> BuyLineView:
    (found,) = (one for parcel in view.parcels for one in parcel.lines if one.item == item)
    return found


def shown(view: PurchaseView | BookingView) -> str:
    console = Console(file=StringIO(), width=200)
    if isinstance(view, BookingView):
        show_booking(console, view)
    else:
        show_purchase(console, view)
    assert isinstance(console.file, StringIO)
    return console.file.getvalue()


def doubts(view: PurchaseView) -> str:
    return " ".join(said(one.doubt.because for one in view.doubts))


@pytest.mark.parametrize("promised", [True, False])
def test_a_line_that_old_stock_meets_in_part_cannot_be_proven(
    market: Engine, tmp_path: Path, promised: bool
) -> None:
    """Whether the stock is promised already or lies free and is only counted."""
    if not promised:
        booked(market, "X1", on=LATER)
    stock(market, tmp_path, f"yard,RING,A,2 each{UNKNOWN}")
    if promised:
        booked(market, "X1", on=LATER)
    view = bought(market)
    found = line(view)
    assert (found.needed, found.verdict) == (2000, Verdict.UNKNOWN)
    assert [(o.booking, o.lot, o.quantity) for o in found.old_stock] == [("B0001", "A", 2000)]
    assert doubts(view).startswith("RING: 2 from lot A AGE UNKNOWN: not known")
    text = "CANNOT BE PROVEN: in part old stock of unknown age: 2 of lot A for B0001"
    assert text in shown(view)
    plain = as_plain(found)
    assert (plain["verdict"], plain["old_stock"][0]["lot"]) == ("cannot be proven", "A")


def test_a_line_beside_stock_of_known_age_is_fine(market: Engine, tmp_path: Path) -> None:
    booked(market, "X1", on=LATER)
    stock(market, tmp_path, f"yard,RING,A,2 each{NEW}")
    view = bought(market)
    assert (line(view).old_stock, line(view).verdict) == ((), Verdict.FINE)
    assert view.doubts == ()


def test_free_stock_of_unknown_age_that_is_enough_is_told_though_nothing_is_bought(
    market: Engine, tmp_path: Path
) -> None:
    booked(market, "X1", on=LATER)
    stock(market, tmp_path, f"yard,RING,A,4 each{UNKNOWN}")
    view = bought(market)
    assert view.parcels == ()
    assert "RING: 4 from lot A AGE UNKNOWN" in shown(view)


def test_only_the_booking_and_the_item_that_it_is_for_are_told(
    market: Engine, tmp_path: Path
) -> None:
    booked(market, "X1", on=LATER)
    booked(market, "X1", "X2", on=date(2026, 6, 8))
    stock(market, tmp_path, f"yard,RING,A,5 each{UNKNOWN}")
    view = bought(market, "B0001", "B0002")
    assert [(o.booking, o.quantity) for o in line(view).old_stock] == [
        ("B0001", 4000), ("B0002", 1000),
    ]  # fmt: skip
    assert line(view, "BOLT").verdict is Verdict.FINE


def test_what_comes_by_van_and_is_of_unknown_age_is_told_too(
    market: Engine, tmp_path: Path
) -> None:
    stock(market, tmp_path, f"quay,RING,V,2 each{UNKNOWN}")
    booked(market, "X1", on=LATER)
    send(market, LotName("quay", "RING", "V"), Quantity(2000, "each"), "yard", NOW)
    view = bought(market)
    assert [van.quantity for van in view.vans] == [2000]
    assert [(o.lot, o.quantity) for o in line(view).old_stock] == [("V", 2000)]
    assert "RING: 2 from lot V AGE UNKNOWN" in doubts(view)


def test_an_order_that_is_written_tells_the_same(market: Engine, tmp_path: Path) -> None:
    booked(market, "X1", on=LATER)
    stock(market, tmp_path, f"yard,RING,A,2 each{UNKNOWN}")
    proposed = bought(market)
    written = place(market, ["B0001"], NOW)
    assert (written.doubts, written.parcels) == (proposed.doubts, proposed.parcels)
    assert written.orders == ("P0001",)


def test_no_date_is_safe_that_counts_on_free_stock_of_unknown_age(
    market: Engine, tmp_path: Path
) -> None:
    """As it is not for a car that nobody has booked; there it is told once."""
    booked(market, "X1", on=LATER)
    stock(market, tmp_path, f"yard,RING,A,2 each{UNKNOWN}")
    with reading(market) as session:
        of_booking = dates(session, ["B0001"], NOW)
        of_car = dates_unbooked(session, CarRequest("PELL 001", ["X1"], "yard"), NOW)
    for view in (of_booking, of_car):
        assert not view.safe
        assert len(said(one.doubt.because for one in view.doubts)) == 1
        assert "AGE UNKNOWN" in said(one.doubt.because for one in view.doubts)[0]


@pytest.mark.parametrize(
    ("rows", "in_part"),
    [
        ([f"yard,RING,A,2 each{UNKNOWN}"], True),
        ([f"yard,RING,A,2 each{UNKNOWN}", f"yard,RING,B,2 each{NEW}"], True),
        ([f"yard,RING,A,4 each{UNKNOWN}"], False),
        ([f"yard,RING,B,2 each{NEW}"], False),
    ],
)
def test_a_booking_says_which_need_old_stock_meets_in_part(
    market: Engine, tmp_path: Path, rows: list[str], in_part: bool
) -> None:
    stock(market, tmp_path, *rows)
    view = booked(market, "X1", on=LATER)
    told = "IN PART OLD STOCK: 2 of 4 of unknown age"
    assert (told in shown(view)) is in_part
    if in_part:
        assert as_plain(needed(view, "RING"))["age_unknown"] == 2
        assert needed(view, "RING").verdict is not Verdict.FINE


def test_also_once_the_rest_is_ordered(market: Engine, tmp_path: Path) -> None:
    stock(market, tmp_path, f"yard,RING,A,2 each{UNKNOWN}")
    booked(market, "X1", on=LATER)
    place(market, ["B0001"], NOW)
    with reading(market) as session:
        view = booking_view(session, find_booking(session, "B0001"))
    assert "IN PART OLD STOCK: 2 of 4 of unknown age" in shown(view)
    assert needed(view, "RING").verdict is Verdict.UNKNOWN


def test_spares_that_nobody_took_are_not_told(lite: Engine, tmp_path: Path) -> None:
    hose = "  - {code: HOSE, name: Hose, kind: hose, elastomer: FKM}"
    text = shop({"X1": {"HOSE": 1}}, items=hose)
    load(lite, text.replace("rule: renew", "rule: inspect, criterion: looks good"))
    booked(lite, "X1", on=LATER)
    before = bought(lite).doubts
    stock(lite, tmp_path, f"yard,HOSE,A,1 each{UNKNOWN}")
    assert bought(lite).doubts == before
