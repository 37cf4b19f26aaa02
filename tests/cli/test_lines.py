"""Lines on the screen: a code never breaks at any width, a pipe gets one line per row."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from io import StringIO
from pathlib import Path

import pytest
from commands import Ran, runner

from kitting.cli import screen
from kitting.cli.wrapping import wrapped

NOW = ("--now", "2026-04-02 14:20")
LISTS = [
    ("jobs",), ("jobs", "PELL 117"), ("words", "kinds"), ("stock", "list"),
    ("stock", "list", "--branch", "upper"), ("booking", "list"), ("booking", "show", "B0001"),
    ("plan", "PELL 117", "J1", "J2", "--on", "2026-04-15", "--full"),
    ("plan", "PELL 042", "J1", "J2", "J3", "--on", "2026-04-15"),
    ("toolbox", "list"), ("toolbox", "check", "PELL 117", "J1", "J2"), ("toolbox", "reach"),
    ("branch", "show"), ("today", *NOW), ("audit",), ("sheet", "stocks"),
    ("sure", "PELL 117", "J1", "--on", "2026-04-15", "--branch", "upper", *NOW),
    ("dates", "B0001", *NOW), ("buy", "B0001", "--on", "2026-04-15", *NOW),
    ("cure", "PELL 117", "J1", "J2", "--on", "2026-04-15"), ("learned",), ("order", "list"),
    ("meanwhile", "PELL 117", "J1"), ("rings", "age", "NBR", "--made", "2020-03"),
    ("why", "PELL 117", "J1", "J2", "--about", "SEAL-INTAKE"),
    ("recall", "N11-24"), ("car", "show", "PELL 117"), ("kit", "show", "B0001", *NOW),
    ("van", "van1", "--on", "2026-04-09"),
]  # fmt: skip
_CODES = (
    "SELECT code FROM item UNION SELECT code FROM lot UNION SELECT code FROM joint"
    " UNION SELECT code FROM tool UNION SELECT number FROM booking"
)
# Figures with their units, as they stand in the lists above.
_WITH_UNIT = re.compile(r"\b\d[\d.]* (?:N·m|lbf·in|lbf·ft|mm|ml|L|g|h|min|years)\b")


@pytest.fixture
def codes(garage_folder: Path) -> re.Pattern[str]:
    """Any code of the demo garage as a word, the longest first."""
    with sqlite3.connect(garage_folder / "kitting.db") as database:
        found = {str(row[0]) for row in database.execute(_CODES)}
    several = sorted((code for code in found if len(code) > 3), key=len, reverse=True)
    assert len(several) > 100
    return re.compile(rf"(?<![\w.-])(?:{'|'.join(map(re.escape, several))})(?![\w-])")


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> object:
    def told(words: tuple[str, ...], columns: int | None) -> Ran:
        run = runner(monkeypatch, capsys, columns or 80)
        if columns is None:
            monkeypatch.delenv("KITTING_COLUMNS")
        return run(*words)

    return told


@pytest.mark.parametrize("words", LISTS, ids=" ".join)
def test_no_code_and_no_figure_breaks_over_lines(words, at, codes) -> None:  # type: ignore[no-untyped-def]
    piped = at(words, None)
    assert piped.code in (0, 3), piped.err
    assert piped.out
    for pattern in (codes, _WITH_UNIT):
        whole = Counter(pattern.findall(piped.out))
        for columns in (60, 80, 140):
            out = at(words, columns).out
            assert Counter(pattern.findall(out)) == whole, columns


@pytest.mark.parametrize("words", LISTS, ids=" ".join)
def test_only_what_cannot_break_is_longer_than_a_line(words, at) -> None:  # type: ignore[no-untyped-def]
    for columns in (60, 80, 140):
        for line in at(words, columns).out.splitlines():
            if "kitting " not in line:  # a command stays one line: it is there to be copied
                assert len(line) <= columns, line


def test_a_pipe_counts_right(at, garage_folder: Path) -> None:  # type: ignore[no-untyped-def]
    with sqlite3.connect(garage_folder / "kitting.db") as database:
        ((lots,),) = database.execute(
            "SELECT count(*) FROM lot JOIN item ON item.id = lot.item_id"
            " WHERE item.code = 'RING-FKM-17X2.5'"
        )
        ((every,),) = database.execute("SELECT count(*) FROM lot")
    told = at(("stock", "list"), None).out.splitlines()
    assert sum("RING-FKM-17X2.5" in line for line in told) == lots > 0
    assert len(told) == 1 + every


def test_columns_that_do_not_fit_stand_below_their_row(at, garage_folder: Path) -> None:  # type: ignore[no-untyped-def]
    told = at(("stock", "list", "--branch", "canal"), 60).out
    lines = told.splitlines()
    place = next(n for n, line in enumerate(lines) if "RING-FKM-17X2.5" in line)
    assert lines[0].split()[:2] == ["branch", "item"]
    assert re.match(r"    .*keeps to: 2035-09-30", lines[place + 1])


def test_a_screen_of_stated_columns_is_taken_at_its_word(monkeypatch: pytest.MonkeyPatch) -> None:
    for stated, columns in (("72", 72), ("0", screen.BOUNDLESS), ("wide", screen.BOUNDLESS)):
        monkeypatch.setenv("KITTING_COLUMNS", stated)
        assert screen.columns(StringIO()) == columns


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("8 N·m of RING-FKM-17X2.5", 10, ["8 N·m of", "RING-FKM-17X2.5"]),
        ("  in 2 lines", 9, ["  in", "  2 lines"]),
        ("one\n\ntwo", 10, ["one", "", "two"]),
        ("", 10, [""]),
        ("漢字 漢字", 5, ["漢字", "漢字"]),
    ],
)
def test_a_text_breaks_between_words_only(text: str, width: int, lines: list[str]) -> None:
    assert wrapped(text, width) == lines
