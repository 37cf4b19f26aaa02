"""A marked text gets what it names, no less and no more: else it crashes after the work is done."""

from __future__ import annotations

import ast
from string import Formatter

import pytest
from translations import FOLDERS, ROOT

TELLING = {"_": set[str](), "p_": set[str](), "n_": {"count"}}
FILES = sorted(
    path.relative_to(ROOT).as_posix()
    for folder in FOLDERS
    for path in (ROOT / folder).rglob("*.py")
)


def named(text: str) -> set[str]:
    return {name for _before, name, *_rest in Formatter().parse(text) if name is not None}


def faults(code: str) -> list[tuple[int, set[str], set[str]]]:
    """Line, what its text names and nobody hands over, what is handed over for nothing."""
    found = []
    for node in ast.walk(ast.parse(code)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        if (given := TELLING.get(node.func.id)) is None:
            continue
        texts = [
            one.value
            for one in node.args
            if isinstance(one, ast.Constant) and isinstance(one.value, str)
        ]
        handed = {word.arg for word in node.keywords if word.arg}
        asked = set().union(*map(named, texts))
        if texts and len(handed) == len(node.keywords) and asked - given != handed:
            found.append((node.lineno, asked - given - handed, handed - asked))
    return found


@pytest.mark.parametrize("file", FILES)
def test_a_marked_text_gets_what_it_names(file: str) -> None:
    assert faults((ROOT / file).read_text("utf-8")) == []


def test_what_is_missing_or_too_much_is_found() -> None:
    code = '_("due {value}", why=1)\nn_("{count} {a}", "{count} {a}s", 2, a=1)\n_("agreed {}")'
    assert faults(code) == [(1, {"value"}, {"why"}), (3, {""}, set())]
