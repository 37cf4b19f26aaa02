"""The short plan: one screen, and nothing on it missing that is not fine."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from commands import Run, runner

SCREEN = 45  # lines of one screen
ON = ("--on", "2026-04-15")
CASES = [
    ("PELL 042", "J1", "J2", "J3"),
    ("PELL 117", "J1", "J2", "J3"),
    ("PELL 117", "J4", "J5", "J6"),
    ("PELL 117", "J7"),
    ("PELL 042", "J3", "J5", "J7"),
]


def _plans(run: Run, case: tuple[str, ...]) -> tuple[str, dict[str, Any]]:
    short = run("plan", *case, *ON)
    whole = run("plan", *case, *ON, "--json")
    assert short.code == whole.code
    return short.out, json.loads(whole.out)


@pytest.mark.parametrize(
    ("case", "columns"), [(CASES[0], 80), (CASES[1], 80), (CASES[2], 140), (CASES[3], 80)]
)
def test_a_plan_of_three_jobs_is_one_screen(
    case: tuple[str, ...],
    columns: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    garage_folder: Path,
) -> None:
    short, _ = _plans(runner(monkeypatch, capsys, columns), case)
    assert 10 < len(short.splitlines()) <= SCREEN


@pytest.mark.parametrize("case", CASES, ids=" ".join)
def test_nothing_that_is_not_fine_is_missing_from_the_short_plan(
    case: tuple[str, ...], run: Run, garage_folder: Path
) -> None:
    short, plan = _plans(run, case)
    said = " ".join(short.replace("│", " ").split())
    entries = [*plan["lines"], *plan["uses"]]
    for entry in entries:
        if entry["verdict"] != "fine":
            assert entry["item"] in said
    for split in plan["unresolved"]:
        assert split["question"] in said
        assert split["check"] in said
        assert all(option["name"] in said for option in split["options"])
    for doubt in plan["doubts"]:
        # Where a rubber touches what is told of two positions; each item is named.
        named = {key: value for key, value in doubt["because"].items() if isinstance(value, str)}
        left = {"code"} | ({"position"} if "rubber" in named else set())
        assert all(value in said for key, value in named.items() if key not in left), doubt
    for figure in plan["unknown_figures"]:
        assert f"{figure['joint']}: {figure['position']} ({figure['item']})" in said
    for one in (*plan["cautions"], *plan["licences"], *plan["services"]):
        assert one.get("title", one.get("name")) in said


@pytest.mark.parametrize("case", CASES, ids=" ".join)
def test_the_counts_of_the_short_plan_are_those_of_its_lines(
    case: tuple[str, ...], run: Run, garage_folder: Path
) -> None:
    short, plan = _plans(run, case)
    counted = dict(re.findall(r"(renew|look at|keep|used up) +(\d+)  ", short))
    rules = {"renew": "renew", "look at": "inspect", "keep": "keep"}
    lines = {
        name: sum(line["rule"] == rule for line in plan["lines"]) for name, rule in rules.items()
    }
    expected = {**lines, "used up": len(plan["uses"])}
    assert counted == {name: str(count) for name, count in expected.items() if count}


def test_a_reason_that_several_have_is_said_once(run: Run, garage_folder: Path) -> None:
    told = run("plan", "PELL 042", "J2", *ON).said
    assert told.count("FKM in hydrocarbon engine oil") == 1
    assert (
        "OIL-ENGINE on FKM at cooler, oil in; cooler, oil out (RING-FKM-10.8X1.8): as said" in told
    )


def test_what_follows_a_plan_can_be_copied(run: Run, garage_folder: Path) -> None:
    told = run("plan", "PELL 117", "J1", "J2", *ON).out
    assert (
        '  To book it, and see what is short: kitting book "PELL 117" J1 J2 --on 2026-04-15' in told
    )
    full = next(line for line in told.splitlines() if line.endswith("--full"))
    assert full.partition(": kitting ")[2] == 'plan "PELL 117" J1 J2 --on 2026-04-15 --full'
    assert "STRIP DOWN, in this order" in run("plan", "PELL 117", "J1", "J2", *ON, "--full").out


def test_a_plan_that_waits_or_assumes_offers_no_booking(run: Run, garage_folder: Path) -> None:
    waits = run("plan", "PELL 042", "J2", *ON).out
    assert "kitting book" not in waits
    assert 'Then: kitting settle "PELL 042" cooler early|late' in waits
    assumed = run("plan", "PELL 042", "J2", *ON, "--assume", "cooler=late").out
    assert "kitting book" not in assumed
    assert "Assumed for this answer only, to be settled first: cooler=late" in assumed
    assert "J2 --on 2026-04-15 --assume cooler=late --full" in assumed
