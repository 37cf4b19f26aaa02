"""Units against NIST SP 811 (2008), appendix B, and the pint library."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published import column

from kitting.facts.units import TORQUE_UNITS, Torque, parse_length, parse_quantity, parse_torque

PINT: pint.UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
PINT_NAMES = {
    "N·m": "newton * meter",
    "lbf·ft": "force_pound * foot",
    "lbf·in": "force_pound * inch",
    "kgf·m": "force_kilogram * meter",
    "kgf·cm": "force_kilogram * centimeter",
}


@pytest.mark.parametrize(
    ("unit", "printed"), sorted(column("torque_units.csv", "unit", "newton_metres_printed").items())
)
def test_a_torque_unit_is_what_nist_prints_to_the_last_figure_printed(
    unit: str, printed: str
) -> None:
    ours = Torque(Decimal(1), unit).newton_metres
    assert ours.quantize(Decimal(printed)) == Decimal(printed)


def test_every_torque_unit_is_compared_with_pint() -> None:
    assert set(PINT_NAMES) == set(TORQUE_UNITS)


@given(
    st.decimals("0.001", "100000", places=3),
    st.sampled_from(sorted(PINT_NAMES)),
    st.sampled_from(sorted(PINT_NAMES)),
)
def test_a_converted_torque_is_what_pint_makes_of_it(
    figure: Decimal, unit: str, other: str
) -> None:
    theirs = PINT.Quantity(figure, PINT_NAMES[unit]).to(PINT_NAMES[other]).magnitude
    assert abs(Torque(figure, unit).to(other) - theirs) <= theirs * Decimal("1e-20")


@pytest.mark.parametrize("text", ["3.2 L", "70 ml", "3 cl", "0.5 kg", "12.5 g", "1.64 m", "25 mm"])
def test_an_amount_is_what_pint_makes_of_the_same_text(text: str) -> None:
    ours = parse_quantity(text)
    theirs: Decimal = PINT.Quantity(text).to(ours.unit).magnitude
    assert Decimal(ours.thousandths) == theirs * 1000


@pytest.mark.parametrize("inches", ["1", "0.139", "0.070", "0.103", "0.210", "0.275", "17.955"])
def test_an_inch_length_is_what_pint_makes_of_it_to_the_thousandth(inches: str) -> None:
    theirs = PINT.Quantity(Decimal(inches), "inch").to("millimeter").magnitude
    assert abs(parse_length(f"{inches} in") - theirs * 1000) <= Decimal("0.5")


def test_the_cgs_and_technical_units_of_one_torque_are_the_same() -> None:
    assert parse_torque("250 kgf·cm").newton_metres == parse_torque("2.5 kgf·m").newton_metres
