"""Tax on purchases: stated by branch or supplier, told on what is bought. Every rate is invented."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from helpers import NOW, SUPPLY, booked, load, priced, shop
from kitting.facts.money import Money
from kitting.services.advice.completion import Work, completion_chance
from kitting.services.bookings.change import Change
from kitting.services.purchasing.booking_change import show_change
from kitting.services.purchasing.goods_in import GoodsReceived, receive
from kitting.services.purchasing.order_view import list_orders
from kitting.services.purchasing.orders import place
from kitting.services.purchasing.purchase import buy
from kitting.services.purchasing.safe_dates import dates
from kitting.store import reading
from kitting.tables.supply import BranchTax, SupplierTax
from kitting.views.orders import TaxView
from kitting.wording.advice import estimate_tax
from kitting.wording.booking_change import not_to_be_had
from kitting.wording.orders import tax_text
from kitting.wording.purchasing import parcel_sum, tax_mixed, tax_of_order

LATER = date(2026, 6, 1)
RATES = "tax: [{rate: 10 %, valid_from: 2020-01-01}, {rate: 12.5 %, valid_from: 2026-04-01}]"


def stating(branch: str = "", supplier: str = "") -> str:
    """The supply with more lines for the yard, and for the supplier who is bought from."""
    found = SUPPLY.replace("{code: yard, name: Yard,", "{code: yard, name: Yard, " + branch)
    return found.replace("    name: Prompt\n", f"    name: Prompt\n{supplier}")


@pytest.mark.parametrize(
    ("branch", "supplier", "told"),
    [
        ("", "", "tax not stated"),
        (RATES + ",", "", "tax 12.5 %: whether it is in the prices is not stated"),
        ("", "    tax_included: false\n", "tax is not in the prices, its rate is not stated"),
        (
            RATES + ",", "    tax_included: false\n",
            "tax 12.5 % £1.09 comes on top of goods and carriage: £9.79",
        ),
        (RATES + ",", "    tax_included: true\n", "of goods and carriage £0.97 is tax 12.5 %"),
        # The supplier's own rate goes first; one that begins later does not hold yet.
        (
            RATES + ",",
            "    tax_included: false\n    tax: [{rate: 0 %, valid_from: 2026-01-01}]\n",
            "tax 0 % £0.00 comes on top of goods and carriage: £8.70",
        ),
        ("tax: [{rate: 10 %, valid_from: 2026-04-03}],", "", "tax not stated"),
    ],
)  # fmt: skip
def test_p14_tax_is_told_as_it_is_stated(
    lite: Engine, tmp_path: Path, branch: str, supplier: str, told: str
) -> None:
    load(lite, shop({"X1": {"RING": 3}}, supply=stating(branch, supplier)))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    number = booked(lite, "X1", on=LATER).number
    with reading(lite) as session:
        (parcel,) = buy(session, [number], NOW).parcels
        estimate = completion_chance(session, Work("PELL 001", ["X1"], LATER, "yard"), NOW).estimate
    assert (tax_text(parcel.tax), parcel.total) == (told, Money(870, "GBP"))
    assert told.lower() in estimate_tax(estimate).lower()
    place(lite, [number], NOW)
    with reading(lite) as session:
        (order,) = list_orders(session)
    assert (tax_text(order.tax), order.total) == (told, Money(870, "GBP"))


def test_rates_that_differ_by_supplier_are_not_added_up(lite: Engine, tmp_path: Path) -> None:
    own = "    tax_included: true\n    tax: [{rate: 10 %, valid_from: 2020-01-01}]\n"
    load(lite, shop({"X1": {"RING": 3}}, supply=stating(supplier=own)))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    priced(lite, tmp_path, "slow", "S-R,RING,2.90 GBP,1 each")
    booked(lite, "X1", on=LATER)
    with reading(lite) as session:
        view = completion_chance(session, Work("PELL 001", ["X1"], LATER, "yard"), NOW).estimate
        bought = buy(session, ["B0001"], NOW)
    assert (view.tax, view.tax_differs) == (None, True)
    assert list(tax_mixed(bought.tax_mixed)) == [
        "PRICES COMPARED AS THEY STAND, though tax is not in all of them: Prompt with tax, Slow not"
        " stated"
    ]


def test_a_rate_that_the_file_no_longer_names_goes(lite: Engine) -> None:
    supplier = "    tax: [{rate: 10 %, valid_from: 2020-01-01}]\n"
    load(lite, stating(RATES + ",", supplier))
    with reading(lite) as session:
        assert session.scalars(select(BranchTax.rate).order_by("rate")).all() == [10_000, 12_500]
        assert session.scalars(select(SupplierTax.rate)).all() == [10_000]
    load(lite, SUPPLY)
    with reading(lite) as session:
        assert session.scalars(select(BranchTax.rate)).all() == []
        assert session.scalars(select(SupplierTax.rate)).all() == []


def test_a_sum_needs_a_rate_and_whether_it_is_in_the_prices() -> None:
    assert tax_text(TaxView(None, True, None, None)) == (
        "tax is in the prices, its rate is not stated"
    )


def test_what_else_is_in_the_sum_is_named_where_tax_is_told(lite: Engine, tmp_path: Path) -> None:
    """Whether a core or a credit is taxed is a matter of the place: nobody states it."""
    load(lite, shop({"X1": {"RING": 3}}, supply=stating(RATES + ",", "    tax_included: false\n")))
    priced(
        lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each,0.50 GBP",
        heading="part,item,price,pack,core",
    )  # fmt: skip
    number = booked(lite, "X1", on=LATER).number
    with reading(lite) as session:
        (parcel,) = buy(session, [number], NOW).parcels
    beside = "tax 12.5 % £1.09 comes on top of goods and carriage: £9.79 (that is without cores:"
    assert f"{beside} their tax is NOT KNOWN); on top £1.50 of cores" in parcel_sum(parcel)
    place(lite, [number], NOW)
    goods = GoodsReceived("RING", 2000, damaged=1000, made=date(2026, 3, 31))
    order = receive(lite, "P0001", [goods], NOW)
    assert tax_of_order(order) == (
        "tax 12.5 % £0.73 comes on top of goods and carriage: £6.53"
        " (that is without cores: their tax is NOT KNOWN)"
    )
    assert tax_text(None, ["cores"]) == "tax not stated"


def test_dates_and_changes_say_that_tax_is_not_in_all_prices(lite: Engine, tmp_path: Path) -> None:
    load(lite, shop({"X1": {"RING": 3}}, supply=stating(supplier="    tax_included: true\n")))
    priced(lite, tmp_path, "prompt", "P-R,RING,2.90 GBP,1 each")
    priced(lite, tmp_path, "slow", "S-R,RING,2.90 GBP,1 each")
    number = booked(lite, "X1", on=LATER).number
    mixed = (("Prompt", True), ("Slow", None))
    with reading(lite) as session:
        assert dates(session, [number], NOW).tax_mixed == mixed
    view = show_change(lite, number, Change(on=date(2026, 6, 2)), NOW)
    assert view.buying is not None
    assert view.buying.tax_mixed == mixed
    assert list(tax_mixed(mixed)) == [not_to_be_had(view)[-1]]
