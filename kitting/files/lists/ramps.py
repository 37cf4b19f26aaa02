"""Lists of ramps and of technicians: their columns, and how licences and absences are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from kitting.errors import FigureError, Problem
from kitting.facts.days import parse_day
from kitting.facts.durations import parse_hours
from kitting.facts.weights import parse_kilograms
from kitting.files.lists.reader import Field, read_cells, read_list

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_LONGEST_CODE, _LONGEST_TEXT, _DAY = 40, 200, 24_000


def _code(text: str) -> str:
    if len(text) > _LONGEST_CODE or any(c.isspace() or not c.isprintable() for c in text):
        raise FigureError(
            "{text!r} is no code; use letters, digits and hyphens, 40 at most", text=text[:40]
        )
    return text


def _text(text: str) -> str:
    if len(text) > _LONGEST_TEXT or not text.isprintable():
        raise FigureError(
            "{text!r}: write one plain line of 200 characters at most", text=text[:40]
        )
    return text


def _hours(text: str) -> int:
    hours = parse_hours(text)
    if hours > _DAY:
        raise FigureError("{text!r} is more than a day has", text=text[:40])
    return hours


def _licences(text: str) -> dict[str, date | None]:
    """ "refrigerant to 2027-01-31; high-voltage": each with its last day, if that is stated."""
    found: dict[str, date | None] = {}
    for part in filter(None, map(str.strip, text.split(";"))):
        code, separator, until = part.partition(" to ")
        if _code(code.strip()) in found:
            raise FigureError("{code!r} is named twice; keep the later date", code=code.strip())
        found[code.strip()] = parse_day(until) if separator else None
    return found


def _away(text: str) -> dict[date, date]:
    """ "2026-04-20 to 2026-04-24; 2026-05-01": the last day of each absence by its first."""
    found: dict[date, date] = {}
    for part in filter(None, map(str.strip, text.split(";"))):
        first, separator, last = part.partition(" to ")
        begins = parse_day(first)
        ends = parse_day(last) if separator else begins
        if ends < begins:
            raise FigureError(
                "{part!r} ends before it begins; write the first day first", part=part[:40]
            )
        if begins in found:
            raise FigureError("{begins} begins two absences; write one of them", begins=begins)
        found[begins] = ends
    return found


RAMP_FIELDS: dict[str, Field] = {
    "branch": Field(_code, required=True),
    "ramp": Field(_code, required=True),
    "takes": Field(_text),
    "hours": Field(_hours),
    "lifts": Field(parse_kilograms),
}
TECHNICIAN_FIELDS: dict[str, Field] = {
    "branch": Field(_code, required=True),
    "technician": Field(_code, required=True),
    **{day: Field(_hours) for day in WEEKDAYS},
    "licences": Field(_licences),
    "away": Field(_away),
}


@dataclass(frozen=True, slots=True)
class StaffRow:
    """A ramp or a technician of a list: its file and line, and its values by column."""

    file: str
    line: int
    values: Mapping[str, Any]

    def problem(self, thing: str, reason: str, step: str) -> Problem:
        """A fault of this row."""
        return Problem(self.file, self.line, thing, reason, step)


def read_staff(path: Path, fields: Mapping[str, Field]) -> tuple[list[StaffRow], list[Problem]]:
    """Every row of a list of ramps or technicians that is well written, and every fault."""
    rows, problems = read_list(path, tuple(fields))
    found = []
    for row in rows:
        values, faults = read_cells(str(path), row, fields)
        problems += faults
        if not faults:
            found.append(StaffRow(str(path), row.line, values))
    return found, problems
