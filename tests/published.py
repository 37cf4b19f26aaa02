"""Published tables: our copies in tests/outside/data, and those that another package brings."""

from __future__ import annotations

import csv
from importlib import metadata
from pathlib import Path

import pytest

DATA = Path(__file__).parent / "outside" / "data"


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table that tests/outside/data/README.md names the source of."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def column(name: str, key: str, value: str) -> dict[str, str]:
    """Two columns of a table as a mapping, lines without a value left out."""
    return {row[key]: row[value] for row in rows(name) if row[value]}


def packaged_column(package: str, name: str, value: str) -> dict[str, str]:
    """First column and another of a CSV that an installed package brings, blank lines left out.

    The package is not imported. Skips the test, saying why, where it is not installed.
    """
    try:
        files = metadata.files(package) or []
    except metadata.PackageNotFoundError:
        pytest.skip(f"{package} is not installed: pip install --no-deps {package}")
    (file,) = (file for file in files if file.name == name)
    header, *lines = csv.reader(file.read_text(encoding="utf-8").splitlines())
    place = [heading.strip() for heading in header].index(value)
    return {line[0]: line[place] for line in lines if line[place]}
