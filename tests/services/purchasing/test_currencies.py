"""Currencies: money of two is never added or compared; it is said who stands in which."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine, update

from helpers import NOW, SUPPLY, booked, load, priced, shop, stock
from kitting.actions import Action, next_step
from kitting.cli.render.dates import show_dates
from kitting.cli.render.purchasing import show_purchase
from kitting.errors import FigureError, KittingError
from kitting.facts.exchange_rates import PricedIn, StatedRate, parse_exchange_rate, priced_in
from kitting.facts.money import Money
from kitting.services.advice.base_stock import stock_levels
from kitting.services.advice.completion import completion_chance
from kitting.services.advice.weighed_case import Work
from kitting.services.bookings.pick import pick
from kitting.services.purchasing.order_view import list_orders
from kitting.services.purchasing.orders import Choice, place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.store import reading
from kitting.tables.supply import Branch
from kitting.views.completion import LevelReason
from kitting.views.purchasing import RateView, SupplyReason
from kitting.wording.purchasing import rates_stated

LATER = date(2026, 6, 1)
EUROS = SUPPLY.replace("name: Slow\n", "name: Slow\n    currency: EUR\n").replace(
    "6.95 GBP", "6.95 EUR").replace("50.00 GBP", "50.00 EUR")  # fmt: skip


def shopped(engine: Engine, supply: str = EUROS) -> None:
    load(engine, shop({"X1": {"RING": 3}}, supply=supply))


def test_p14_an_offer_in_another_currency_is_not_compared_and_told(
    store: Engine, tmp_path: Path
) -> None:
    """The branch counts in pounds: the cheaper figure in euros is no cheaper price for all we know."""
    shopped(store)
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    priced(store, tmp_path, "slow", "S-R,RING,0.40 EUR,1 each")
    booked(store, "X1", on=LATER)
    with reading(store) as session:
        pounds = buy(session, ["B0001"], NOW)
        euros = buy(session, ["B0001"], NOW, None, 0.95, PricedIn("EUR"))
        safe = dates(session, ["B0001"], NOW)
    assert (pounds.total, pounds.left_out) == (Money(870, "GBP"), (("Slow", "EUR"),))
    assert (euros.total, euros.left_out) == (Money(815, "EUR"), (("Prompt", "GBP"),))
    assert safe.left_out == (("Slow", "EUR"),)
    out = StringIO()
    show_dates(Console(file=out, width=400, markup=False), safe)
    assert "Not compared: Slow, priced in EUR" in out.getvalue()
    assert safe.earliest is not None
    assert {day.cost.currency for day in safe.dates if day.cost is not None} == {"GBP"}


def test_p14_what_is_offered_in_another_currency_only_is_bought_apart(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 3, "BOLT": 2}}, supply=EUROS))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    priced(store, tmp_path, "slow", "S-B,BOLT,0.40 EUR,1 each")
    booked(store, "X1", on=LATER)
    first = place(store, ["B0001"], NOW)
    assert (first.total, first.orders) == (Money(870, "GBP"), ("P0001",))
    (missing,) = first.lacking
    assert (missing.item, missing.why.code) == ("BOLT", SupplyReason.OTHER_CURRENCY)
    assert missing.why.then == (
        next_step(Action.NAME_CURRENCY, currency="EUR"),
        next_step(Action.STATE_RATE, currency="EUR"),
    )
    second = place(store, ["B0001"], NOW, choice=Choice(priced=PricedIn("EUR")))
    assert (second.total, second.orders, second.lacking) == (Money(775, "EUR"), ("P0002",), ())
    with reading(store) as session:
        again = buy(session, ["B0001"], NOW)
    assert (again.total, again.lacking) == (None, ())
    assert again.chance > 0.95


def test_an_order_is_in_the_currency_of_its_supplier(store: Engine, tmp_path: Path) -> None:
    shopped(store)
    priced(store, tmp_path, "slow", "S-R,RING,0.40 EUR,1 each")
    booked(store, "X1", on=LATER)
    assert place(store, ["B0001"], NOW).total == Money(815, "EUR")
    with reading(store) as session:
        (order,) = list_orders(session)
    assert (order.goods, order.carriage, order.total) == (
        Money(120, "EUR"), Money(695, "EUR"), Money(815, "EUR"),
    )  # fmt: skip
    assert order.lines[0].price == Money(40, "EUR")


def test_without_an_offer_the_currency_is_the_branchs(lite_garage: Engine) -> None:
    """A job whose parts nobody offers costs nothing, in the currency that the branch counts in."""
    with lite_garage.begin() as connection:
        connection.execute(update(Branch).values(currency="EUR"))
        for table in ("offer_price", "offer"):
            connection.exec_driver_sql(f"DELETE FROM {table}")
    with reading(lite_garage) as session:
        view = completion_chance(session, Work("PELL 117", ["J1"], LATER, "upper"), NOW)
    assert view.estimate.now == Money(0, "EUR")
    assert view.estimate.unpriced != ()


def test_what_being_short_costs_must_be_in_the_currency_of_the_prices(lite_garage: Engine) -> None:
    work = Work("PELL 117", ["J1"], LATER, "upper")
    with reading(lite_garage) as session:
        told = "what being short costs, and the prices of the parts: stated in EUR and GBP"
        with pytest.raises(KittingError, match=told):
            completion_chance(session, work, NOW, short_costs=Money(18_000, "EUR"))


def test_a_budget_must_be_in_the_currency_of_the_prices(lite_garage: Engine) -> None:
    pick(lite_garage, "B0001", NOW)
    later = datetime(2026, 4, 20, 9, 0)  # noqa: DTZ001
    with reading(lite_garage) as session:
        told = "the budget, and the prices of what was used: stated in EUR and GBP"
        with pytest.raises(KittingError, match=told):
            stock_levels(session, "upper", later, budget=Money(5000, "EUR"))


def test_branches_that_buy_in_two_currencies_are_not_pooled(store: Engine, tmp_path: Path) -> None:
    """Each uses an item of its own, which only its own supplier offers."""
    items = "  - {code: OURS, name: Ours, kind: wire-clip}"
    load(store, shop({"X1": {"RING": 2}, "X2": {"OURS": 2}}, items=items, supply=EUROS))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    priced(store, tmp_path, "slow", "S-O,OURS,0.40 EUR,1 each")
    stock(store, tmp_path, "yard,RING,A,9 each,1Q25", "quay,OURS,B,9 each")
    pick(store, booked(store, "X1", on=LATER).number, NOW)
    pick(store, booked(store, "X2", on=LATER, branch="quay").number, NOW)
    with reading(store) as session:
        view = stock_levels(session, "yard", NOW)
    assert view.pooled is None
    assert view.not_pooled is not None
    assert view.not_pooled.code is LevelReason.CURRENCIES
    assert view.not_pooled["currencies"] == ("EUR", "GBP")
    assert view.value.currency == "GBP"


FRIDAY = date(2026, 3, 27)  # six days before the demo's now


def at_a_rate(engine: Engine, folder: Path) -> None:
    """Rings are 2.90 in pounds, or 0.40 EUR with 6.95 EUR of carriage."""
    shopped(engine)
    priced(engine, folder, "prompt", "P-R,RING,2.90 GBP,1 each")
    priced(engine, folder, "slow", "S-R,RING,0.40 EUR,1 each")
    booked(engine, "X1", on=LATER)


@pytest.mark.parametrize(
    ("rate", "total", "supplier"),
    [
        # 3 × 0.40 + 6.95 = 8.15 EUR. At 0.86: 1.20 EUR are 1.03, 6.95 are 5.98, together 7.01; at
        # 1.10: 1.32 + 7.65 = 8.97, more than 3 × 2.90 = 8.70 GBP.
        ("0.86", 701, "slow"),
        ("1.10", 870, "prompt"),
    ],
)
def test_by_a_stated_rate_prices_of_two_currencies_are_compared(
    store: Engine, tmp_path: Path, rate: str, total: int, supplier: str
) -> None:
    at_a_rate(store, tmp_path)
    asked = PricedIn(rates=(StatedRate("EUR", rate, FRIDAY),))
    with reading(store) as session:
        view = buy(session, ["B0001"], NOW, None, 0.95, asked)
    assert (view.total, view.left_out) == (Money(total, "GBP"), ())
    assert [one.supplier for one in view.parcels] == [supplier]
    assert view.rates == (RateView("EUR", "GBP", rate, FRIDAY, 6),)
    own = Money(815, "EUR") if supplier == "slow" else None
    assert view.parcels[0].own_total == own


@pytest.mark.parametrize("rate", ["0.86", "0.8551", "0.855123456", "1.005"])
def test_a_line_is_converted_as_one_and_rounded_once(
    store: Engine, tmp_path: Path, rate: str
) -> None:
    """400 pieces of a cent's worth: by the piece each would be a penny too many or too few."""
    load(store, shop({"X1": {"RING": 400, "BOLT": 7}}, supply=EUROS))
    priced(store, tmp_path, "slow", "S-R,RING,0.04 EUR,1 each\nS-B,BOLT,0.33 EUR,1 each")
    booked(store, "X1", on=LATER)
    asked = PricedIn(rates=(StatedRate("EUR", rate, FRIDAY),))
    with reading(store) as session:
        view = buy(session, ["B0001"], NOW, None, 0.95, asked)

    def pence(euros: str) -> int:
        exact = Decimal(euros) * Decimal(rate) * 100
        return int(exact.quantize(Decimal(1), ROUND_HALF_UP))

    (parcel,) = view.parcels
    lines = {line.item: line.total.minor for line in parcel.lines}
    assert lines == {"RING": pence("16.00"), "BOLT": pence("2.31")}
    assert (parcel.goods.minor, parcel.carriage.minor) == (sum(lines.values()), pence("6.95"))
    assert view.total == parcel.total == Money(sum(lines.values()) + pence("6.95"), "GBP")
    assert parcel.own_total == Money(1600 + 231 + 695, "EUR")


