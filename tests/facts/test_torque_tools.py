"""Torque tools: range policies and deviations (the published figures stand in tests/outside)."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.tool_words import RangePolicy
from kitting.facts.torque_tools import parse_range_policy, permissible_deviation, usable_range

FIGURES = st.decimals("0.1", "3000", places=1)


def test_a_scale_that_begins_above_a_fifth_is_valid_from_its_beginning() -> None:
    assert usable_range(Decimal(40), Decimal(100), RangePolicy.FIFTH) == (Decimal(40), Decimal(100))


def test_an_unknown_policy_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(FigureError) as refused:
        parse_range_policy("half")
    assert str(refused.value) == (
        "'half' is no range policy; use marked (ISO 6789:2017) or fifth (20 % to 100 %,"
        " ISO 6789:2003)"
    )
    assert parse_range_policy("fifth") is RangePolicy.FIFTH


@given(FIGURES, FIGURES)
def test_every_policy_keeps_within_the_marks(first: Decimal, second: Decimal) -> None:
    low, high = sorted([first, second])
    for policy in RangePolicy:
        begins, ends = usable_range(low, high, policy)
        assert low <= begins <= ends == high


@given(FIGURES, FIGURES)
def test_a_larger_wrench_is_never_permitted_a_larger_part(first: Decimal, second: Decimal) -> None:
    smaller, larger = sorted([first, second])
    assert permissible_deviation(larger) <= permissible_deviation(smaller)
    assert permissible_deviation(larger) <= permissible_deviation(larger, simple=True)
