"""Currencies: money of two is never added or compared; it is said who stands in which."""

from __future__ import annotations

from datetime import date, datetime
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from sqlalchemy import Engine, update

from helpers import NOW, SUPPLY, booked, load, priced, shop, stock
from kitting.actions import Action, next_step
from kitting.cli.render.purchasing import show_dates
from kitting.errors import KittingError
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
from kitting.views.purchasing import SupplyReason

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
        euros = buy(session, ["B0001"], NOW, None, 0.95, "EUR")
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
    assert missing.why.then == (next_step(Action.NAME_CURRENCY, currency="EUR"),)
    second = place(store, ["B0001"], NOW, choice=Choice(currency="EUR"))
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
