"""Head sizes against the standards (sources per table in data/README.md) and bd-warehouse.

bd-warehouse is a package of CAD models; its tables were typed by others from the same standards.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from published import column, packaged_column, rows

from kitting.facts.heads import SQUARE_DRIVES, STANDARDS, Head, parse_head, standard_size

TABLES = {
    "hexagons.csv": ("ISO 272", "ISO 4014", "ISO 4017", "ISO 4032", "JIS small hexagon"),
    "flanges.csv": ("ISO 4162", "ISO 15071", "JIS B 1189"),
    "keys.csv": ("ISO 4762", "ISO 7380-1", "ISO 10642"),
    "six_lobe.csv": ("ISO 14579", "ISO 14580", "ISO 14583", "DIN 34800"),
}
# Past M48 our copies of ISO 272, ISO 4014, ISO 4017 and ISO 4032 end; bd-warehouse goes on.
UNCOPIED = {"M52", "M56", "M60", "M64"}


@pytest.mark.parametrize(
    ("table", "standard"), [(table, name) for table, names in TABLES.items() for name in names]
)
def test_sizes_per_thread_are_those_that_the_standard_prints(table: str, standard: str) -> None:
    published = column(table, "thread", standard)
    ours = {thread: size for thread, size in STANDARDS[standard].items() if thread not in UNCOPIED}
    assert ours == published


def test_every_standard_is_compared_with_a_published_table() -> None:
    assert {name for names in TABLES.values() for name in names} == set(STANDARDS)


@pytest.mark.parametrize(
    ("standard", "table", "key", "fewest"),
    [
        ("ISO 4014", "hex_head_parameters.csv", "iso4014:s", 29),
        ("ISO 4017", "hex_head_parameters.csv", "iso4017:s", 29),
        ("ISO 4032", "hex_nut_parameters.csv", "iso4032:s", 29),
        ("ISO 4762", "socket_head_cap_parameters.csv", "iso4762:s", 18),
        ("ISO 14580", "cheese_head_parameters.csv", "iso14580:recess", 9),
        ("ISO 14583", "pan_head_parameters.csv", "iso14583:recess", 9),
    ],
)
def test_sizes_are_those_that_bd_warehouse_holds(
    standard: str, table: str, key: str, fewest: int
) -> None:
    theirs = packaged_column("bd-warehouse", table, key)
    compared = {
        name: (standard_size(standard, name.partition("-")[0]), size)
        for name, size in theirs.items()
        if name.partition("-")[0] in STANDARDS[standard]
    }
    assert len(compared) >= fewest
    assert {name: pair for name, pair in compared.items() if pair[0] != pair[1]} == {}


@pytest.mark.parametrize(
    ("standard", "table", "key", "threads"),
    [
        ("ISO 7380-1", "button_head_parameters.csv", "iso7380_1:s", 8),
        ("ISO 10642", "countersunk_head_parameters.csv", "iso10642:s", 10),
    ],
)
def test_keys_fit_the_sockets_that_bd_warehouse_holds_the_largest_width_of(
    standard: str, table: str, key: str, threads: int
) -> None:
    theirs = packaged_column("bd-warehouse", table, key)
    widest = {name.partition("-")[0]: Decimal(width) for name, width in theirs.items()}
    play = {thread: widest[thread] - Decimal(size) for thread, size in STANDARDS[standard].items()}
    assert len(play) == threads
    assert all(0 < gap < Decimal("0.25") for gap in play.values()), play


@pytest.mark.parametrize("drive", [row["drive"] for row in rows("six_lobe_drives.csv")])
def test_every_six_lobe_drive_of_iso_10664_is_known(drive: str) -> None:
    assert parse_head(f"six-lobe {drive}") == Head("six-lobe", drive)


def test_the_six_lobe_drives_are_those_of_bd_warehouse() -> None:
    theirs = packaged_column("bd-warehouse", "iso10664def.csv", "A")
    assert theirs == column("six_lobe_drives.csv", "drive", "A_mm")


def test_squares_and_their_limits_are_those_of_iso_1174_1_and_iso_6789() -> None:
    ours = [(d.inch, d.millimetres, d.standard_limit) for d in SQUARE_DRIVES]
    assert ours == [
        (row["inch"], Decimal(row["nominal_mm"]), Decimal(row["largest_torque_Nm"]))
        for row in rows("squares.csv")
    ]


def test_the_inch_name_of_a_square_lies_within_the_limits_of_its_millimetre_size() -> None:
    for row in rows("squares.csv"):
        upper, _, lower = row["inch"].partition("/")
        inch = Decimal(upper) / Decimal(lower or 1) * Decimal("25.4")
        assert Decimal(row["male_square_min_mm"]) <= inch <= Decimal(row["male_square_max_mm"])
