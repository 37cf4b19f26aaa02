"""Goods in at the counter: what is told of what came, and next steps that work as printed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from commands import Ran, Run

TUESDAY = ("--now", "2026-04-07 11:30")
NOON = ("--now", "2026-04-08 12:00")
RING, NUT = "RING-FKM-17X2.5", "NUT-EXH-M8"


@pytest.fixture
def ordered(run: Run, garage_folder: Path) -> Run:
    """P0001 of four nuts and two rings."""
    placed = run(
        "order", "place", "ombrith", f"{NUT}=4", f"{RING}=2", "--branch", "upper", "--place",
        *TUESDAY,
    )  # fmt: skip
    assert placed.code == 0, placed.err
    return run


def followed(run: Run, ended: Ran, what: str) -> Ran:
    """Run the printed next step that begins so, with what a person fills in."""
    (line,) = re.findall(rf"kitting ({what} .*?(?:REASON|DATE))\b", ended.said)
    filled = {"REASON": "as told", "DATE": "2026-04-20"}
    return run(*(filled.get(word, word) for word in shlex.split(line)), *NOON)


def old_ring(run: Run) -> Ran:
    return run(
        "receive", "P0001", "--item", RING, "--good", "1 each", "--made", "1Q05", "--lot", "OLD",
        "--note-no", "D-17", *NOON,
    )  # fmt: skip


def test_what_is_expired_when_it_comes_is_told_with_a_way_that_works(ordered: Run) -> None:
    ended = old_ring(ordered)
    assert f"EXPIRED WHEN IT CAME {RING}: lot OLD kept to 2015-03-31" in ended.said
    day = ordered("today", "--branch", "upper", *NOON)
    assert f"EXPIRED WHEN IT CAME with P0001: 1 {RING}" in day.said
    (receipt,) = ordered("order", "show", "P0001", "--json", *NOON).data["receipts"]
    assert receipt["expired"]["until"] == "2015-03-31"
    back = followed(ordered, ended, "order return")
    assert back.code == 0, back.err
    assert "Next: kitting order return" not in back.said
    assert "EXPIRED" not in ordered("today", "--branch", "upper", *NOON).said


def test_a_counter_purchase_that_is_expired_is_told(ordered: Run) -> None:
    ended = ordered(
        "order", "counter", "ombrith", RING, "1 each", "--paid", "3 GBP", "--bill", "77",
        "--branch", "upper", "--made", "1Q05", "--lot", "OLD", *NOON,
    )  # fmt: skip
    assert f"EXPIRED WHEN IT CAME {RING}" in ended.said
    assert followed(ordered, ended, "order return").code == 0


def test_what_is_claimed_under_warranty_is_told_no_more_by_the_day(ordered: Run) -> None:
    old_ring(ordered)
    claim = ("order", "warranty", "P0001", RING, "1 each", "--lot", "OLD", "--why", "old")
    assert ordered(*claim, *NOON).code == 0
    assert "EXPIRED" not in ordered("today", "--branch", "upper", *NOON).said


def test_each_receipt_is_shown_with_its_note(ordered: Run) -> None:
    old_ring(ordered)
    ordered("receive", "P0001", "--item", NUT, "--good", "3 each", "--damaged", "1 each", *NOON)
    shown = ordered("order", "show", "P0001", *NOON).said
    assert f"CAME 2026-04-08 12:00, note D-17: {RING}: 1 in lot OLD" in shown
    assert f"CAME 2026-04-08 12:00, no note number: {NUT}: 3 in lot P0001-{NUT}; 1 damaged" in shown


def test_the_way_out_of_damaged_pieces_works_as_printed(ordered: Run) -> None:
    ended = ordered(
        "receive", "P0001", "--item", NUT, "--good", "3 each", "--damaged", "1 each", *NOON
    )
    assert followed(ordered, ended, "order announce").code == 0


def test_of_two_lots_that_came_too_much_each_is_kept_as_printed(ordered: Run) -> None:
    for lot in ("A", "B"):
        ended = ordered("receive", "P0001", "--item", NUT, "--good", "5 each", "--lot", lot, *NOON)
    steps = re.findall(r'kitting (order keep \S+ \S+ "\d+ each" --lot \S+)', ended.said)
    assert [step.split()[-1] for step in steps] == ["A-OVER", "B-OVER"]
    for step in steps:
        assert ordered(*shlex.split(step), *NOON).code == 0
    assert "order keep" not in ordered("order", "show", "P0001", *NOON).said


def test_of_a_cancelled_order_nothing_is_awaited_once_more(ordered: Run) -> None:
    ordered("receive", "P0001", "--item", NUT, "--good", "3 each", "--damaged", "1 each", *NOON)
    assert ordered("order", "cancel", "P0001", *NOON).code == 0
    shown = ordered("order", "show", "P0001", *NOON).said
    assert f"TELL THE SUPPLIER {NUT}: 1 damaged" in shown
    assert "order announce" not in shown


def test_a_note_of_which_a_part_was_taken_back_is_not_taken_in_once_more(
    ordered: Run, garage_folder: Path
) -> None:
    """Each item of it that was not taken back is named; taken back whole, it is received anew."""
    (garage_folder / "note.csv").write_text(f"item,good,made\n{NUT},4 each,\n{RING},2 each,1Q26\n")
    note = ("receive", "P0001", "--file", "note.csv", *NOON)
    assert ordered(*note).code == 0
    taken_back = ("order", "correct", "P0001", NUT, "--why", "miscounted", *NOON)
    assert ordered(*taken_back).code == 0
    refused = ordered(*note)
    assert refused.code == 1
    assert "says the same was taken in" in refused.said
    assert followed(ordered, refused, "order correct").code == 0
    assert ordered(*note).code == 0
    lines = ordered("order", "show", "P0001", "--json", *NOON).data["lines"]
    assert [(one["received"], one["over"]) for one in lines] == [(4, 0), (2, 0)]
