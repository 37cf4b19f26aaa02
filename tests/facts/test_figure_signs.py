"""Signs between thousands and decimal signs: read where one meaning is left, else in doubt."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.facts.figure_signs import InDoubtError, decimal_sign, with_point


@pytest.mark.parametrize(
    ("text", "plain", "sign"),
    [
        ("38,50", "38.50", ","),
        ("38.50", "38.50", "."),
        ("38,5", "38.5", ","),
        ("0,035", "0.035", ","),
        ("0.035", "0.035", "."),
        ("1.234,50", "1234.50", ","),
        ("1,234.50", "1234.50", "."),
        ("1 234,50", "1234.50", ","),
        ("1\u00a0234.50", "1234.50", "."),
        ("1\u202f234\u202f567,5", "1234567.5", ","),
        ("1'234.50", "1234.50", "."),
        ("1’234.50", "1234.50", "."),
        ("1 234", "1234", None),
        ("12 345,678", "12345.678", ","),
        ("1234,567", "1234.567", ","),
        ("1234.567", "1234.567", "."),
        ("1,234,567", "1234567", "."),
        ("1.234.567", "1234567", ","),
        ("1,234,567.5", "1234567.5", "."),
        ("12,-", "12", None),
        ("12.–", "12", None),
        ("12", "12", None),
        ("€ 1.234,50", "€ 1234.50", ","),
        ("1,5 L", "1.5 L", ","),
        ("2 each", "2 each", None),
    ],
)
def test_a_figure_of_one_meaning_is_written_with_a_point(
    text: str, plain: str, sign: str | None
) -> None:
    assert with_point(text) == plain
    assert decimal_sign(text) == sign


@pytest.mark.parametrize(
    "text",
    ["", "x", "1,23,456", "1,2,3", "1.234.50", "12 34", "1,234,56", "01,234.5", "2 x 10 each",
     "0,250,000", "1 234.567.890"],
)  # fmt: skip
def test_what_follows_no_rule_is_left_as_it_is(text: str) -> None:
    assert with_point(text) == with_point(text, ",") == text
    assert decimal_sign(text) is None


@pytest.mark.parametrize(
    ("text", "by_comma", "by_point", "told"),
    [
        (
            "1,234",
            "1.234",
            "1234",
            "'1,234' may be 1.234 or 1234: nothing says whether its comma is the decimal one",
        ),
        (
            "£12.500",
            "£12500",
            "£12.500",
            "'£12.500' may be 12.500 or 12500: nothing says whether its point is the decimal one",
        ),
    ],
)
def test_a_figure_of_two_meanings_is_in_doubt_until_the_sign_is_known(
    text: str, by_comma: str, by_point: str, told: str
) -> None:
    with pytest.raises(InDoubtError) as doubt:
        with_point(text)
    assert str(doubt.value) == told
    assert decimal_sign(text) is None
    assert (with_point(text, ","), with_point(text, ".")) == (by_comma, by_point)


@given(
    figure=st.decimals("0", "99999999", places=4).map(lambda one: one.normalize()),
    decimal=st.sampled_from(",."),
    grouped=st.sampled_from(["", "other", " ", "'", "\u00a0", "\u202f"]),
)
def test_a_figure_written_by_a_rule_means_itself_or_is_in_doubt(
    figure: Decimal, decimal: str, grouped: str
) -> None:
    between = {",": ".", ".": ","}[decimal] if grouped == "other" else grouped
    whole, _, part = f"{figure:f}".partition(".")
    groups = f"{int(whole):,}".replace(",", between)
    written = groups + (f"{decimal}{part}" if part else "")
    assert Decimal(with_point(written, decimal)) == figure
    try:
        read = with_point(written)
    except InDoubtError:
        three = len(part) == 3 if part else between in (",", ".") and groups.count(between) == 1
        assert three
        assert groups.count(between) == 1 or not between or len(groups) <= 3
    else:
        assert Decimal(read) == figure
        assert decimal_sign(written) in (decimal, None)
