"""Bills, delivery notes and credit notes, as they are entered: what a refusal says works."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from commands import Run

NOW = ("--now", "2026-04-07 11:30")
LATER = ("--now", "2026-04-08 10:00")
NUT = ("--item", "NUT-EXH-M8")


@pytest.fixture
def ordered(run: Run, garage_folder: Path) -> Run:
    """P0001 of four nuts at £1.20."""
    words = ("order", "place", "ombrith", "NUT-EXH-M8=4", "--branch", "upper", "--place")
    assert run(*words, *NOW).code == 0
    return run


def advised(text: str) -> list[str]:
    """The words of the command that a message names next."""
    return shlex.split(text.split("Next: kitting ")[1].splitlines()[0])


def plain(text: str) -> str:
    """A text as one line."""
    return " ".join(text.split())


def test_a_refusal_is_entered_as_0(ordered: Run) -> None:
    ordered("receive", "1", *NUT, "--good", "3 each", "--damaged", "1 each", *LATER)
    ordered("order", "return", "1", "NUT-EXH-M8", "1 each", "--why", "bent", *LATER)
    for nothing in ("0", "0.00"):
        refused = ordered("order", "credit", "1", "1", nothing, "--note-no", "L-1")
        assert (refused.code, "needs the reason" in refused.err) == (1, True)
    told = ordered("order", "credit", "1", "1", "0", "--note-no", "L-1", "--why", "dropped", *LATER)
    assert (told.code, "REFUSED by L-1 on 2026-04-08: dropped" in plain(told.out)) == (0, True)


def test_an_item_without_an_amount_is_refused_and_the_advice_works(ordered: Run) -> None:
    told = ordered("receive", "P0001", *NUT, *LATER)
    assert (told.code, told.out) == (1, "")
    assert "it is not said how much of NUT-EXH-M8 came" in told.err
    words = ["4 each" if word == "QUANTITY" else word for word in advised(told.err)]
    assert "complete" in ordered(*words, *LATER).out
    again = ordered("receive", "P0001", *LATER)
    assert (again.code, "nothing of it is to come any more" in again.err) == (1, True)


def test_what_came_too_much_is_kept_as_the_order_says(ordered: Run) -> None:
    told = ordered("receive", "1", *NUT, "--good", "6 each", *LATER)
    assert "TELL THE SUPPLIER NUT-EXH-M8: 2 more than ordered, on hold" in told.out
    text = plain(told.out)
    words = shlex.split(text[text.index("order keep") :])[:5]
    kept = ordered(*words, *LATER)
    assert (kept.code, "together £7.20" in kept.out, "on hold" in kept.out) == (0, True, False)


def test_a_note_of_the_same_number_is_refused_until_it_is_meant(
    ordered: Run, garage_folder: Path
) -> None:
    note = garage_folder / "note.csv"
    note.write_text("item,good\nNUT-EXH-M8,2 each\n", encoding="utf-8")
    words = ("receive", "P0001", "--file", str(note), "--note-no", "LS 9", *LATER)
    assert ordered(*words).code == 0
    told = ordered(*words)
    assert (told.code, "came by delivery note LS 9 of" in told.err) == (1, True)
    assert advised(told.err)[:4] == ["order", "correct", "P0001", "NUT-EXH-M8"]
    assert "complete" in ordered(*words, "--another-line").out


def test_an_item_of_a_bill_is_refused_until_it_is_meant(ordered: Run) -> None:
    words = ("order", "counter", "ombrith", "CLIP-TRIM", "1 each", "--paid", "9 GBP", "--bill", "7",
             "--branch", "upper", *LATER)  # fmt: skip
    assert ordered(*words).code == 0
    told = ordered(*words)
    assert (told.code, "recorded of bill 7 of Ombrith Agency Counter" in told.err) == (1, True)
    assert ordered(*words, "--another-line").code == 0
