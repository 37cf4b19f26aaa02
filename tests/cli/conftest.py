"""Running commands in this process, in a folder with the demo garage."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from conftest import Templates
from kitting.cli.main import main


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command line and catch how it ends; a traceback fails the test."""
    monkeypatch.delenv("KITTING_DATABASE_URL", raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("NO_COLOR", "1")

    def call(*words: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["kitting", *words])
        code = 0
        try:
            main()
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return call


@pytest.fixture
def empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, entered."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def garage_folder(empty_folder: Path, templates: Templates) -> Path:
    """A folder with the demo garage in it, entered."""
    shutil.copy(templates.file("garage"), empty_folder / "kitting.db")
    return empty_folder
