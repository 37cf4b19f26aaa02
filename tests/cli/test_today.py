"""The screen of the day: minutes left, commands that can be copied, 80 columns, exit codes."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from commands import Run, runner

NOW = ("--now", "2026-04-02 14:20")
SEVEN = ("book", "PELL 117", "J7", "--on", "2026-04-10", "--branch", "upper", *NOW)


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """A terminal of 80 columns."""
    return runner(monkeypatch, capsys, columns=80)


def test_at_20_past_three_the_cutoff_of_half_past_is_the_first_row(
    narrow: Run, garage_folder: Path
) -> None:
    narrow(*SEVEN)
    ended = narrow("today", "--branch", "upper", "--now", "2026-04-07 15:20")
    lines = ended.out.splitlines()
    assert ended.code == 3
    assert lines[:3] == ["upper, Tue 07 Apr 2026 15:20: 5 things slip", "", "BY THE CLOCK"]
    assert lines[3].startswith("15:30 in 10 min      ORDER from Zellowick Factors: 500 ml")
    assert lines[5].strip() == "kitting buy B0002 --place"
    plain = [line for line in lines if not line.strip().startswith("kitting ")]
    assert max(map(len, plain)) <= 80


def test_a_command_stays_one_line_and_does_what_its_row_says(
    narrow: Run, garage_folder: Path
) -> None:
    shown = narrow("today", "--now", "2026-04-08 14:20")
    (line,) = (line.strip() for line in shown.out.splitlines() if "stock send" in line)
    assert line == ('kitting stock send canal RING-FKM-17X2.5 F17-25 "1 each" --to upper')
    sent = narrow(*shlex.split(line)[1:], "--now", "2026-04-08 14:20")
    assert (sent.code, "due 2026-04-08" in sent.out) == (0, True)
    after = narrow("today", "--now", "2026-04-08 14:21")
    assert "SEND" not in after.out
    assert "15:00 in 39 min      canal: LOAD transfer 1: 1 RING-FKM-17X2.5" in after.out


def test_the_owner_of_one_car_has_a_quiet_day(narrow: Run, empty_folder: Path) -> None:
    narrow("setup")
    assert narrow("today").code == 1  # no branch is described yet
    (empty_folder / "own.yaml").write_text("branches:\n  - {code: drive, name: My drive}\n")
    narrow("load", "own.yaml")
    ended = narrow("today", *NOW)
    assert (ended.code, ended.out) == (
        0, "drive, Thu 02 Apr 2026 14:20: nothing slips\nNo booking is open.\n",
    )  # fmt: skip


def test_another_chance_asked_for_is_in_the_command(narrow: Run, garage_folder: Path) -> None:
    narrow(*SEVEN)
    words = ("today", "--branch", "upper", "--now", "2026-04-07 15:20")
    assert "kitting buy B0002 --place --sure 80%" in narrow(*words, "--sure", "80%").out
    assert "kitting buy B0002 --place --sure 92.5%" in narrow(*words, "--sure", "92.5%").out
    assert narrow("today", "--sure", "90").code == 2
    assert narrow("today", "--on", "Monday").code == 2