def test_the_cheaper_offer_is_found_where_a_piece_of_both_is_the_same_penny(
    store: Engine, tmp_path: Path
) -> None:
    """At 0.5 a piece of 0.09 EUR is 4.5p: of 400 the offer of 0.05 GBP is £2 dearer."""
    load(store, shop({"X1": {"RING": 400}}, supply=EUROS.replace("6.95 EUR", "0.10 EUR")))
    priced(store, tmp_path, "prompt", "P-R,RING,0.05 GBP,1 each")
    priced(store, tmp_path, "slow", "S-R,RING,0.09 EUR,1 each")
    booked(store, "X1", on=LATER)
    asked = PricedIn(rates=(StatedRate("EUR", "0.5", FRIDAY),))
    with reading(store) as session:
        view = buy(session, ["B0001"], NOW, None, 0.95, asked)
    assert [one.supplier for one in view.parcels] == ["slow"]
    assert view.total == Money(1805, "GBP")


def test_what_is_ordered_by_a_rate_stands_in_the_suppliers_currency(
    store: Engine, tmp_path: Path
) -> None:
    at_a_rate(store, tmp_path)
    asked = PricedIn(rates=(StatedRate("EUR", "0.86", FRIDAY),))
    assert place(store, ["B0001"], NOW, choice=Choice(priced=asked)).total == Money(701, "GBP")
    with reading(store) as session:
        (order,) = list_orders(session)
    assert (order.goods, order.carriage) == (Money(120, "EUR"), Money(695, "EUR"))
    assert order.lines[0].price == Money(40, "EUR")


