"""Money: read in whole minor units, shown with its currency, never without one."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError, KittingError
from kitting.facts.money import (
    Money,
    bare_minor,
    format_money,
    parse_money,
    require_one_currency,
)
from kitting.files.output.plain import as_plain

CURRENCIES = st.sampled_from(["GBP", "EUR", "USD", "SEK", "JPY", "KWD"])


@pytest.mark.parametrize(
    ("text", "money", "shown"),
    [
        ("£7.50", Money(750, "GBP"), "£7.50"),
        ("£ 7.5", Money(750, "GBP"), "£7.50"),
        ("7.50 £", Money(750, "GBP"), "£7.50"),
        ("£37", Money(3700, "GBP"), "£37.00"),
        (" GBP 9.99 ", Money(999, "GBP"), "£9.99"),
        ("12 EUR", Money(1200, "EUR"), "€12.00"),
        ("€0.05", Money(5, "EUR"), "€0.05"),
        ("7.00 USD", Money(700, "USD"), "USD 7.00"),
        ("1200 JPY", Money(1200, "JPY"), "JPY 1200"),
        ("KWD 1.5", Money(1500, "KWD"), "KWD 1.500"),
        ("£0", Money(0, "GBP"), "£0.00"),
    ],
)
def test_a_price_is_read_and_shown(text: str, money: Money, shown: str) -> None:
    assert parse_money(text) == money
    assert str(money) == shown
    assert parse_money(shown) == money


@pytest.mark.parametrize(
    "text",
    [
        "7.50", "", "£", "seven pounds", "£-7", "-£7", "GBP 1 GBP", "£7 EUR",
        "£7.", "£.50", "gbp 7", "£1e3", "£1234567890123",
    ],
)  # fmt: skip
def test_what_is_no_price_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(FigureError) as refused:
        parse_money(text)
    assert str(refused.value) == f"{text!r} is no price; write for example '£7.50' or '7.50 EUR'"


@pytest.mark.parametrize("text", ["£1,000", "£7,50", "1,234.50 EUR"])
def test_a_comma_in_a_price_is_named(text: str) -> None:
    with pytest.raises(FigureError) as refused:
        parse_money(text)
    assert str(refused.value) == (
        f"{text!r} has a comma in its figure; write a point, and nothing between thousands, as in"
        " '£1234.50' or '1234.50 EUR'"
    )


@pytest.mark.parametrize(("text", "currency"), [("£7.505", "GBP"), ("JPY 12.5", "JPY")])
def test_a_price_finer_than_its_currency_is_not_rounded_in_silence(
    text: str, currency: str
) -> None:
    with pytest.raises(FigureError) as refused:
        parse_money(text)
    assert str(refused.value) == f"{text!r} is finer than {currency} is counted; round it"


def test_a_long_text_is_not_read_by_its_beginning() -> None:
    with pytest.raises(FigureError, match="is no price"):
        parse_money("£7" + " " * 40 + "a dozen")


@given(st.integers(0, 10**12 - 1), CURRENCIES)
def test_every_amount_shown_is_read_again(minor: int, currency: str) -> None:
    assert parse_money(format_money(minor, currency)) == Money(minor, currency)


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(FigureError):
        assert parse_money(text).minor >= 0


@pytest.mark.parametrize(
    ("money", "amount"),
    [(Money(735, "GBP"), "7.35"), (Money(700, "EUR"), "7.00"), (Money(735, "JPY"), "735"),
     (Money(1234, "KWD"), "1.234"), (Money(-5, "GBP"), "-0.05"), (Money(0, "GBP"), "0.00")],
)  # fmt: skip
def test_json_has_the_exact_amount_as_text_and_the_currency(money: Money, amount: str) -> None:
    assert as_plain(money) == {"amount": amount, "currency": money.currency}
    assert str(money.amount) == amount


def test_sums_of_one_currency_have_it_in_common() -> None:
    assert require_one_currency([Money(1, "GBP"), Money(2, "GBP")], "x") == "GBP"


@pytest.mark.parametrize(
    ("sums", "told"),
    [([Money(1, "GBP"), Money(2, "EUR"), Money(3, "GBP")], "the bill: stated in EUR and GBP, and"),
     ([], "the bill: stated in no currency")],
)  # fmt: skip
def test_sums_of_several_currencies_are_refused(sums: list[Money], told: str) -> None:
    with pytest.raises(KittingError, match=told):
        require_one_currency(sums, "the bill")


@given(st.from_regex(r"[0-9]{0,14}(\.[0-9]{0,4})?", fullmatch=True), CURRENCIES)
def test_a_bare_figure_is_read_as_it_is_with_its_currency(text: str, currency: str) -> None:
    minor = bare_minor(text, currency)
    if minor is not None:
        assert parse_money(f"{text} {currency}") == Money(minor, currency)
    else:
        with pytest.raises(FigureError):
            parse_money(f"{text} {currency}")


@pytest.mark.parametrize(
    "text", ["", "7.", ".5", "-7", "7,50", "£7.50", "7.50 GBP", " 7", "٣", "1e3"]
)
def test_what_is_no_bare_figure_is_left_to_whoever_reads_money(text: str) -> None:
    assert bare_minor(text, "GBP") is None
