"""Findings of several positions in one command, and delivery notes on the command line."""

from __future__ import annotations

import json
from pathlib import Path

from commands import Run

from kitting.views.counted import InspectView
from kitting.wording.findings import typed_text

NOW = ("--now", "2026-04-02 14:20")


def positions(run: Run) -> list[tuple[str, str]]:
    """The positions of the demo's booking that are looked at."""
    plan = json.loads(run("plan", "PELL 117", "J1", "--on", "2026-04-15", "--json").out)
    return [
        (place["joint"], place["position"])
        for line in plan["lines"]
        if line["rule"] == "inspect"
        for place in line["positions"]
    ]


def test_several_positions_are_found_in_one_command(garage_folder: Path, run: Run) -> None:
    (first, second, *_) = positions(run)
    words = [f"{first[0]}:{first[1]}=passed", f"{second[0]}:{second[1]}=failed: cut = at the edge"]
    ended = run("findings", "B0001", *words, *NOW)
    assert ended.code in (0, 3), ended.err
    assert f"{first[0]}, {first[1]}: passed" in ended.out
    assert f"{second[0]}, {second[1]}: failed" in ended.out
    single = run("findings", "B0001", *first, "passed", *NOW)
    assert single.code in (0, 3), single.err


def test_after_findings_all_is_told_that_the_booking_lacks_or_cannot_prove(
    garage_folder: Path, run: Run
) -> None:
    jobs = ("J1", "J2", "J3", "--on", "2026-04-15", "--branch", "upper", "--again")
    assert run("book", "PELL 117", *jobs, *NOW).code == 3
    ended = run("findings", "B0002", "cooler", "plate groove 1", "passed", *NOW)
    assert ended.code == 3
    shown = run("booking", "show", "B0002", *NOW).out
    told = " ".join(shown.split("Day:")[0].splitlines()[2:]).split()
    assert {"NO:", "PROVEN:"} <= set(told)
    assert ended.err.split() == told


def test_of_several_with_a_fault_none_is_recorded(garage_folder: Path, run: Run) -> None:
    (first, second, *_) = positions(run)
    before = run("booking", "show", "B0001", *NOW).out
    bad = [
        (f"{first[0]}:{first[1]}=failed: cut", f"{second[0]}:{second[1]}=failed"),
        (f"{first[0]}:{first[1]}=failed: cut", f"{second[0]}:nowhere=passed"),
    ]
    for words in bad:
        assert run("findings", "B0001", *words, *NOW).code == 1
    ended = run("findings", "B0001", f"{first[0]}:{first[1]}=passed", "rubbish", *NOW)
    assert ended.code == 2
    assert "JOINT:POSITION=RESULT" in ended.err
    assert run("findings", "B0001", first[0], *NOW).code == 2
    assert run("booking", "show", "B0001", *NOW).out == before


def test_a_delivery_note_is_received_and_its_faults_are_told(garage_folder: Path, run: Run) -> None:
    assert run("buy", "B0001", "--place", "--on", "2026-04-15", *NOW).code == 0
    order = json.loads(run("order", "show", "P0001", "--json").out)
    line = order["lines"][0]
    note = garage_folder / "note.csv"
    heading = "part,good,damaged,wrong,lot,made,expires,bin,note\n"
    note.write_text(f"{heading}{line['part']},1 each,,,L1,1Q26,,,\nP-X,1 each,,,,,,,\n")
    later = ("--now", "2026-04-07 11:00")
    refused = run("receive", "P0001", "--file", "note.csv", *later)
    assert refused.code == 1
    assert "note.csv:3: P-X: P0001 has no part 'P-X'" in refused.said
    assert json.loads(run("order", "show", "P0001", "--json").out)["lines"][0]["received"] == 0
    note.write_text(f"{heading}{line['part']},1 each,,,L1,1Q26,,,\n")
    assert run("receive", "P0001", "--file", "note.csv", *later).code == 0
    assert json.loads(run("order", "show", "P0001", "--json").out)["lines"][0]["received"] == 1
    assert run("receive", "P0001", "--file", "note.csv", "--item", "X", *later).code == 2


def test_what_the_findings_sheet_says_to_type_is_read_as_it_stands(
    garage_folder: Path, run: Run
) -> None:
    view = InspectView(
        1, "K-01", *positions(run)[0], "CLIP", "clip", 3000, "each", None, "test", False, None, None
    )
    words = (typed_text(view) or "").removeprefix("to type: ")
    ended = run("found", "B0001", f"{words}failed: 1 of 3, cut", *NOW)
    assert ended.code in (0, 3), ended.err
    assert f"{view.joint}, {view.position}: failed" in ended.out
