"""Offers in several currencies: never added, never compared, and named where they are left out.

Prices and codes are invented.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import Engine

from helpers import ON, listed, load, unit
from kitting.actions import Action, next_step
from kitting.errors import UnknownNameError
from kitting.facts.money import Money
from kitting.services.planning.request import PlanRequest, ToolRequest
from kitting.services.tools.purchase import (
    SeveralCurrenciesError,
    buy_tools,
    check_with_cover,
)
from kitting.services.tools.toolboxes import load_offers, load_tools
from kitting.store import reading
from kitting.views.tools import BuyView, LeftOutView
from kitting.wording.tool_buying import cover_texts
from kitting.wording.tools import (
    gap_text,
)

OFFERS = "offer,supplier,way,price,code,sort,turns,takes,gives,from,to,deviation,resolution"
# The bolt asks for a torque wrench, of which there is none; those on offer have a 1/4 in square,
# the socket has a 3/8 in one: an adaptor has to be bought with either.
WRENCH = "{},Shop,buy,{},W,torque wrench,,,1/4,2 N·m,30 N·m,4 %,0.5 N·m"
ADAPTOR = "{},Shop,buy,{},A,adaptor,,1/4,3/8"
# Nothing of the job asks for it.
USELESS = "{},Shop,buy,{},T45,bit,six-lobe T45,3/8"


@pytest.fixture
def bench(lite: Engine, tmp_path: Path) -> Engine:
    """A job with one bolt to 8 N·m, and a box that holds everything but a wrench for it."""
    load(
        lite,
        unit(
            """
      - code: a
        name: A
        system: engine
        fits:
          - {item: BOLT, position: b1, tightening: {stages: [8 N·m], thread: dry, source: test}}""",
            "      - {code: S1, name: One, hours: 1 h, opens: [a]}",
            "      - {code: X1, name: One, needs: [S1]}",
        ),
    )
    rows = ("bay,S-8,socket,hexagon 8 mm,3/8", "bay,R,ratchet,,,3/8")
    load_tools(lite, [listed(tmp_path, "box,code,sort,turns,takes,gives", *rows)])
    return lite


def offered(engine: Engine, folder: Path, *rows: str) -> None:
    load_offers(engine, [listed(folder, OFFERS, *rows, name="offers.csv")])


def request(currency: str | None = None) -> ToolRequest:
    return ToolRequest(PlanRequest("PELL 001", ("X1",), ON), currency=currency)


def bought(engine: Engine, currency: str | None = None) -> BuyView:
    with reading(engine) as session:
        return buy_tools(session, request(currency))


def test_offers_in_several_currencies_are_refused_by_name_until_one_is_chosen(
    bench: Engine, tmp_path: Path
) -> None:
    offered(
        bench, tmp_path, WRENCH.format("W1", "50.00 GBP"), WRENCH.format("W2", "6000 JPY"),
        ADAPTOR.format("A1", "5.00 EUR"),
    )  # fmt: skip
    with pytest.raises(SeveralCurrenciesError) as refused:
        bought(bench)
    assert str(refused.value) == (
        "offers in several currencies are neither added nor compared: A1 in EUR; W1 in GBP;"
        " W2 in JPY. Name the currency to buy in"
    )
    assert refused.value.then == (next_step(Action.NAME_CURRENCY, currency="EUR"),)


def test_a_purchase_in_one_currency_leaves_the_others_out_by_name(
    bench: Engine, tmp_path: Path
) -> None:
    offered(
        bench, tmp_path, WRENCH.format("W1", "50.00 GBP"), WRENCH.format("W2", "6000 JPY"),
        ADAPTOR.format("A1", "5.00 EUR"), ADAPTOR.format("A2", "7.00 GBP"),
        USELESS.format("T1", "3.00 EUR"),
    )  # fmt: skip
    view = bought(bench, "GBP")
    assert ([b.offer for b in view.bought], view.total) == (["A2", "W1"], Money(5700, "GBP"))
    assert (view.next_cheapest, view.not_closed) == (None, ())
    assert view.left_out == (
        LeftOutView("A1", "A1", "Shop", Money(500, "EUR")),
        LeftOutView("W2", "W2", "Shop", Money(6000, "JPY")),
    )


def test_what_only_another_currency_closes_is_not_closed(bench: Engine, tmp_path: Path) -> None:
    offered(
        bench, tmp_path, WRENCH.format("W1", "50.00 GBP"), ADAPTOR.format("A1", "5.00 EUR")
    )  # fmt: skip
    view = bought(bench, "GBP")
    assert (view.bought, view.total) == ((), None)
    assert [gap_text(gap) for gap in view.not_closed] == ["8 N·m on hexagon 8 mm"]
    assert [offer.offer for offer in view.left_out] == ["A1"]


def test_a_sum_in_yen_has_no_pence(bench: Engine, tmp_path: Path) -> None:
    # ISO 4217 (from memory): the yen has no minor unit.
    offered(bench, tmp_path, WRENCH.format("W", "6000 JPY"), ADAPTOR.format("A", "500 JPY"))
    view = bought(bench)
    assert (view.total, str(view.total)) == (Money(6500, "JPY"), "JPY 6500")


def test_an_offer_in_another_currency_that_nothing_asks_for_stops_nothing(
    bench: Engine, tmp_path: Path
) -> None:
    offered(
        bench, tmp_path, WRENCH.format("W", "50.00 GBP"), ADAPTOR.format("A", "5.00 GBP"),
        USELESS.format("T", "3.00 EUR"),
    )  # fmt: skip
    view = bought(bench)
    assert (view.total, view.left_out) == (Money(5500, "GBP"), ())


def test_a_currency_that_no_offer_stands_in_is_refused(bench: Engine, tmp_path: Path) -> None:
    offered(bench, tmp_path, WRENCH.format("W", "50.00 GBP"), ADAPTOR.format("A", "5.00 EUR"))
    with pytest.raises(UnknownNameError) as refused:
        bought(bench, "USD")
    assert str(refused.value) == ("no offer is priced in USD; the offers are priced in EUR, GBP")


def test_the_sheet_of_the_check_says_that_no_purchase_is_named(
    bench: Engine, tmp_path: Path
) -> None:
    offered(bench, tmp_path, WRENCH.format("W", "50.00 GBP"), ADAPTOR.format("A", "5.00 EUR"))
    with reading(bench) as session:
        unnamed = check_with_cover(session, request())
        in_pounds = check_with_cover(session, request("GBP"))
    assert unnamed.cover is None
    assert cover_texts(unnamed) == (
        "offers in several currencies (EUR, GBP) are not compared: name one",
    )
    assert cover_texts(in_pounds) == (
        "not on offer: 8 N·m on hexagon 8 mm",
        "not compared, in another currency: A: A, Shop, €5.00",
    )
