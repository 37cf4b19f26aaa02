"""The catalogue files that come with the program, each read once in a process."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from kitting.files.catalogue.document import Catalogue
from kitting.files.catalogue.source import parse_catalogue

SEEDS = Path(__file__).parents[1] / "seeds"
# What is no catalogue file among them.
_OTHERS = frozenset({"patterns.yaml"})
CATALOGUE_FILES = sorted(path.name for path in SEEDS.glob("*.yaml") if path.name not in _OTHERS)


@cache
def read(name: str) -> Catalogue:
    """One of them; it cannot be changed, so all tests may have the same."""
    found, problems = parse_catalogue(name, (SEEDS / name).read_text(encoding="utf-8"))
    assert found is not None, problems
    return found.catalogue
