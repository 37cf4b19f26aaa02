"""Running the program in this process as its entry point does, with the files it makes."""

from __future__ import annotations

import contextlib
import io
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from kitting.cli.main import main


@dataclass(frozen=True)
class Ended:
    """How a command ended, and what it made in its folder."""

    code: int
    out: str
    err: str
    made: frozenset[str]


def run(
    folder: Path, words: list[str], monkeypatch: pytest.MonkeyPatch, coding: str = "utf-8"
) -> Ended:
    """Run the program as its entry point does; what it raises is a traceback, and fails."""
    before = {str(path) for path in folder.parents[1].rglob("*")}
    out = io.TextIOWrapper(io.BytesIO(), coding, errors="strict", newline="\n")
    err = io.TextIOWrapper(io.BytesIO(), coding, errors="backslashreplace", newline="\n")
    monkeypatch.setattr(sys, "argv", ["kitting", *words])
    code: Any = 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main()
        except SystemExit as ended:
            code = 0 if ended.code is None else ended.code
    told = []
    for stream in (out, err):
        stream.flush()
        told.append(stream.buffer.getvalue().decode(coding))  # type: ignore[attr-defined]
    after = {str(path) for path in folder.parents[1].rglob("*")}
    made = {name for name in after - before if not name.endswith(("-wal", "-shm"))}
    return Ended(code, told[0], told[1], frozenset(made))
