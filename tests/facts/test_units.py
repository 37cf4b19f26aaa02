"""Figures as people write them: read exactly, shown plainly, refused with a way out."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kitting.errors import FigureError
from kitting.facts.durations import (
    parse_days,
    parse_hours,
    parse_months,
)
from kitting.facts.torque_bands import parse_torque_band
from kitting.facts.units import (
    TORQUE_UNITS,
    Quantity,
    Torque,
    format_quantity,
    parse_angle,
    parse_area,
    parse_length,
    parse_quantity,
    parse_torque,
    second_unit,
    show_torque,
)
from kitting.facts.words import StockUnit

FIGURES = st.decimals("0.001", "100000", places=3)
UNITS = st.sampled_from(sorted(TORQUE_UNITS))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("10 N·m", "10 N·m"),
        ("10Nm", "10 N·m"),
        ("10 N.m", "10 N·m"),
        ("10 N m", "10 N·m"),
        ("10 N-m", "10 N·m"),
        ("25 newton metres", "25 N·m"),
        ("18 lb ft", "18 lbf·ft"),
        ("18 lbf ft", "18 lbf·ft"),
        ("18 lbf.ft", "18 lbf·ft"),
        ("18 ft lb", "18 lbf·ft"),
        ("18 ft-lb", "18 lbf·ft"),
        ("18 ft-lbs", "18 lbf·ft"),
        ("75 lb in", "75 lbf·in"),
        ("75 in-lb", "75 lbf·in"),
        ("75 LBF·IN", "75 lbf·in"),
        ("2.5 kgf m", "2.5 kgf·m"),
        ("2.5 kgm", "2.5 kgf·m"),
        ("250 kgf·cm", "250 kgf·cm"),
        ("250 kgcm", "250 kgf·cm"),
    ],
)
def test_a_torque_is_read_in_the_usual_spellings_of_its_unit(text: str, shown: str) -> None:
    assert str(parse_torque(text)) == shown


@pytest.mark.parametrize(
    ("text", "shown"),
    [("8.0 N·m", "8 N·m"), (".5 N·m", "0.5 N·m"), ("3.50 N·m", "3.5 N·m"), ("100 N·m", "100 N·m")],
)
def test_a_figure_is_shown_with_its_leading_nought_and_without_needless_ones(
    text: str, shown: str
) -> None:
    assert str(parse_torque(text)) == shown


def test_a_figure_stays_as_published() -> None:
    assert parse_torque("8.0 lb ft") == Torque(Decimal("8.0"), "lbf·ft")


def test_a_torque_without_unit_is_refused_with_two_examples() -> None:
    with pytest.raises(FigureError) as caught:
        parse_torque("96")
    assert str(caught.value) == (
        "'96' is a figure without unit; write for example '96 N·m' or '96 lbf·in'"
    )


def test_an_unknown_unit_of_torque_is_refused_with_the_known_ones() -> None:
    with pytest.raises(FigureError) as caught:
        parse_torque("96 bar")
    assert str(caught.value) == (
        "'96 bar' has no unit of torque known here; use one of"
        " N·m, lbf·ft, lbf·in, kgf·m, kgf·cm, for example '10 N·m'"
    )


@pytest.mark.parametrize("text", ["-3 N·m", "nan N·m", "inf N·m", "1e3 N·m", "", "N·m", "3,5 N·m"])
def test_what_is_no_torque_is_refused(text: str) -> None:
    with pytest.raises(FigureError):
        parse_torque(text)


def test_very_long_text_is_refused_and_not_repeated_in_full() -> None:
    with pytest.raises(FigureError) as caught:
        parse_torque("9" * 10_000)
    assert len(str(caught.value)) < 160


@given(FIGURES, UNITS)
def test_a_torque_read_back_from_its_text_is_the_same(figure: Decimal, unit: str) -> None:
    torque = Torque(figure, unit)
    assert parse_torque(str(torque)) == torque


@given(FIGURES, UNITS, UNITS)
def test_a_torque_converted_there_and_back_is_the_same(
    figure: Decimal, unit: str, other: str
) -> None:
    there = Torque(Torque(figure, unit).to(other), other)
    assert abs(there.to(unit) - figure) <= figure * Decimal("1e-25")


@given(FIGURES, UNITS, UNITS)
def test_a_shown_conversion_is_right_to_half_a_step_of_three_figures(
    figure: Decimal, unit: str, other: str
) -> None:
    torque = Torque(figure, unit)
    shown, shown_unit = show_torque(torque, other).split(" ")
    exact = torque.to(other)
    assert shown_unit == other
    assert abs(Decimal(shown) - exact) <= Decimal("0.005") * exact
    assert len(shown.replace(".", "").strip("0")) <= 3
    assert "E" not in shown
    assert not shown.startswith(".")


@pytest.mark.parametrize(
    ("text", "second"),
    [
        ("25 N·m", "18.4 lbf·ft"),
        ("8 N·m", "70.8 lbf·in"),
        ("9.99 N·m", "88.4 lbf·in"),
        ("10 N·m", "7.38 lbf·ft"),
        ("96 lbf·in", "10.8 N·m"),
        ("18 lbf·ft", "24.4 N·m"),
        ("250 kgf·cm", "24.5 N·m"),
        ("2.5 kgf·m", "24.5 N·m"),
        ("737.5 lbf·ft", "1000 N·m"),
    ],
)
def test_the_second_unit_is_that_of_the_other_scale(text: str, second: str) -> None:
    assert second_unit(parse_torque(text)) == second


def test_nothing_converts_to_nothing() -> None:
    assert show_torque(Torque(Decimal(0), "N·m"), "lbf·ft") == "0 lbf·ft"


@pytest.mark.parametrize(
    ("text", "figure", "tolerance"),
    [
        ("4 ± 0.3 N·m", "4", "0.3"),
        ("4 N·m ± 0.3 N·m", "4", "0.3"),
        ("4±0.3Nm", "4", "0.3"),
        ("4 +/- 0.3 N·m", "4", "0.3"),
    ],
)
def test_a_tolerance_is_read_in_the_unit_of_its_torque(
    text: str, figure: str, tolerance: str
) -> None:
    assert parse_torque_band(text) == (Torque(Decimal(figure), "N·m"), Decimal(tolerance))


def test_a_torque_without_tolerance_has_none() -> None:
    assert parse_torque_band("4 N·m") == (Torque(Decimal(4), "N·m"), None)


@pytest.mark.parametrize("text", ["4 ± 0.3", "4 lbf·in ± 0.3 N·m", "± 0.3 N·m", "4 ± -0.3 N·m"])
def test_a_tolerance_without_unit_in_another_unit_or_without_torque_is_refused(text: str) -> None:
    with pytest.raises(FigureError):
        parse_torque_band(text)


@pytest.mark.parametrize(
    ("text", "thousandths", "unit"),
    [
        ("3.2 L", 3_200_000, "ml"),
        ("70 ml", 70_000, "ml"),
        ("3 cl", 30_000, "ml"),
        ("0.05 ml", 50, "ml"),
        ("0.5 kg", 500_000, "g"),
        ("12 each", 12_000, "each"),
        ("1.64 m", 1_640_000, "mm"),
        ("25 mm", 25_000, "mm"),
        ("2.5 cm", 25_000, "mm"),
        ("0 ml", 0, "ml"),
    ],
)
def test_an_amount_is_read_exactly_in_thousandths_of_its_base_unit(
    text: str, thousandths: int, unit: str
) -> None:
    assert parse_quantity(text) == Quantity(thousandths, unit)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("12", "'12' is a figure without unit; write for example '12 each' or '12 L'"),
        ("-1 ml", "'-1 ml' is negative; an amount is a positive figure"),
        ("0.0005 ml", "'0.0005 ml' is finer than a thousandth of ml; round it"),
        (
            "9999999999 L",
            "'9999999999 L' is larger than anything in a workshop; check the figure",
        ),
        (
            "9999999999999999 each",
            "'9999999999999999 each' has more digits than any figure needs; check the figure",
        ),
        ("nan ml", "'nan ml' is no amount; write for example '3 each' or '3.2 L'"),
        ("inf ml", "'inf ml' is no amount; write for example '3 each' or '3.2 L'"),
        (
            "1e9 ml",
            "'1e9 ml' has no unit known here; use one of each, ml, cl, l, g, kg, mm, cm, m,"
            " for example '3.2 L'",
        ),
    ],
)
def test_what_is_no_amount_is_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(FigureError) as caught:
        parse_quantity(text)
    assert str(caught.value) == reason


@given(st.text(max_size=80))
def test_any_text_at_all_is_an_amount_or_an_explained_error(text: str) -> None:
    with suppress(FigureError):
        found = parse_quantity(text)
        assert found.unit in tuple(StockUnit)
        assert 0 <= found.thousandths <= 10**12


@pytest.mark.parametrize(
    ("thousandths", "unit", "shown"),
    [
        (3_200_000, "ml", "3.2 L"),
        (1_000_000, "ml", "1 L"),
        (999_999, "ml", "999.999 ml"),
        (70_000, "ml", "70 ml"),
        (500, "ml", "0.5 ml"),
        (8_000, "g", "8 g"),
        (1_500_000, "g", "1.5 kg"),
        (4_000, "each", "4"),
        (1_640_000, "mm", "1.64 m"),
        (25_000, "mm", "25 mm"),
        (0, "ml", "0 ml"),
    ],
)
def test_an_amount_is_shown_in_the_unit_that_people_use(
    thousandths: int, unit: str, shown: str
) -> None:
    assert format_quantity(thousandths, unit) == shown


@given(st.integers(0, 10**12), st.sampled_from(StockUnit))
def test_an_amount_read_back_from_its_text_is_the_same(thousandths: int, unit: str) -> None:
    thousandths -= thousandths % 1000 if unit == "each" else 0  # pieces are whole
    shown = format_quantity(thousandths, unit)
    text = f"{shown} each" if unit == "each" else shown
    assert parse_quantity(text) == Quantity(thousandths, unit)


@pytest.mark.parametrize(
    ("text", "thousandths"),
    [
        ("17.0 mm", 17_000),
        ("2.5 mm", 2_500),
        ("1.7 cm", 17_000),
        ("1.64 m", 1_640_000),
        ("0.139 in", 3_531),
        ("3/8 in", 9_525),
        ('3/8"', 9_525),
        ("1 1/4 in", 31_750),
        ("1/3 in", 8_467),
    ],
)
def test_a_length_is_read_in_millimetres_and_inches(text: str, thousandths: int) -> None:
    assert parse_length(text) == thousandths


@pytest.mark.parametrize(
    "text", ["17", "0 mm", "-3 mm", "0/8 in", "3/0 in", "0.00001 in", "2.5001 mm", "3 ft", "3/8"]
)
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(FigureError):
        parse_length(text)


@given(st.integers(1, 10**9))
def test_any_thousandth_of_a_millimetre_is_read_exactly(thousandths: int) -> None:
    assert parse_length(f"{Decimal(thousandths) / 1000:f} mm") == thousandths


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        (parse_area, "6500 mm2", 6_500_000),
        (parse_area, "6500 mm²", 6_500_000),
        (parse_area, "65 cm²", 6_500_000),
        (parse_hours, "1.2 h", 1_200),
        (parse_hours, "45 min", 750),
        (parse_hours, "50 min", 833),
        (parse_hours, "0 h", 0),
        (parse_angle, "90°", 90_000),
        (parse_angle, "90 deg", 90_000),
        (parse_angle, "+90°", 90_000),
        (parse_angle, "22.5 degrees", 22_500),
        (parse_months, "7 years", 84),
        (parse_months, "1 year", 12),
        (parse_months, "1.5 years", 18),
        (parse_months, "18 months", 18),
        (parse_days, "60 days", 60),
        (parse_days, "8 weeks", 56),
    ],
)
def test_areas_times_and_angles_are_read_in_their_units(
    read: Callable[[str], int], text: str, value: int
) -> None:
    assert read(text) == value


@pytest.mark.parametrize(
    ("read", "text", "example"),
    [
        (parse_area, "6500", "'6500 mm²'"),
        (parse_area, "6500 mm", "'6500 mm²'"),
        (parse_area, "-1 mm²", "'6500 mm²'"),
        (parse_hours, "1.2", "'1.2 h'"),
        (parse_hours, "-1 h", "'1.2 h'"),
        (parse_hours, "2 days", "'1.2 h'"),
        (parse_angle, "90", "'90°'"),
        (parse_angle, "90 turns", "'90°'"),
        (parse_months, "7", "'7 years'"),
        (parse_months, "0 years", "'7 years'"),
        (parse_months, "0.5 months", "'7 years'"),
        (parse_days, "60", "'60 days'"),
        (parse_days, "1.5 days", "'60 days'"),
        (parse_days, "2 months", "'60 days'"),
    ],
)
def test_a_wrong_area_time_or_angle_is_named_with_an_example(
    read: Callable[[str], int], text: str, example: str
) -> None:
    with pytest.raises(FigureError) as caught:
        read(text)
    assert repr(text) in str(caught.value)
    assert example in str(caught.value)


@pytest.mark.parametrize("text", ["0°", "-90°", "1080.001°"])
def test_an_angle_of_nothing_or_beyond_three_turns_is_refused(text: str) -> None:
    with pytest.raises(FigureError, match="between 0° and 1080°"):
        parse_angle(text)
