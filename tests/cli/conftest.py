"""Running commands in this process, in a folder with the demo garage."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from commands import Run, runner

from conftest import Templates


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command line and catch how it ends; a traceback fails the test."""
    return runner(monkeypatch, capsys)


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
