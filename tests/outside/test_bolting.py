"""Preloads and torques against VDI 2230 part 1 (2003), table A1 (data/README.md)."""

from __future__ import annotations

import pytest
from published import rows

from kitting.calc.tightening.bolting import assembly_preload, tightening_torque
from kitting.facts.threads import COARSE_PITCH, parse_thread

TABLE = rows("tightening.csv")
DOUBTED = [row for row in TABLE if row["note"]]


def name(row: dict[str, str]) -> str:
    return f"{row['thread']} {row['property_class']} at {row['friction']}"


def computed(row: dict[str, str]) -> tuple[float, float]:
    """Preload in kN and torque in N·m for a line of the table."""
    thread, friction = parse_thread(row["thread"]), float(row["friction"])
    preload = assembly_preload(thread, row["property_class"], friction)
    return preload / 1000, tightening_torque(thread, preload, friction)


def test_the_table_is_whole_and_doubts_one_line() -> None:
    assert len({name(row) for row in TABLE}) == 8 * 3 * 3 == len(TABLE)
    assert {row["thread"]: row["pitch_mm"] for row in TABLE} == {
        f"M{diameter}": str(COARSE_PITCH[diameter])
        for diameter in COARSE_PITCH
        if diameter in (4, 5, 6, 8, 10, 12, 14, 16)
    }
    assert [name(row) for row in DOUBTED] == ["M4 10.9 at 0.12"]


@pytest.mark.parametrize("row", TABLE, ids=name)
def test_a_preload_is_the_published_one_within_two_per_cent(row: dict[str, str]) -> None:
    assert computed(row)[0] == pytest.approx(float(row["preload_kN"]), rel=0.02)


@pytest.mark.parametrize("row", [row for row in TABLE if not row["note"]], ids=name)
def test_a_torque_is_the_published_one_within_two_per_cent(row: dict[str, str]) -> None:
    assert computed(row)[1] == pytest.approx(float(row["torque_Nm"]), rel=0.02)


def test_the_doubted_torque_agrees_neither_with_the_formula_nor_with_its_neighbours() -> None:
    # Class scales preload and torque alike, so that one friction has one torque per preload:
    # the printed 4.6 N·m at 6.5 kN breaks that by 4 %, the 4.35 N·m of the formula does not.
    (doubted,) = DOUBTED
    published, formula = float(doubted["torque_Nm"]), computed(doubted)[1]
    assert formula == pytest.approx(4.35, abs=0.005)
    assert published / formula - 1 == pytest.approx(0.058, abs=0.001)
    levers = {
        row["property_class"]: float(row["torque_Nm"]) / float(row["preload_kN"])
        for row in TABLE
        if (row["thread"], row["friction"]) == ("M4", "0.12")
    }
    # Figures printed to a tenth: 0.05 in about 4 is 1.2 %, and as much again for the preload.
    assert levers["8.8"] == pytest.approx(levers["12.9"], rel=0.025)
    assert levers["10.9"] / levers["12.9"] - 1 == pytest.approx(0.055, abs=0.001)
