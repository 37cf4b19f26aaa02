"""The lines that the table of keystrokes counts are typed here: they do what they say."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from commands import Ran, Run

from benchmarks.keystrokes import ACTIONS, NOTE, PARTS, Action, lacking, main, typed

NOW = ("--now", "2026-04-02 14:20")
DONE, NOT_FINE = 0, 3


def of(what: str) -> Action:
    (found,) = (action for action in ACTIONS if what in action.what)
    return found


@pytest.fixture
def booked(run: Run, garage_folder: Path) -> Run:
    """B0002 with its kit picked, on the ramp, and P0001 of four parts on its way to it."""
    parts = (f"{part}={count}" for _, part, count, *_ in PARTS)
    for words in (
        ("book", "PELL 117", "J1", "J2", "--on", "2026-04-15", "--branch", "upper"),
        ("order", "place", "ombrith", *parts, "--branch", "upper", "--for", "B0002", "--place"),
        ("booking", "confirm", "B0002", "--incomplete", "the customer waits"),
    ):
        assert run(*words, *NOW).code in (DONE, NOT_FINE), words
    return run


def typed_in(run: Run, action: Action, folder: Path) -> list[Ran]:
    """Run the lines of an action; what is no command is the file that they name."""
    rows = [line for line in action.now if not line.startswith("kitting ")]
    if rows:
        (folder / NOTE).write_text("\n".join(rows) + "\n", encoding="utf-8")
    lines = [line for line in action.now if line not in rows]
    return [run(*shlex.split(line)[1:], *NOW) for line in lines]


@pytest.mark.parametrize(
    "what", ["customer's car", "which day", "goods in", "finding", "one job more", "another day", "slips", "pick a kit"]
)  # fmt: skip
def test_what_is_counted_can_be_typed(booked: Run, garage_folder: Path, what: str) -> None:
    for ended in typed_in(booked, of(what), garage_folder):
        assert ended.code in (DONE, NOT_FINE), ended


def test_a_whole_delivery_note_is_on_the_shelf(booked: Run, garage_folder: Path) -> None:
    typed_in(booked, of("goods in"), garage_folder)
    order = booked("order", "show", "P0001", "--json", *NOW).data
    assert [(line["item"], line["received"]) for line in order["lines"]] == [
        (item, count) for item, _, count, *_ in PARTS
    ]


def test_what_was_to_be_halved_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert main() == 0
    printed = capsys.readouterr().out
    for action in ACTIONS:
        if lacking(action) is None and action.halved:
            assert 2 * typed(action.now) <= typed(action.before), action.what
    assert len(printed.splitlines()) == 1 + len(ACTIONS) == 11
