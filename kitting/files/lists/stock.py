"""Lists of stock: what lies where, counted or carried over."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kitting.errors import Problem
from kitting.facts.gs1 import Scan, read_scan
from kitting.facts.making import parse_making_days
from kitting.facts.units import parse_quantity
from kitting.files.lists.cells import code, day, name, word
from kitting.files.lists.reader import Field, ListRow, read_cells, read_list

STOCK_FIELDS: dict[str, Field] = {
    "branch": Field(code, required=True),
    "item": Field(code),
    "lot": Field(code),
    "quantity": Field(parse_quantity, required=True),
    "bin": Field(word),
    "made": Field(parse_making_days),
    "expires": Field(day),
    "opened": Field(day),
    "received": Field(day),
    "on hold": Field(name),
    "scan": Field(read_scan),
}
# What has to be known of a row, typed or scanned.
_NAMED = ("item", "lot")


# Headings of earlier versions, and what to write instead.
_FORMER = {"held": "on hold"}


def read_stock(path: Path) -> tuple[list[tuple[ListRow, Mapping[str, Any]]], list[Problem]]:
    """Every row of a stock list with its values (`made` as MakingDays), and every fault."""
    rows, problems = read_list(path, tuple(STOCK_FIELDS), _FORMER)
    found: list[tuple[ListRow, Mapping[str, Any]]] = []
    for row in rows:
        values, faults = read_cells(str(path), row, STOCK_FIELDS)
        faults += _not_named(str(path), row, values)
        problems += faults
        if not faults:
            found.append((row, values))
    return found, problems


def _not_named(name: str, row: ListRow, values: Mapping[str, Any]) -> list[Problem]:
    """What neither the columns of a row nor its scan say of which lot it is."""
    scan: Scan | None = values.get("scan")
    scanned = {
        "item": scan is not None and scan.gtin is not None,
        "lot": scan is not None and scan.lot is not None,
    }
    return [
        Problem(name, row.line, f"column {column!r}", "it is empty", "Fill it in")
        for column in _NAMED
        if column not in values and column not in row.cells and not scanned[column]
    ]
