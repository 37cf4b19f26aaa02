"""Times of several parts, speeds, and the comma in a figure."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from kitting.errors import FigureError
from kitting.facts.durations import parse_days, parse_hours, parse_minutes, parse_speed
from kitting.facts.torque_bands import parse_torque_band
from kitting.facts.units import (
    parse_angle,
    parse_area,
    parse_celsius,
    parse_length,
    parse_quantity,
    parse_torque,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("10 min", 10),
        ("1 minute", 1),
        ("24 h", 1440),
        ("1.5 h", 90),
        ("1 hour", 60),
        ("23 h 59 min", 1439),
        ("23h59min", 1439),
        ("1 day 2 h 3 min", 1563),
        ("2 days 30 min", 2910),
    ],
)
def test_waiting_times_may_have_several_parts(text: str, value: int) -> None:
    assert parse_minutes(text) == value


@pytest.mark.parametrize(
    "text",
    [
        "59 min 23 h",
        "1 h 1 h",
        "1 h 30",
        "1.25 min",
        "0 h 0 min",
        "-1 h 30 min",
        "h",
        "",
        "3 weeks",
    ],
)
def test_what_is_no_waiting_time_is_named_with_an_example(text: str) -> None:
    with pytest.raises(FigureError, match="'10 min'"):
        parse_minutes(text)


def test_working_times_may_have_minutes_too() -> None:
    assert [parse_hours(text) for text in ("1 h 30 min", "2 hours 20 min")] == [1500, 2333]
    with pytest.raises(FigureError, match="no working time"):
        parse_hours("1 day 2 h")


@pytest.mark.parametrize(
    ("text", "value"), [("1.5 m/min", 1500), ("20 mm/s", 1200), ("90 cm / min", 900)]
)
def test_speeds_are_whole_millimetres_a_minute(text: str, value: int) -> None:
    assert parse_speed(text) == value


@pytest.mark.parametrize("text", ["1.5", "0 m/min", "-1 m/min", "1 km/h", "0.5 mm/min", "1 m"])
def test_what_is_no_speed_is_named_with_an_example(text: str) -> None:
    with pytest.raises(FigureError, match=r"1\.5 m/min"):
        parse_speed(text)


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (parse_minutes, "1,5 h"),
        (parse_minutes, "1 h 7,5 min"),
        (parse_hours, "1,2 h"),
        (parse_days, "1,5 days"),
        (parse_speed, "1,5 m/min"),
        (parse_length, "17,2 mm"),
        (parse_length, "1,000 mm"),
        (parse_area, "65,5 cm²"),
        (parse_angle, "22,5°"),
        (parse_celsius, "99,5 °C"),
        (parse_quantity, "3,2 L"),
        (parse_torque, "24,5 N·m"),
        (parse_torque_band, "4 ± 0,3 N·m"),
    ],
)
def test_a_comma_in_a_figure_is_named_as_the_fault(
    read: Callable[[str], object], text: str
) -> None:
    with pytest.raises(FigureError, match="has a comma in its figure; write"):
        read(text)
