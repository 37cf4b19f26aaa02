"""Lists of findings: what was seen at positions, before this program or at the ramp."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem
from kitting.facts.units import parse_quantity
from kitting.facts.words import FindingResult
from kitting.files.lists.cells import day, name
from kitting.files.lists.reader import Field, ListRow, read_cells, read_list


def _found(text: str) -> str:
    word = " ".join(text.split()).casefold()
    if word not in tuple(FindingResult):
        raise FigureError(
            "{text!r} is none of {known}", text=text[:40], known=", ".join(FindingResult)
        )
    return word


FINDING_FIELDS: dict[str, Field] = {
    "on": Field(day, required=True),
    "unit": Field(name, required=True),
    "joint": Field(name, required=True),
    "position": Field(name, required=True),
    "item": Field(name, required=True),
    "found": Field(_found, required=True),
    "quantity": Field(parse_quantity),
    "reason": Field(name),
}
RAMP_FIELDS: dict[str, Field] = {
    "joint": Field(name, required=True),
    "position": Field(name, required=True),
    "found": Field(_found, required=True),
    "reason": Field(name),
}


def read_findings(
    path: Path, fields: Mapping[str, Field] = FINDING_FIELDS
) -> tuple[list[tuple[ListRow, dict[str, Any]]], list[Problem]]:
    """Every row of a list of findings with its values, and every fault.

    A failure without its reason is a fault: those who come after learn from it.
    """
    rows, problems = read_list(path, tuple(fields))
    found = []
    for row in rows:
        values, faults = read_cells(str(path), row, fields)
        if not faults and values["found"] == FindingResult.FAILED and "reason" not in values:
            faults = [Problem(str(path), row.line, "finding", "failed without a reason", "Say why")]
        problems += faults
        if not faults:
            found.append((row, values))
    return found, problems
