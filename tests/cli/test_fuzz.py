"""Every command under words that nobody meant: an exit code of ours, never a traceback.

`KITTING_FUZZ=deep` tries each command much longer.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.main
from hostile import CONTROL, runs
from hypothesis import given
from hypothesis import strategies as st
from running import Ended, run

from conftest import Templates
from kitting.cli.main import app

CODES = {0, 1, 2, 3}  # done, failed, usage, the answer is no


def leaves(command: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every command that does something, with the words that lead to it."""
    if not hasattr(command, "list_commands"):
        yield path, command
        return
    context = typer.Context(command)
    for name in command.list_commands(context):
        yield from leaves(command.get_command(context, name), (*path, name))


COMMANDS = dict(leaves(typer.main.get_command(app)))


@pytest.fixture
def folder(tmp_path: Path, templates: Templates, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the demo garage and some files that are none of what they are called."""
    inner = tmp_path / "in" / "here"
    inner.mkdir(parents=True)
    monkeypatch.chdir(inner)
    monkeypatch.delenv("KITTING_DATABASE_URL", raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    shutil.copy(templates.file("garage"), inner / "kitting.db")
    (inner / "list.csv").write_bytes(b"part,price\n\xff\n")
    (inner / "list.xlsx").write_bytes(b"PK\x03\x04 no workbook")
    (inner / "some.yaml").write_text("items: &a [*a]\n")
    (inner / "folder").mkdir()
    return inner


GOOD = (
    "PELL 117", "PELL 042", "J1", "J2", "upper", "canal", "B0001", "B0009", "P0001", "zellowick",
    "SEAL-INTAKE", "RING-FKM-17X2.5", "SI-2411", "4 each", "2026-04-15", "2026-04-02 14:20",
    "95%", "cooler=late", "cooler", "late", "bay", "W-5-25", "FKM", "17 mm", "2 mm", "2Q18", "1",
    "intake=4", "coolant-drain", "drain plug", "passed", "list.csv", "list.xlsx", "some.yaml",
    "folder", "new.pdf", "ISO 2230", "A4", "99x67-8", "GBP", "sqlite:///none.db", "sqlite:///list.csv",
)  # fmt: skip
BAD = (
    "", " ", "-", "--", "-1", "0", "--no-such", "-x", "=", "a=b=c", "9" * 400, "1e999", "nan", "inf",
    "-1 each", "99999999999 each", "٣ each", "0%", "100%", "nan%", "9999-12-31", "0001-01-01",
    "2026-02-30", "9999-12-31 23:59", "2026-04-15T10:00+99:00", "[red]x[/]", "[/]", "<b>&", "\x1b[31m",
    "\x9b2J", "\u202ePELL", "\u2028", "\r", "\a", "\t", "e\u0301" * 50, "\U0001f600", "\udcff", "\ud800",
    "x" * 10_000, "..", "../x", "no/such/folder/x.pdf", "CON", "a" * 300, "%s%n", "{0}", "';--",
    "sqlite://", "sqlite:////", "sqlite:///folder", "mysql://x", "::", "0x10", "1_0", "1/0 mm",
)  # fmt: skip
WORD = st.sampled_from(GOOD) | st.sampled_from(GOOD) | st.sampled_from(BAD) | st.text(
    st.characters(exclude_characters="\0"), max_size=12
)  # fmt: skip


@st.composite
def spoilt_words(draw: st.DrawFn, command: Any) -> list[str]:
    """Arguments in about the right number, and a few of the options that the command knows."""
    words: list[str] = []
    options = []
    for parameter in command.params:
        if parameter.param_type_name == "option":
            options.append(parameter)
        elif parameter.nargs == -1:
            words += draw(st.lists(WORD, max_size=2))
        elif draw(st.integers(0, 9)):
            words.append(draw(WORD))
    for option in draw(st.lists(st.sampled_from(options), max_size=3)) if options else []:
        words.append(draw(st.sampled_from(option.opts + option.secondary_opts)))
        if not option.is_flag and draw(st.integers(0, 9)):
            words.append(draw(WORD))
    return draw(st.permutations(words)) if draw(st.integers(0, 4)) == 0 else words


def check(ended: Ended, words: list[str]) -> None:
    """What holds of every end."""
    assert ended.code in CODES, words
    for told in (ended.out, ended.err):
        assert "Traceback" not in told, words
        assert not CONTROL.search(told), words
    if ended.code in (1, 2):
        assert (ended.err or ended.out).strip(), words
        assert not ended.made, words


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_any_words_end_a_command_with_a_code_of_ours(
    path: tuple[str, ...], folder: Path, templates: Templates
) -> None:
    if path == ("setup",) or path == ("demo",):
        pytest.skip("makes files by its nature; see the tests of its own")
    fresh = templates.file("garage")

    @runs(3, 100)
    @given(words=spoilt_words(COMMANDS[path]))
    def try_words(words: list[str]) -> None:
        shutil.copy(fresh, folder / "kitting.db")
        with pytest.MonkeyPatch.context() as monkeypatch:
            check(run(folder, [*path, *words], monkeypatch), words)
        for made in folder.iterdir():  # what it was told to write, it wrote in its folder
            if made.is_file() and made.name not in ("list.csv", "list.xlsx", "some.yaml"):
                made.unlink()

    try_words()


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_an_option_that_a_command_does_not_know_is_a_usage_fault(
    path: tuple[str, ...], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = run(folder, [*path, "--\x1b[31mno-such"], monkeypatch)
    assert (ended.code, ended.out, ended.made) == (2, "", frozenset())
    assert "No such option: --" in ended.err
    assert not CONTROL.search(ended.err)


@pytest.mark.parametrize("word", BAD)
def test_a_word_that_is_no_command_is_a_usage_fault(
    word: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = run(folder, [word], monkeypatch)
    check(ended, [word])
    assert ended.code == 2
