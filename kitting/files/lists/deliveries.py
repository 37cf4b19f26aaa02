"""Delivery notes: what came with a parcel, line by line, as it was checked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kitting.errors import Problem
from kitting.facts.making import parse_made
from kitting.facts.units import parse_quantity
from kitting.files.lists.cells import code, day, name, word
from kitting.files.lists.reader import Field, ListRow, read_cells, read_list

DELIVERY_FIELDS: dict[str, Field] = {
    "item": Field(code),
    "part": Field(code),
    "good": Field(parse_quantity),
    "damaged": Field(parse_quantity),
    "wrong": Field(parse_quantity),
    "lot": Field(code),
    "made": Field(parse_made),
    "expires": Field(day),
    "bin": Field(word),
    "note": Field(name),
}
_AMOUNTS = ("good", "damaged", "wrong")


def read_deliveries(path: Path) -> tuple[list[tuple[ListRow, dict[str, Any]]], list[Problem]]:
    """Every row of a delivery note with its values, and every fault.

    A row names the item or the supplier's part, and at least one amount, all in one unit.
    """
    rows, problems = read_list(path, tuple(DELIVERY_FIELDS))
    found = []
    for row in rows:
        values, faults = read_cells(str(path), row, DELIVERY_FIELDS)
        if not faults:
            faults = [
                Problem(str(path), row.line, thing, why, step) for thing, why, step in _odd(values)
            ]
        problems += faults
        if not faults:
            found.append((row, values))
    return found, problems


def _odd(values: dict[str, Any]) -> list[tuple[str, str, str]]:
    faults = []
    if "item" not in values and "part" not in values:
        faults.append(("row", "it names neither item nor part", "Fill in one of the two"))
    amounts = [values[name] for name in _AMOUNTS if name in values]
    if not any(amount.thousandths for amount in amounts):
        faults.append(
            ("row", "nothing came by it", "Fill in good, damaged or wrong, or take the row out")
        )
    if len({amount.unit for amount in amounts}) > 1:
        faults.append(("row", "its amounts are in several units", "Give all in one unit"))
    return faults
