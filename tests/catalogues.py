"""The catalogue files that come with the program, each read once in a process."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from ruamel.yaml import YAML

from kitting.files.catalogue.document import Catalogue

SEEDS = Path(__file__).parents[1] / "seeds"


@cache
def read(name: str) -> Catalogue:
    """One of them; it cannot be changed, so all tests may have the same."""
    raw = YAML(typ="safe").load((SEEDS / name).read_text(encoding="utf-8"))
    return Catalogue.model_validate(raw)
