"""Dates: none is safe while nobody offers a part; deliveries count by what could be used."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import NOW, booked, load, priced, shop, stock
from kitting.calc.purchasing.delivery import LeadTime
from kitting.facts.money import Money
from kitting.facts.words import DateState
from kitting.services.branches import find_branch
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.market import read_market
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.safe_dates import dates
from kitting.services.stock.lots import find_items
from kitting.store import reading
from kitting.views.possible_dates import DatesView
from kitting.views.purchasing import LackView, SupplyReason
from kitting.wording.purchasing import chance_of_date

LATER = date(2026, 6, 1)
MONDAY = datetime(2026, 6, 1, 9, 0)  # noqa: DTZ001  (wall clock of the garage)


def dated(engine: Engine, days: int = 12) -> DatesView:
    with reading(engine) as session:
        return dates(session, ["B0001"], NOW, 0.9, days)


def test_while_nobody_offers_a_part_no_date_is_safe_however_surely_the_rest_comes(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 3, "BOLT": 2}}))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    booked(store, "X1", on=LATER)
    view = dated(store)
    assert (view.earliest, view.order_by) == (None, ())
    (missing,) = view.nobody_offers
    assert (missing.item, missing.name, missing.quantity, missing.why.code) == (
        "BOLT", "Bolt", 2000, SupplyReason.NOBODY_OFFERS,
    )  # fmt: skip
    # What can be had is as sure and as dear as ever, and is shown.
    assert {day.state for day in view.dates} == {DateState.RISKY, DateState.IMPOSSIBLE}
    rest = view.dates[-1].rest
    assert (view.dates[-1].chance, rest is not None and rest > 0.9) == (0.0, True)
    assert view.dates[-1].cost == Money(870, "GBP")
    priced(store, tmp_path, "slow", "S-B,BOLT,0.10 GBP,1 each")
    again = dated(store)
    assert again.nobody_offers == ()
    assert again.earliest is not None
    assert DateState.SAFE in {day.state for day in again.dates}


def test_while_nobody_offers_anything_no_date_is_known_to_be_impossible(lite: Engine) -> None:
    load(lite, shop({"X1": {"RING": 3}}))
    booked(lite, "X1", on=LATER)
    view = dated(lite)
    assert {(day.state, day.chance, day.cost) for day in view.dates} == {
        (DateState.RISKY, 0.0, None)
    }
    assert {chance_of_date(day, (), "0.0%") for day in view.dates} == {"NOT KNOWN"}
    assert isinstance(view.nobody_offers[0], LackView)
    assert view.earliest is None


def test_as_many_working_days_are_judged_as_asked_for(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 1}}))
    stock(lite, tmp_path, "yard,RING,A,9 each,1Q25")
    booked(lite, "X1", on=LATER)
    view = dated(lite, days=3)
    assert [day.on for day in view.dates] == [
        date(2026, 4, 7), date(2026, 4, 8), date(2026, 4, 9),
    ]  # fmt: skip


def observed(engine: Engine) -> tuple[int, ...]:
    """The lead times that were seen of Prompt."""
    with reading(engine) as session:
        items = [find_items(session, ["RING"])["RING"].id]
        market = read_market(session, find_branch(session, "yard"), items, MONDAY)
    (parcel,) = market.parcels.values()
    lead: LeadTime = parcel.terms.lead
    return lead.observed


@pytest.mark.parametrize("spoilt", [{"damaged": 1000}, {"wrong": 1000}], ids=["damaged", "wrong"])
def test_a_parcel_of_which_nothing_can_be_used_is_no_delivery(
    store: Engine, tmp_path: Path, spoilt: dict[str, int]
) -> None:
    """It came the next day damaged, and good on the third: it took three days."""
    load(store, shop({"X1": {"RING": 1}}))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    booked(store, "X1", on=date(2026, 12, 1), at=MONDAY)
    (order,) = place(store, ["B0001"], MONDAY).orders
    fresh = date(2026, 5, 1)
    receive(store, order, [GoodsReceived("RING", 0, **spoilt)], MONDAY + timedelta(days=1))  # type: ignore[arg-type]
    assert observed(store) == ()
    receive(store, order, [GoodsReceived("RING", 1000, made=fresh)], MONDAY + timedelta(days=3))
    assert observed(store) == (3,)


def test_the_first_good_receipt_counts_and_later_ones_do_not(store: Engine, tmp_path: Path) -> None:
    load(store, shop({"X1": {"RING": 3}}))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    booked(store, "X1", on=date(2026, 12, 1), at=MONDAY)
    (order,) = place(store, ["B0001"], MONDAY).orders
    for days in (2, 4):
        some = GoodsReceived("RING", 1000, lot=f"L{days}", made=date(2026, 5, 1))
        receive(store, order, [some], MONDAY + timedelta(days=days))
    assert observed(store) == (2,)


def states(engine: Engine) -> dict[date, DateState]:
    return {day.on: day.state for day in dated(engine).dates}


def test_no_date_is_safe_on_which_what_is_promised_has_expired(
    store: Engine, tmp_path: Path
) -> None:
    """Nobody offers another; what is promised keeps to the 12th."""
    items = "\n  - {code: WASHER, name: Washer, kind: copper-washer}"
    load(store, shop({"X1": {"WASHER": 1}}, items))
    stock(store, tmp_path, "yard,WASHER,A,1 each,,2026-04-12")
    booked(store, "X1", on=date(2026, 4, 10))
    found = states(store)
    assert {state for day, state in found.items() if day.day <= 12} == {DateState.SAFE}
    assert {state for day, state in found.items() if day.day > 12} == {DateState.RISKY}
    view = dated(store)
    assert view.earliest == date(2026, 4, 7)
    assert [(one.item, one.quantity) for one in view.nobody_offers] == [("WASHER", 1000)]


def test_what_expires_before_a_date_is_bought_anew_for_it(store: Engine, tmp_path: Path) -> None:
    items = "\n  - {code: WASHER, name: Washer, kind: copper-washer}"
    load(store, shop({"X1": {"WASHER": 1}}, items))
    stock(store, tmp_path, "yard,WASHER,A,1 each,,2026-04-12")
    priced(store, tmp_path, "prompt", "P-W,WASHER,0.50 GBP,1 each")
    booked(store, "X1", on=date(2026, 4, 10))
    costs = {day.on.day: day.cost for day in dated(store).dates}
    assert {costs[7], costs[10]} == {None}
    assert costs[13] == Money(50, "GBP")
    assert states(store)[date(2026, 4, 13)] is DateState.SAFE


def test_an_opened_pack_is_past_its_time_on_a_later_date(store: Engine, tmp_path: Path) -> None:
    """Opened on 1 April, good for ten days."""
    items = (
        "\n  - {code: FLUID, name: Fluid, kind: copper-washer, unit: ml, pack: 500 ml,"
        " opened_life: 10 days}"
    )
    load(store, shop({"X1": {"RING": 1}}, items).replace(
        "opens: [x1]", "opens: [x1], uses: [{item: FLUID, amount: 300 ml}]"
    ))  # fmt: skip
    stock(store, tmp_path, "yard,FLUID,A,400 ml,,2028-01-01,2026-04-01", "yard,RING,A,9 each,1Q25")
    booked(store, "X1", on=date(2026, 4, 9))
    found = states(store)
    assert {state for day, state in found.items() if day.day <= 11} == {DateState.SAFE}
    assert {state for day, state in found.items() if day.day > 11} == {DateState.RISKY}
