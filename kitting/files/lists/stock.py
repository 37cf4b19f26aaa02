"""Lists of stock: what lies where, counted or carried over."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kitting.errors import Problem
from kitting.facts.shelf_life import parse_made
from kitting.facts.units import parse_quantity
from kitting.files.lists.cells import code, day, name, word
from kitting.files.lists.reader import Field, ListRow, read_cells, read_list

STOCK_FIELDS: dict[str, Field] = {
    "branch": Field(code, required=True),
    "item": Field(code, required=True),
    "lot": Field(code, required=True),
    "quantity": Field(parse_quantity, required=True),
    "bin": Field(word),
    "made": Field(parse_made),
    "expires": Field(day),
    "opened": Field(day),
    "received": Field(day),
    "on hold": Field(name),
}


# Headings of earlier versions, and what to write instead.
_FORMER = {"held": "on hold"}


def read_stock(path: Path) -> tuple[list[tuple[ListRow, Mapping[str, Any]]], list[Problem]]:
    """Every row of a stock list with its values, and every fault."""
    rows, problems = read_list(path, tuple(STOCK_FIELDS), _FORMER)
    found: list[tuple[ListRow, Mapping[str, Any]]] = []
    for row in rows:
        values, faults = read_cells(str(path), row, STOCK_FIELDS)
        problems += faults
        if not faults:
            found.append((row, values))
    return found, problems