def test_the_rate_is_told_as_stated_and_an_old_one_as_old() -> None:
    fresh = RateView("EUR", "GBP", "0.86", FRIDAY, 7)
    (told,) = rates_stated([fresh])
    assert told == (
        "RATE AS STATED: 1 EUR is 0.86 GBP, of 2026-03-27; it was not checked, and the bank's own"
        " rate and charges are not in it"
    )
    (old,) = rates_stated([replace(fresh, age=8)])
    assert old == f"{told}. IT IS 8 DAYS OLD: ask for today's"


def test_a_rate_that_no_offer_uses_is_told_and_one_of_no_supplier_is_refused(
    store: Engine, tmp_path: Path
) -> None:
    load(store, shop({"X1": {"RING": 3}}, supply=EUROS))
    priced(store, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    booked(store, "X1", on=LATER)
    told = "a rate is stated of EUT: no offer is in EUT; suppliers are priced in EUR"
    with reading(store) as session:
        asked = PricedIn(rates=(StatedRate("EUR", "0.86", FRIDAY),))
        view = buy(session, ["B0001"], NOW, None, 0.95, asked)
        assert (view.total, view.rates, view.rates_unused) == (Money(870, "GBP"), (), ("EUR",))
        asked = PricedIn(rates=(StatedRate("EUT", "0.86", FRIDAY),))
        with pytest.raises(KittingError, match=told):
            buy(session, ["B0001"], NOW, None, 0.95, asked)
    out = StringIO()
    show_purchase(Console(file=out, width=400, markup=False), view)
    assert "RATE NOT USED: no offer of what is lacking is in EUR" in out.getvalue()


def test_a_rate_of_the_currency_that_is_bought_in_is_refused(store: Engine, tmp_path: Path) -> None:
    at_a_rate(store, tmp_path)
    pounds = PricedIn(rates=(StatedRate("GBP", "1.17", FRIDAY),))
    with reading(store) as session, pytest.raises(KittingError, match="stated of GBP, in which"):
        buy(session, ["B0001"], NOW, None, 0.95, pounds)
    with pytest.raises(FigureError, match="two rates are stated of EUR"):
        priced_in(None, [StatedRate("EUR", rate, FRIDAY) for rate in ("0.85", "0.86")])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("EUR=0.86", "is no rate; write for example 'EUR=0.86@2026-11-20'"),
        ("EUR=0@2026-03-27", "a rate is above 0; write what 1 EUR is"),
        ("EUR=0,86@2026-03-27", "is no rate"),
        ("EUR=0.86@２０２６-03-27", "is no rate"),
        ("EUR=-1@2026-03-27", "is no rate"),
        ("EUR=0.86@2026-02-30", "2026-02-30 is no day"),
        ("EUR=0.86@2026-04-03", "is still to come; state one of 2026-04-02 or before"),
        ("EURO=0.86@2026-03-27", "is no rate"),
    ],
)
def test_a_rate_that_cannot_be_read_is_refused(text: str, told: str) -> None:
    with pytest.raises(FigureError, match=re.escape(told)):
        parse_exchange_rate(text, NOW.date())


def test_a_rate_is_read_exactly_and_rounded_once() -> None:
    rate = parse_exchange_rate("eur=0.855@2026-03-27", NOW.date())
    assert rate == StatedRate("EUR", "0.855", FRIDAY)
    assert [rate.convert(minor, "GBP") for minor in (0, 1, 100, 1000, 1234)] == [
        0,
        1,
        86,
        855,
        1055,
    ]
    assert StatedRate("JPY", "0.0052", FRIDAY).convert(1000, "GBP") == 520
    assert StatedRate("JPY", "0.0001", FRIDAY).convert(1, "GBP") == 1
