"""Running command lines in this process, in a folder with a database."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextvars import copy_context
from dataclasses import dataclass
from typing import Any

import pytest
import typer.main

from kitting.cli.main import app, main


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """All that it said on one line: tables and boxes break it anywhere."""
        return " ".join((self.out + self.err).replace("│", " ").split())

    @property
    def data(self) -> Any:
        """What it printed as JSON."""
        return json.loads(self.out)


Run = Callable[..., Ran]


def every_command() -> dict[tuple[str, ...], Any]:
    """Every command that does something, by its words."""
    return dict(leaves(typer.main.get_command(app)))


def leaves(command: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    if hasattr(command, "list_commands"):
        for name in command.list_commands(None):
            yield from leaves(command.get_command(None, name), (*path, name))
    else:
        yield path, command


def runner(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], columns: int = 100
) -> Run:
    """Runs a command line and catches how it ends; a traceback fails the test."""
    monkeypatch.delenv("KITTING_DATABASE_URL", raising=False)
    monkeypatch.setenv("KITTING_COLUMNS", str(columns))
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("NO_COLOR", "1")

    def call(*words: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["kitting", *words])
        code = 0
        try:
            copy_context().run(main)  # what a command sets ends with it
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return call
