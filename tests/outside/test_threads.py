"""Threads and strengths against ISO 261 and ISO 898-1:2013 (data/README.md), and bd-warehouse."""

from __future__ import annotations

from decimal import Decimal

import pytest
from published import packaged_column, rows

from kitting.facts.threads import (
    COARSE_PITCH,
    PROPERTY_CLASSES,
    Strength,
    breaking_load,
    parse_thread,
    proof_load,
    strength,
    stress_area,
)


@pytest.mark.parametrize("row", rows("stress_areas.csv"), ids=lambda row: row["thread"])
def test_a_stress_area_is_the_published_one_to_three_figures(row: dict[str, str]) -> None:
    thread = parse_thread(row["thread"])
    assert thread.pitch == Decimal(row["pitch_mm"])
    # The standard rounds to three figures, not always to the nearest: 1 in the third place.
    published = Decimal(row["stress_area_mm2"])
    third_place = Decimal(1).scaleb(published.adjusted() - 2)
    assert abs(Decimal(stress_area(thread)) - published) <= third_place


@pytest.mark.parametrize("row", rows("stress_areas.csv"), ids=lambda row: row["thread"])
def test_a_thread_bears_its_pitch_in_its_name_only_where_the_standard_calls_it_fine(
    row: dict[str, str],
) -> None:
    name = parse_thread(f"{row['thread'].partition('x')[0]} x {row['pitch_mm']}").name
    fine = f"{row['thread'].partition('x')[0]}×{row['pitch_mm']}"
    assert name == (row["thread"] if row["series"] == "coarse" else fine)


@pytest.mark.parametrize(
    "row",
    rows("property_classes.csv"),
    ids=lambda row: f"{row['property_class']} {row['diameters']}",
)
def test_a_property_class_has_its_published_strengths(row: dict[str, str]) -> None:
    threads = {"all": ("M6", "M20"), "d<=16": ("M6", "M16"), "d>16": ("M18", "M36")}
    published = Strength(
        proof=int(row["proof_MPa"]), yielding=int(row["yield_MPa"]), tensile=int(row["tensile_MPa"])
    )
    for text in threads[row["diameters"]]:
        assert strength(parse_thread(text), row["property_class"]) == published


def test_every_property_class_is_compared() -> None:
    assert {row["property_class"] for row in rows("property_classes.csv")} == set(PROPERTY_CLASSES)


@pytest.mark.parametrize(
    "row", rows("bolt_loads.csv"), ids=lambda row: f"{row['thread']} {row['property_class']}"
)
def test_a_bolt_bears_the_loads_of_the_published_tables(row: dict[str, str]) -> None:
    thread = parse_thread(row["thread"])
    # The tables multiply an area of three figures and round again to three: up to 0.5 % each.
    assert proof_load(thread, row["property_class"]) == pytest.approx(
        float(row["proof_N"]), rel=0.01
    )
    assert breaking_load(thread, row["property_class"]) == pytest.approx(
        float(row["breaking_N"]), rel=0.01
    )


def test_coarse_pitches_are_those_that_bd_warehouse_gives_iso_4014_bolts() -> None:
    theirs = packaged_column("bd-warehouse", "hex_head_parameters.csv", "iso4014:s")
    pitches = dict(name.removeprefix("M").split("-") for name in theirs)
    ours = {f"{diameter:f}": f"{pitch:f}" for diameter, pitch in COARSE_PITCH.items()}
    assert ours.pop("7") == "1"  # ISO 261 has M7, ISO 4014 has not
    assert ours == pitches
