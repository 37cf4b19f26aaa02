"""The kit on the command line: what is printed, exit codes, the table of the closing."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from kitting.services.bookings.kit_sheets import labels_of
from kitting.store import make_engine, reading

Run = Callable[..., Any]
NOW = ("--now", "2026-04-02 14:20")


@pytest.fixture
def picked(garage_folder: Path, run: Run) -> Path:
    """The demo garage with the kit of B0001 picked."""
    assert run("pick", "B0001", *NOW).code == 3
    return garage_folder


@pytest.fixture
def on_the_ramp(picked: Path, run: Run) -> Path:
    """As `picked`, with the car on the ramp."""
    run("booking", "confirm", "B0001", "--incomplete", "test", *NOW)
    assert run("booking", "ramp", "B0001", *NOW).code == 0
    return picked


def test_a_dropped_seal_is_told_and_what_is_short_has_its_next_step(picked: Path, run: Run) -> None:
    drawn = ("kit", "draw", "B0001", "CAP-PLUG=1 each", "--why", "dropped", "rolled away", *NOW)
    done = run(*drawn)
    assert (done.code, done.out) == (
        0, "gone: 1 CAP-PLUG of lot CP-01\ninto the kit: 1 CAP-PLUG from lot CP-01 in K1-06\n",
    )  # fmt: skip
    short = run("kit", "draw", "B0001", "SEAL-INTAKE=3 each", "--why", "lost", "gone", *NOW)
    assert short.code == 3
    assert "SHORT: B0001 lacks 1 SEAL-INTAKE" in short.out
    assert "Next: kitting buy B0001 --place" in short.out


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("draw", "B0001", "CAP-PLUG", "--why", "lost", "x"), 2, "write ITEM=AMOUNT"),
        (("draw", "B0001", "CAP-PLUG=1 each", "--why", "gone", "x"), 2, "is none of lost, dropped"),
        (("draw", "B0001", "CAP-PLUG=1", "--why", "lost", "x"), 1, "figure without unit"),
        (("draw", "B0001", "CAP-PLUG=1 each", "--why", "lost", " "), 1, "a reason is required"),
        (("return", "B0001", "CAP-PLUG=99 each"), 1, "Next: kitting kit show B0001"),
        (("split", "B0001", "intake"), 2, "write JOINT=TRAY"),
        (("split", "B0001", "intakes=2"), 1, "Known: intake"),
        (("show", "B0009"), 1, "unknown name"),
    ],
)
def test_what_cannot_be_done_is_told_with_the_way_to_do_it(
    picked: Path, run: Run, words: Sequence[str], code: int, told: str
) -> None:
    ended = run("kit", *words)
    assert ended.code == code
    assert told in " ".join((ended.out + ended.err).replace("│", " ").split())
    assert "Traceback" not in ended.err


def test_a_kit_shows_its_lots_and_what_happened_to_it(picked: Path, run: Run) -> None:
    run("kit", "return", "B0001", "CLIP-CONNECTOR=1 each", "--note", "one too many", *NOW)
    run("kit", "split", "B0001", "intake=2")
    shown = run("kit", "show", "B0001", *NOW)
    text = " ".join(shown.out.split())
    assert shown.code == 0
    assert "4 SEAL-INTAKE SI-2411 in S1-01 to be renewed tray 2, bag 4: intake" in text
    assert "1 CLIP-CONNECTOR of lot CC-01 put back: one too many" in text
    assert "1 line on the shelf for it. Next: kitting pick B0001" in text


def test_a_kit_in_the_van_says_so_wherever_it_is_looked_for(picked: Path, run: Run) -> None:
    moved = run("kit", "move", "B0001", "van1", "--note", "done at theirs", "--by", "Ann", *NOW)
    assert moved.code == 0
    assert "THE KIT LIES IN van1" in moved.out
    assert "moved whole to van1: done at theirs (Ann)" in " ".join(moved.out.split())
    assert "THE KIT LIES IN van1" in run("booking", "show", "B0001", *NOW).out
    with reading(make_engine(f"sqlite:///{picked / 'kitting.db'}")) as session:
        code = labels_of(session, "B0001").reference
    assert "on 2026-04-09. THE KIT LIES IN van1" in run("kit", "label", code, *NOW).out
    back = run("kit", "return", "B0001", "CLIP-CONNECTOR=1 each", *NOW)
    assert back.code == 1
    told = " ".join((back.out + back.err).replace("│", " ").split())
    assert "nothing of it goes back to a shelf of" in told
    assert "Next: kitting kit move B0001 upper" in told
    assert run("kit", "move", "B0001", "upper", *NOW).code == 0
    assert run("kit", "return", "B0001", "CLIP-CONNECTOR=1 each", *NOW).code in (0, 3)


def test_a_parked_car_is_listed_so(on_the_ramp: Path, run: Run) -> None:
    parked = run("booking", "park", "B0001", "--where", "bay 4", "--why", "head away", *NOW)
    assert parked.code == 3  # two rings are short
    told = "SET ASIDE in bay 4 since 2026-04-02, until when is not known: head away"
    assert told in parked.out
    assert told in run("booking", "show", "B0001", *NOW).out
    assert "set aside in bay 4" in " ".join(run("booking", "list", *NOW).out.split())
    assert "Next: kitting booking resume B0001" in run("close", "B0001", *NOW).err
    assert "taken up again, from bay 4" in run("booking", "resume", "B0001", *NOW).out


def test_close_refuses_once_with_every_question_and_its_way_to_answer(
    on_the_ramp: Path, run: Run
) -> None:
    refused = run("close", "B0001", *NOW)
    assert refused.code == 1
    lines = refused.err.splitlines()
    assert lines[0] == "kitting: B0001 cannot be closed:"
    assert lines[1].startswith("  old seals not counted out of intake, coolant-drain")
    assert lines[2].endswith("or the same command with --used-up")
    assert '--back "CLIP-CONNECTOR=3 each"' in lines[3]
    assert "kitting close B0001 --ask FILE" in lines[-1]


def filled(path: Path, answers: Sequence[str]) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    for row, answer in zip(rows[1:], answers, strict=True):
        row[-1] = answer
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


def test_the_table_asks_and_is_read_back_whole_or_not_at_all(on_the_ramp: Path, run: Run) -> None:
    asked = run("close", "B0001", "--ask", "told.csv", *NOW)
    assert (asked.code, asked.out) == (0, "told.csv: 9 questions, 6 to be answered\n")
    path = on_the_ramp / "told.csv"
    filled(path, ["five", "1", "1", "1", "passed", "3", "", "", ""])
    wrong = run("close", "B0001", "--told", "told.csv", *NOW)
    assert wrong.code == 1
    assert wrong.err.splitlines()[0] == (
        "told.csv:2: old seals intake: 'five' is no count; write for example 5. Correct this answer"
    )
    assert "Nothing lies in it" not in run("kit", "show", "B0001", *NOW).out
    filled(path, ["5", "1", "1", "1", "passed", "3", "0.1 L", "", ""])
    closed = run("close", "B0001", "--told", "told.csv", *NOW)
    assert closed.code == 0, closed.err
    assert "closed" in closed.out.splitlines()[0]
    assert run("audit").code == 0
    both = run("close", "B0001", "--ask", "a.csv", "--told", "told.csv")
    assert both.code == 2


def test_a_booking_closed_short_says_why_it_is_not_fine(on_the_ramp: Path, run: Run) -> None:
    """It ended with 3 and printed no reason."""
    run("close", "B0001", "--despite", "test", "--used-up", "--back", "CLIP-CONNECTOR=3 each", *NOW)
    shown = run("booking", "show", "B0001", *NOW)
    assert shown.code == 3
    assert "RING-EPDM-17X2: 1 short" in shown.out


def test_a_correction_says_what_it_was_and_what_it_is(on_the_ramp: Path, run: Run) -> None:
    told = ("--used-up", "--back", "CLIP-CONNECTOR=3 each", "--despite", "test")
    run("close", "B0001", *told, *NOW)
    why = ("--why", "cracked", "--by", "Ann")
    fixed = run("correct", "B0001", "--spoilt", "CLIP-CONNECTOR=1 each", "--was", "back", *why)
    assert fixed.code == 0, fixed.err
    shown = " ".join(run("kit", "show", "B0001", *NOW).out.split())
    assert (
        "1 CLIP-CONNECTOR of lot CC-01 corrected after closing: back, now spoilt: cracked" in shown
    )
    bad = ("correct", "B0001", "--back", "CLIP-CONNECTOR=1 each", "--was", "gone", *why)
    assert run(*bad).code == 2
    assert run("correct", "B0001", *why).code == 2
    assert run("audit").code == 0


def test_a_recall_names_what_was_lost_from_a_kit(picked: Path, run: Run) -> None:
    run("kit", "draw", "B0001", "SEAL-INTAKE=1 each", "--why", "lost", "under the bench", *NOW)
    found = run("recall", "SI-2411", "--on", "2026-04-15")
    assert "lost from the kit" in found.out


def test_what_is_in_the_kit_and_what_lies_on_the_shelf_are_told_apart(
    picked: Path, run: Run
) -> None:
    """Of three clips one went back to the shelf, where it stays promised."""
    three = " ".join(run("booking", "show", "B0001", *NOW).out.split())
    assert "3 lot CC-01 in C1-01, in the kit" in three
    run("kit", "return", "B0001", "CLIP-CONNECTOR=1 each", *NOW)
    run("booking", "promise", "B0001", *NOW)
    shown = " ".join(run("booking", "show", "B0001", *NOW).out.split())
    assert "3 lot CC-01 in C1-01, 2 in the kit, 1 on the shelf" in shown


def test_a_note_of_no_item_is_refused_and_not_dropped(garage_folder: Path, run: Run) -> None:
    ended = run("receive", "P0001", "--note", "box was open", *NOW)
    assert (ended.code, "say of which item with --item" in ended.err) == (2, True)
