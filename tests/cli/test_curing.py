"""kitting cure: verdict, exit codes, JSON."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
ON = ("--on", "2026-04-15")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("PELL 117", "J3"), 0, "wait 24 h"),
        (("PELL 117", "J3", "--parked", "3 h"), 3, "NOT ENOUGH: the car can stand 3 h"),
        (("PELL 117", "J3", "--parked", "24 h"), 0, "ENOUGH: the car can stand 24 h"),
        (("PELL 117", "J4", "--parked", "7 days"), 3, "UNKNOWN: the car can stand 7 days"),
        (("PELL 117", "J4"), 3, "NOT STATED: LOOK IT UP"),
        (("PELL 117", "J4"), 3, "UNKNOWN: nobody can tell how long the car has to stand"),
        (("PELL 117", "J1", "--parked", "1 h"), 0, "No product of this plan has times of its own"),
        (("PELL 042", "J2"), 3, "J2: Which type of oil cooler"),
    ],
)
def test_the_exit_code_is_3_when_the_car_does_not_stand_long_enough_or_nobody_knows(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...],
    code: int, said: str,
) -> None:  # fmt: skip
    monkeypatch.setenv("KITTING_COLUMNS", "400")
    ended = run("cure", *words, *ON)
    assert (ended.code, ended.err) == (code, "")
    assert said in ended.out


def test_the_table_gives_the_reason_and_whose_times_they_are(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTING_COLUMNS", "400")
    out = run("cure", "PELL 117", "J3", "--parked", "3 h", *ON).out
    assert "NOT ENOUGH (needs 24 h, parked 3 h)" in out
    assert "joint timing-cover: timing cover to cylinder block" in out
    assert "(demo data sheet, invented; holds at 23 °C)" in out
    assert "1.64 m of bead take 2 min at 1 m/min, of 10 min open time" in out
    assert "cold and damp change them" in out


def test_json_has_minutes_amounts_and_verdicts(run: Run, garage_folder: Path) -> None:
    ended = run("cure", "PELL 117", "J3", "J4", "--parked", "24 h", *ON, "--json")
    plain = json.loads(ended.out)
    assert (ended.code, plain["verdict"], plain["parked_minutes"]) == (3, "unknown", 1440)
    sealant, locker = plain["products"]
    assert (sealant["item"], sealant["quantity"], sealant["unit"]) == (
        "SEALANT-COVER-70", 18.911, "ml",
    )  # fmt: skip
    assert (sealant["open_minutes"], sealant["cure_minutes"], sealant["verdict"]) == (
        10, 1440, "enough",
    )  # fmt: skip
    assert (locker["cure_minutes"], locker["verdict"]) == (None, "unknown")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("J3", "--parked", "3"), "'3' is a figure without unit"),
        (("J3", "--parked", "soon"), "soon"),
        (("J3", "--parked", "0 h"), "'0 h' is no waiting time"),
        (("J99",), "J99"),
    ],
)
def test_bad_input_is_told_in_a_sentence(
    run: Run, garage_folder: Path, words: tuple[str, ...], message: str
) -> None:
    ended = run("cure", "PELL 117", *words, *ON)
    assert ended.code == 1
    assert message in ended.err
    assert "Traceback" not in ended.err


def test_each_amount_stands_under_its_own_place(
    run: Run, garage_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTING_COLUMNS", "400")
    case = Path(__file__).parents[1] / "cases/r-s.yaml"
    assert run("load", str(case)).code == 0
    lines = [line.strip() for line in run("cure", "SS 1", "S1", "S2", *ON).out.splitlines()]
    rows = [lines[n : n + 2] for n, line in enumerate(lines) if "joint s" in line]
    assert [(one.count("two beads"), two.partition(" (")[0]) for one, two in rows] == [
        (1, "18.9 ml"), (1, "6.89 ml"), (0, "38.9 ml"),
    ]  # fmt: skip
