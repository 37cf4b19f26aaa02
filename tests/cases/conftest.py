"""The awkward catalogues and lists of this folder, in a database of their own."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from bench import HERE, Bench
from commands import runner

from conftest import Templates


@pytest.fixture
def bench_of(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    templates: Templates,
) -> Callable[[str], Bench]:
    """A folder of its own with the files of cases and a prepared database, entered."""
    run = runner(monkeypatch, capsys, columns=200)

    def make(template: str) -> Bench:
        for path in (*HERE.glob("*.yaml"), *HERE.glob("*.csv")):
            shutil.copy(path, tmp_path)
        shutil.copy(templates.file(template), tmp_path / "kitting.db")
        monkeypatch.chdir(tmp_path)
        return Bench(tmp_path, run)

    return make


@pytest.fixture
def bench(bench_of: Callable[[str], Bench]) -> Bench:
    """A database with the general rules only, as it is after it was set up."""
    return bench_of("empty")


@pytest.fixture
def garage_bench(bench_of: Callable[[str], Bench]) -> Bench:
    """The demo garage."""
    return bench_of("garage")
