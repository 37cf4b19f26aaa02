"""The page of this folder names every file of it, and no other."""

from __future__ import annotations

import re

from bench import HERE


def test_every_case_stands_in_the_table_and_is_there() -> None:
    page = (HERE / "README.md").read_text(encoding="utf-8")
    named = re.findall(r"^\| `([\w.-]+)` \|", page, re.MULTILINE)
    there = {path.name for path in HERE.iterdir() if path.suffix in {".yaml", ".csv"}}
    assert len(named) == len(set(named))
    assert set(named) == there
