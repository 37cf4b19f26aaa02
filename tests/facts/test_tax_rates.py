"""Tax: rates by day and place, and the tax of a sum. Every rate here is invented."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import pytest
from examples import examples
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.tax_rates import TaxTerms, format_rate, parse_rate, tax_of

FIRST, SECOND = date(2025, 1, 1), date(2026, 4, 1)


@pytest.mark.parametrize(
    ("terms", "day", "rate"),
    [
        (TaxTerms(), SECOND, None),
        (TaxTerms(branch=((FIRST, 10_000), (SECOND, 12_000))), date(2024, 12, 31), None),
        (TaxTerms(branch=((SECOND, 12_000), (FIRST, 10_000))), date(2026, 3, 31), 10_000),
        (TaxTerms(branch=((FIRST, 10_000), (SECOND, 12_000))), SECOND, 12_000),
        # The supplier's own goes first, from the day that it has one.
        (TaxTerms(((SECOND, 0),), ((FIRST, 10_000),)), SECOND, 0),
        (TaxTerms(((SECOND, 0),), ((FIRST, 10_000),)), FIRST, 10_000),
    ],
)
def test_the_rate_of_a_day(terms: TaxTerms, day: date, rate: int | None) -> None:
    assert terms.rate_on(day) == rate


@examples(15, 500)
@given(st.integers(0, 10**9), st.integers(0, 100_000))
def test_the_tax_of_a_sum_is_rounded_half_up_once(minor: int, rate: int) -> None:
    exact = (Decimal(minor) * rate / 100_000).quantize(Decimal(1), ROUND_HALF_UP)
    assert tax_of(minor, rate, included=False) == exact
    whole = minor + int(exact)
    assert abs(tax_of(whole, rate, included=True) - exact) <= 1


def test_tax_on_top_is_found_again_in_the_whole() -> None:
    for minor in range(0, 5000, 7):
        tax = tax_of(minor, 8_100, included=False)
        assert tax_of(minor + tax, 8_100, included=True) == tax


def test_rates_are_read_as_they_are_written() -> None:
    assert [parse_rate(text) for text in ("20 %", "8.1%", "0 %", "5.125 %")] == [
        20_000, 8_100, 0, 5_125,
    ]  # fmt: skip
    assert format_rate(parse_rate("5.5 %")) == "5.5 %"
    for text in ("20", "-1 %", "101 %", "8,1 %", "1.2345 %", ""):
        with pytest.raises(FigureError, match="no rate of tax"):
            parse_rate(text)
