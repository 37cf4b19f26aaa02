"""Each of the four verdicts shows on every screen and sheet, and decides the exit code."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from paper import characters, words

from kitting.cli.render.bookings import show_booking
from kitting.cli.screen import console
from kitting.facts.verdicts import Verdict
from kitting.services.bookings.states import find_booking
from kitting.services.bookings.view import booking_view
from kitting.store import open_existing, reading

Run = Callable[..., Any]
FINE, NO = 0, 3
ON = ("--on", "2026-04-15")
NOW = ("--now", "2026-04-02 14:20")
# Of the demo: what is wholly proven, what is not, what waits for a variant, what would fail.
CASES = {
    "FINE": ("PELL 042", "J1"),
    "CANNOT BE PROVEN": ("PELL 117", "J3"),
    "STOPPED": ("PELL 042", "J2"),
    "NO": ("PELL 117", "J7"),
}


def read(path: Path) -> str:
    """The text without spaces."""
    return "".join(map(words, characters(path.read_bytes())))


@pytest.mark.parametrize(("word", "work"), CASES.items(), ids=CASES)
def test_a_plan_says_its_verdict(
    run: Run, garage_folder: Path, word: str, work: tuple[str, ...]
) -> None:
    ended = run("plan", *work, *ON)
    assert f"Verdict: {word} (" in ended.out
    assert ended.code == (FINE if word == "FINE" else NO)
    assert run("plan", *work, *ON, "--json").code == ended.code


# The calipers of the last have no ring ends to draw.
SHEETS = [(*case, sheet) for case in CASES.items() for sheet in ("pick", "labels", "tighten")]
SHEETS += [(*case, "seals") for case in CASES.items() if case[0] != "NO"]


@pytest.mark.parametrize(("word", "work", "sheet"), SHEETS)
def test_a_sheet_says_first_what_is_not_fine(
    run: Run, garage_folder: Path, word: str, work: tuple[str, ...], sheet: str
) -> None:
    ended = run("sheet", sheet, *work, *ON, "--out", "sheet.pdf")
    text = read(garage_folder / "sheet.pdf")
    # The demo boxes lack a wrench for a stage of each.
    assert ended.code == (FINE if word == "FINE" and sheet != "tighten" else NO), ended.err
    assert (f"{word}:".replace(" ", "") in text) == (word != "FINE"), text


@pytest.mark.parametrize("sheet", ["tighten", "refit"])
def test_a_sheet_of_stages_ends_with_3_unless_the_boxes_can_do_every_one(
    run: Run, garage_folder: Path, sheet: str
) -> None:
    work = (*CASES["FINE"], *ON, "--box", "bay")
    lacking = run("sheet", sheet, *work, "--out", "sheet.pdf")
    assert (lacking.code, run("sheet", "tools", *work, "--out", "tools.pdf").code) == (NO, NO)
    assert (
        "not all can be tightened with these boxes: 1 NO, 1 CANNOT BE PROVEN, 1 FINE (stages)"
        in lacking.err
    )
    assert "NOTOOLFORTHISSTAGE" in read(garage_folder / "sheet.pdf")
    # 75 lbf·in lies between two marks of a wrench in N·m.
    (garage_folder / "more.csv").write_text(
        "box,code,sort,gives,from,to,resolution,deviation,direction,calibrated to\n"
        "extra,W-1-6,torque wrench,1/4,1 N·m,6 N·m,0.1 N·m,6 %,both,2027-01-01\n"
        "extra,W-LBF-IN,torque wrench,1/4,20 lbf·in,200 lbf·in,1 lbf·in,4 %,both,2027-01-01\n"
    )
    assert run("toolbox", "load", "more.csv").code == FINE
    both = (*work, "--box", "extra")
    assert run("sheet", sheet, *both, "--out", "sheet.pdf").code == FINE
    assert run("sheet", "tools", *both, "--out", "tools.pdf").code == FINE
    assert "NOTOOLFORTHISSTAGE" not in read(garage_folder / "sheet.pdf")


@pytest.mark.parametrize(("word", "work"), CASES.items(), ids=CASES)
def test_a_tool_check_ends_with_3_for_whatever_is_not_certain(
    run: Run, garage_folder: Path, word: str, work: tuple[str, ...]
) -> None:
    ended = run("toolbox", "check", *work, *ON, "--box", "bay")
    paper = run("sheet", "tools", *work, *ON, "--box", "bay", "--out", "tools.pdf")
    assert paper.code == ended.code
    certain = not any(f"\n{state}" in ended.out for state in ("GAP", "STOPPED", "UNKNOWN"))
    assert ended.code == (FINE if certain else NO)
    if word == "STOPPED":
        assert "STOPPED" in ended.out
        assert "STOPPED" in read(garage_folder / "tools.pdf")


@pytest.mark.parametrize(("word", "work"), [case for case in CASES.items() if case[0] != "STOPPED"])
def test_a_booking_says_its_verdict(
    run: Run, garage_folder: Path, word: str, work: tuple[str, ...]
) -> None:
    booked = run("book", *work, *ON, "--branch", "upper", "--again", *NOW)
    number = booked.out.split()[0]
    shown = run("booking", "show", number, *NOW)
    assert shown.code == booked.code
    assert ("NOT READY" in shown.out) == (shown.code == NO)
    assert shown.out.splitlines()[1].startswith("NOT READY: " if shown.code == NO else "READY: ")
    if word != "FINE":
        assert (shown.code, f"{word}: " in shown.out) == (NO, True)
    confirmed = run("booking", "confirm", number, *NOW)
    assert confirmed.code == shown.code


def test_a_booking_that_is_ready_calls_no_spare_short(
    garage_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    engine = open_existing(f"sqlite:///{garage_folder / 'kitting.db'}")
    with reading(engine) as session:
        view = booking_view(session, find_booking(session, "B0001"), date(2026, 4, 2))
    engine.dispose()
    spares = tuple(need for need in view.needs if need.spare and need.short)
    assert spares
    ready = replace(view, needs=spares, verdict=Verdict.FINE, doubts=())
    show_booking(console(), ready)
    told = capsys.readouterr().out
    assert told.splitlines()[1].startswith("READY: ")
    assert "SHORT" not in told
    assert "SPARES NOT TAKEN, only needed if a look fails" in told
    show_booking(console(), replace(view, needs=spares))
    assert capsys.readouterr().out.splitlines()[1] == "NOT READY: NO"
    unproven = tuple(replace(need, verdict=Verdict.UNKNOWN) for need in spares)
    show_booking(console(), replace(ready, needs=unproven))
    told = capsys.readouterr().out
    assert ("SHORT" in told, "SPARES NOT TAKEN" in told) == (False, True)


def test_what_waits_for_a_variant_is_not_booked(run: Run, garage_folder: Path) -> None:
    ended = run("book", *CASES["STOPPED"], *ON, "--branch", "upper", *NOW)
    assert (ended.code, "cannot be booked for these jobs yet" in ended.err) == (1, True)


@pytest.mark.parametrize(("word", "work"), [case for case in CASES.items() if case[0] != "STOPPED"])
def test_no_purchase_and_no_date_hides_what_is_not_fine_of_the_kit(
    run: Run, garage_folder: Path, word: str, work: tuple[str, ...]
) -> None:
    booked = run("book", *work, *ON, "--branch", "upper", "--again", *NOW)
    number = booked.out.split()[0]
    shown, asked = f"{number}: {word}: ", (number, *NOW)
    bought, dated = run("buy", *asked), run("dates", *asked)
    paper = run("sheet", "dates", *asked, "--out", "dates.pdf")
    text = read(garage_folder / "dates.pdf")
    fine = word == "FINE"
    assert (shown in bought.out, shown in dated.out) == (not fine, not fine)
    assert (shown.replace(" ", "") in text) == (not fine)
    assert [one.code for one in (bought, dated, paper)] == [FINE if fine else NO] * 3
    assert ("SAFE" in dated.out) == fine
    # For the last nobody offers a part, so that no date is reached at all.
    assert ("NOT PROVEN" in dated.out) == (word == "CANNOT BE PROVEN")


@pytest.mark.parametrize(("word", "work"), [case for case in CASES.items() if case[0] != "STOPPED"])
def test_no_chance_hides_what_is_not_fine_of_the_kit(
    run: Run, garage_folder: Path, word: str, work: tuple[str, ...]
) -> None:
    # Any chance will do, so that only what is not fine can be in the way.
    asked = ("--target", "1%", *NOW)
    planned = run("sure", *work, *ON, "--branch", "upper", *asked)
    number = run("book", *work, *ON, "--branch", "upper", "--again", *NOW).out.split()[0]
    booked = run("sure", "--booking", number, *asked)
    assert (f"{word}: " in planned.out) == (word != "FINE")
    assert planned.code == (FINE if word == "FINE" else NO)
    assert booked.code == run("booking", "show", number, *NOW).code
    assert ("NOT FINE" in booked.out) == (booked.code == NO)
