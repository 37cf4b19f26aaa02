"""Words of the command line stay in the command line."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from kitting.cli.main import COMMANDS

ROOT = Path(__file__).parents[1]
NAMES = sorted(name for names in COMMANDS.values() for name in names)
COMMAND = re.compile(rf"\bkitting ({'|'.join(NAMES)})\b")
FILES = sorted(
    path
    for folder in ("kitting", "reports", "schema")
    for path in (ROOT / folder).rglob("*.py")
    if not path.is_relative_to(ROOT / "kitting" / "cli")
)


def literals(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """The string literals of a module, those of f-strings too, without docstrings."""
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = [part.value if isinstance(part, ast.Constant) else "{}" for part in node.values]
            yield node.lineno, "".join(map(str, parts))
        elif isinstance(node, ast.Constant) and id(node) not in docstrings:
            yield node.lineno, str(node.value)


def commands_named(source: str) -> list[str]:
    """Where a module names a command of the command line: "line 12: kitting setup"."""
    return [
        f"line {line}: {found[0]}"
        for line, text in literals(ast.parse(source))
        for found in COMMAND.finditer(text)
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_only_the_command_line_names_its_commands(path: Path) -> None:
    """Others name the action (`kitting.actions`), which a page would show as a button."""
    assert commands_named(path.read_text("utf-8")) == []


@pytest.mark.parametrize(
    ("source", "named"),
    [
        ("raise E(\"Run 'kitting setup' first\")", ["line 1: kitting setup"]),
        ('raise E("See: kitting stock"\n        " list")', ["line 1: kitting stock"]),
        ('x = 1\ny = f"{x}. Then: kitting close {x}"', ["line 2: kitting close"]),
        ('def f():\n    """As kitting setup does."""', []),
        ('"kitting writers"', []),
        ('print("put the kitting closed by hand aside")', []),
    ],
)
def test_naming_a_command_is_found_where_it_is_done_and_nowhere_else(
    source: str, named: list[str]
) -> None:
    assert sorted(set(commands_named(source))) == named
