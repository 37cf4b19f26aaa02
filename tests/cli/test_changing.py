"""`booking change` and `booking take` at the command line: what is shown, made, and asked for."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
NOW = ("--now", "2026-04-02 14:20")
TWO = ("book", "PELL 117", "J1", "J2", "--on", "2026-04-15", "--branch", "upper", *NOW)


@pytest.fixture
def picked(garage_folder: Path, run: Run) -> Run:
    """The demo garage with a second booking in its kit."""
    run(*TWO)
    run("pick", "B0002", *NOW)
    return run


def jobs_of(run: Run) -> list[str]:
    found: list[str] = json.loads(run("booking", "show", "B0002", "--json", *NOW).out)["jobs"]
    return found


def test_a_change_is_only_shown_until_it_is_asked_to_be_made(picked: Run) -> None:
    drop = ("booking", "change", "B0002", "--drop", "J2", *NOW)
    shown = picked(*drop)
    assert shown.code == 3
    for text in (
        "B0002 PELL 117 Ulvander Pell: SHOWN ONLY, nothing is changed",
        "jobs J1, J2 J1",
        "TAKE OUT OF THE KIT and put on its shelf, where it will be booked back",
        "1 RING-FKM-66X3: lot F66-25, bin R1-07 (no longer needed)",
        "To buy: £15.00",
        "2026-04-15: SAFE, >99.9% that all is there and checked",
        "Next: the same command with --make",
    ):
        assert text in " ".join(shown.out.split())
    assert jobs_of(picked) == ["J1", "J2"]
    made = picked(*drop, "--make")
    assert (made.code, jobs_of(picked)) == (3, ["J1"])
    assert "B0002 PELL 117 Ulvander Pell: CHANGED" in made.out
    assert "where it is booked back" in made.out
    assert "--make" not in made.out
    assert picked("audit").code == 0


def test_on_the_ramp_what_is_not_needed_is_asked_for_and_what_is_open_stays(picked: Run) -> None:
    picked("booking", "confirm", "B0002", "--incomplete", "test", *NOW)
    picked("booking", "ramp", "B0002", *NOW)
    drop = ("booking", "change", "B0002", "--drop", "J2", *NOW)
    assert "NO LONGER NEEDED, in the kit: put it back" in picked(*drop).out
    picked("count", "B0002", "cooler=3", *NOW)
    refused = picked(*drop)
    assert refused.code == 1
    assert refused.err.startswith("kitting: J2 cannot be dropped from B0002 just like that")
    assert refused.err.endswith("Next: the same command with --close-up\n")
    closing = picked(*drop, "--close-up")
    assert "OPEN, and closed up again with what they need" in closing.out
    assert "  5 CAP-PLUG" not in closing.out.partition("NO LONGER NEEDED")[0]


def test_a_wrong_date_or_job_is_refused(picked: Run) -> None:
    for words, code, text in (
        (("--on", "tomorrow"), 2, "write year-month-day"),
        (("--on", "2026-04-01"), 1, "2026-04-01 is past; name a day from 2026-04-02 on"),
        (("--drop", "J9"), 1, "B0002 has no job 'J9'. It is booked for J1, J2"),
        (("--branch", "moon"), 1, "branch 'moon': unknown name"),
    ):
        ended = picked("booking", "change", "B0002", *words, *NOW)
        assert ended.code == code
        assert text in ended.err
    assert picked("booking", "change", "B0009", *NOW).code == 1


def test_p18_taking_tells_that_the_giver_is_not_confirmed_any_more(
    garage_folder: Path, run: Run
) -> None:
    run("book", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper", *NOW)
    run("booking", "confirm", "B0001", "--incomplete", "test", *NOW)
    taken = run("booking", "take", "B0002", "SEAL-INTAKE", "--from", "B0001")
    assert "B0001 WAS CONFIRMED AND IS NOT ANY MORE: it is provisional again" in taken.out
    back = run("booking", "take", "B0001", "SEAL-INTAKE", "--from", "B0002", "--json")
    found = json.loads(back.out)
    assert (found["giver"]["number"], found["giver_unconfirmed"]) == ("B0002", False)
    assert found["taker"]["number"] == "B0001"
