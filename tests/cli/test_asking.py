"""A new car is asked for at a terminal, and nobody is asked where there is none."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import Run

NOW = ("--now", "2026-04-02 14:20")
WITH_EQUIPMENT = """
units:
  - code: swift
    name: Swift
    splits:
      - code: pump
        question: Which pump?
        check: Look at the pump.
        options:
          - {code: plain, name: plain, without: sunroof}
          - {code: strong, name: strong, equipment: sunroof}
    joints: []
models: [{code: kite, name: Ulvander Kite, units: [swift]}]
"""


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A terminal at which these answers are typed, one after the other."""
    answers: list[str] = []
    left: Iterator[str] = iter(answers)

    def typed(_prompt: object = "") -> str:
        answer = next(left, None)
        if answer is None:
            raise EOFError
        if answer == "^C":
            raise KeyboardInterrupt
        return answer

    monkeypatch.setattr("kitting.cli.commands.cars.at_a_terminal", lambda: True)
    monkeypatch.setattr("builtins.input", typed)
    return answers


def test_what_is_missing_of_a_new_car_is_asked_for(
    garage_folder: Path, run: Run, terminal: list[str]
) -> None:
    terminal += ["pel", "PELL", "short", "", "yesterday", "2021-03-14"]
    added = run("car", "add", "NEW 1", "--by", "Ann", *NOW)
    assert added.code == 0, added.said
    assert "model (" in added.err
    assert "model 'pel': unknown name. Did you mean pell or pell-d?" in added.said, added.err
    assert "'yesterday' is no date" in added.said
    data = run("car", "show", "NEW 1", "--json").data
    assert (data["model"], data["vin"], data["build_date"]) == ("Ulvander Pell", None, "2021-03-14")


def test_what_was_given_is_not_asked_for_again(
    garage_folder: Path, run: Run, terminal: list[str]
) -> None:
    terminal += [""]
    added = run("car", "add", "NEW 1", "--model", "pell", "--built", "2021-03-14", *NOW)
    assert added.code == 0, added.said
    assert "model (" not in added.err
    assert "built on" not in added.err
    assert "VIN on its plate" in added.err
    again = run("car", "add", "NEW 1", "--built", "2021-03-14", *NOW)
    assert (again.code, ": " in again.err.replace("nothing new: ", "")) == (0, False)


@pytest.mark.parametrize("end", ["^C", None])
def test_nothing_is_kept_of_a_car_whose_questions_were_broken_off(
    garage_folder: Path, run: Run, terminal: list[str], end: str | None
) -> None:
    terminal += ["pell", "", *([end] if end else [])]
    ended = run("car", "add", "NEW 1", *NOW)
    assert ended.code == 130
    assert "What was not finished has not been recorded" in ended.err
    unknown = run("car", "show", "NEW 1")
    assert "no vehicle 'NEW 1'" in unknown.said


def test_nobody_is_asked_without_a_terminal_or_with_no_input(
    garage_folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(_prompt: object = "") -> str:
        raise AssertionError("asked")

    monkeypatch.setattr("builtins.input", never)
    refused = run("car", "add", "NEW 1", *NOW)
    assert refused.code == 1
    assert "NEW 1 is not known yet: name its model" in refused.said
    monkeypatch.setattr("kitting.cli.commands.cars.at_a_terminal", lambda: True)
    silent = run("car", "add", "NEW 1", "--model", "pell", "--no-input", *NOW)
    assert silent.code == 0
    assert "UNKNOWN, and variants depend on it: the build date" in silent.said


def test_equipment_is_asked_for_where_a_variant_of_the_model_depends_on_it(
    garage_folder: Path, run: Run, terminal: list[str], tmp_path: Path
) -> None:
    (garage_folder / "more.yaml").write_text(WITH_EQUIPMENT, encoding="utf-8")
    assert run("load", "more.yaml").code == 0
    terminal += ["kite", "", "", "perhaps", "no"]
    added = run("car", "add", "NEW 2", *NOW)
    assert added.code == 0, added.said
    assert "sunroof (yes, no, empty: not known)" in added.said
    assert "'perhaps': write yes or no" in added.said
    data = run("car", "show", "NEW 2", "--json").data
    assert data["equipment"] == [{"code": "sunroof", "present": False}]


@pytest.mark.skipif(sys.platform == "win32", reason="its terminals are no files")
def test_a_real_terminal_is_asked(garage_folder: Path) -> None:
    pty = pytest.importorskip("pty")
    child, screen = pty.fork()
    if not child:  # pragma: no cover  (in the other process)
        words = ["-m", "kitting.cli.main", "car", "add", "NEW 3", *NOW]
        os.execv(sys.executable, [sys.executable, *words])
    os.write(screen, b"pell\n\n2021-03-14\n")
    said = b""
    while True:
        try:
            piece = os.read(screen, 4096)
        except OSError:
            break
        if not piece:
            break
        said += piece
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == 0, said
    assert b"model (" in said
    assert b"2021-03-14" in said
