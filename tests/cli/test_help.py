"""Help: by the order of work, as wide as the screen, nothing cut, examples that can be copied."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from commands import every_command, runner
from pseudo import pseudo, stretched
from typer.main import get_command

from kitting.cli.help import NEW_HERE, PANELS, texts_of_help
from kitting.cli.main import COMMANDS as TABLE
from kitting.cli.main import FORMER_NAMES, TWO_MEANINGS, app
from kitting.wording import language

COMMANDS = every_command()
# Told by this panel, and made where guides are written.
_ELSEWHERE = {"guide"}
_PYTHON = re.compile(r"<[a-z]|\blist\[|\bstr\b|\bNone\b|\bbool\b")


def test_every_command_is_in_one_panel() -> None:
    placed = [name for panel in PANELS.values() for name in panel]
    assert len(placed) == len(set(placed))
    made = {name for names in TABLE.values() for name in names}
    assert set(placed) - _ELSEWHERE == made - _ELSEWHERE


@pytest.mark.parametrize("columns", [80, 140])
def test_the_first_help_has_a_whole_sentence_for_every_command(
    columns: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    empty_folder: Path,
) -> None:
    ended = runner(monkeypatch, capsys, columns)("--help")
    lines = ended.out.splitlines()
    assert lines[0] == NEW_HERE
    assert max(map(len, lines)) <= columns
    assert "..." not in ended.out.replace("COMMAND ...", "")
    titles = [line.rstrip(":") for line in lines if line.endswith(":") and line[0] != " "]
    assert titles == [*PANELS, "Options"]
    for names in TABLE.values():
        for name in names:
            (told,) = re.findall(
                rf"^  {name}  +(\S.*(?:\n {{8,}}\S.*)*)", ended.out, flags=re.MULTILINE
            )
            assert re.fullmatch(r"[A-Z].*\.", " ".join(told.split())), (name, told)


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("columns", [60, 140])
def test_help_cuts_nothing_and_says_nothing_of_python(
    path: tuple[str, ...],
    columns: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    empty_folder: Path,
) -> None:
    ended = runner(monkeypatch, capsys, columns)(*path, "--help")
    assert ended.code == 0
    assert not _PYTHON.search(ended.out)
    for line in ended.out.splitlines():
        if not line.startswith(("Usage: ", "  Example: ")):
            assert len(line) <= columns
    text = " ".join(COMMANDS[path].help.split())
    (example,) = [line for line in ended.out.splitlines() if line.startswith("  Example: ")]
    assert example.removeprefix("  Example: ") == text.partition("Example: ")[2]
    said = " ".join(ended.out.split())
    for parameter in COMMANDS[path].params:
        assert " ".join((parameter.help or "").split()) in said


@pytest.mark.parametrize(
    ("path", "usage"),
    [
        (("sheet", "pick"), "(REGISTRATION JOBS... | --booking BOOKING)"),
        (("sure",), "(REGISTRATION JOBS... | JOBS... --model MODEL | --booking BOOKING)"),
        (("plan",), "REGISTRATION JOBS..."),
        (("jobs",), "[REGISTRATION]"),
    ],
)
def test_the_usage_line_says_which_of_two_is_asked(
    path: tuple[str, ...],
    usage: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    empty_folder: Path,
) -> None:
    run = runner(monkeypatch, capsys)
    first = run(*path, "--help").out.splitlines()[0]
    assert first == f"Usage: kitting {' '.join(path)} {usage} [OPTIONS]"
    assert first in run(*path, "--no-such-option").err


def test_a_former_name_does_the_work_and_names_the_new_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], garage_folder: Path
) -> None:
    run = runner(monkeypatch, capsys)
    ended = run("found", "B0001", "intake", "port 1", "passed")
    assert ended.out == run("findings", "B0001", "intake", "port 1", "passed").out
    assert "'kitting found' is now 'kitting findings'" in ended.err
    made = get_command(app).list_commands(None)  # type: ignore[attr-defined, arg-type]
    assert not set(made) & {*FORMER_NAMES, *TWO_MEANINGS}
    assert set(FORMER_NAMES.values()) <= set(made)


def test_a_word_of_two_meanings_is_answered_with_both(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], empty_folder: Path
) -> None:
    ended = runner(monkeypatch, capsys)("hold", "B0001")
    assert ended.code == 2
    assert "kitting stock hold" in ended.err
    assert "kitting booking park" in ended.err


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_help_is_told_in_the_language_but_for_examples_and_names(
    path: tuple[str, ...],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    empty_folder: Path,
) -> None:
    other = pseudo()
    monkeypatch.setattr(language, "find_language", lambda _tag: other)
    ended = runner(monkeypatch, capsys, 2000)("--language", "de", *path, "--help")
    assert ended.code == 0
    usage, *lines = ended.out.splitlines()
    called, rest = usage.split(" ", 1)
    assert not called.isascii()
    assert rest.startswith(f"kitting {' '.join(path)}")
    for line in lines:
        if line.startswith("  Example: ") or not line.strip():
            continue
        if line.endswith(":"):
            assert not line.isascii(), line
            continue
        # Two spaces part a name from what is told of it.
        told = re.split(r" {2,}", line.strip())[-1]
        assert not (told.isascii() and told.endswith((".", ")"))), line


@pytest.mark.parametrize("words", [("--language", "de", "--help"), ("--help",)])
def test_the_first_help_is_told_in_the_language_that_is_asked_for(
    words: tuple[str, ...],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    empty_folder: Path,
) -> None:
    run = runner(monkeypatch, capsys)
    other = pseudo()
    monkeypatch.setattr(language, "find_language", lambda _tag: other)
    if len(words) == 1:
        monkeypatch.setenv("KITTING_LANGUAGE", "de")
    ended = run(*words)
    assert ended.code == 0
    assert ended.out.splitlines()[0] == stretched(NEW_HERE)
    for title in PANELS:
        assert f"{stretched(title)}:" in ended.out


def test_every_text_of_the_help_is_there_for_whoever_translates() -> None:
    texts = set(texts_of_help(get_command(app)))
    assert {NEW_HERE, *PANELS, "Options", "Print JSON with stable keys."} <= texts
    assert not [text for text in texts if text.startswith("Example: ")]
