"""Lists of tools and of tool offers: their columns, and what each sort of tool must state."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from kitting.errors import FigureError, Problem
from kitting.facts.heads import SQUARE_DRIVES, parse_head
from kitting.facts.money import parse_money
from kitting.facts.tool_words import ToolOfferWay, ToolSort, ToolState, WrenchClass, WrenchDirection
from kitting.facts.torque_tools import class_deviation, parse_wrench_class
from kitting.facts.units import Torque, format_quantity, parse_length, parse_torque, plain
from kitting.facts.words import Word
from kitting.files.lists.cells import code, day, name
from kitting.files.lists.reader import Field, ListRow, read_cells, read_list

# The columns that each sort of tool must fill in.
REQUIRED: Mapping[ToolSort, tuple[str, ...]] = {
    ToolSort.SOCKET: ("turns", "takes"),
    ToolSort.BIT: ("turns", "takes"),
    ToolSort.KEY: ("turns",),
    ToolSort.CROWFOOT: ("turns", "takes"),
    ToolSort.RATCHET: ("gives",),
    ToolSort.BAR: ("gives",),
    ToolSort.ADAPTOR: ("takes", "gives"),
    ToolSort.EXTENSION: ("takes", "gives", "length"),
    ToolSort.UNIVERSAL_JOINT: ("takes", "gives"),
    ToolSort.TORQUE_WRENCH: ("gives", "from", "to"),
    ToolSort.ANGLE_GAUGE: (),
    ToolSort.GENERAL: (),
}
# The largest length of each column in thousandths of a mm; a longer one is a slip of the pen.
# Common practice, no source.
MOST: Mapping[str, int] = {
    "length": 2_000_000, "depth": 500_000, "offset": 300_000, "grip": 2_500_000,
}  # fmt: skip
_MOST_TORQUE = Torque(Decimal(5000), "N·m")  # of a scale; common practice, no source
# Inches and millimetres of each square (ISO 1174-1), and how inches are written.
_SQUARES: Mapping[str, str] = {one.inch: plain(one.millimetres) for one in SQUARE_DRIVES}
_INCHES = ("in", " in", '"', ' "', "″", " ″", "''", " inch", "inch", "-inch")
# What spreadsheets make of a fraction: 2026-02-01, "01. Feb", "Feb 01", "1/2/26".
_A_DATE = re.compile(
    r"[0-9]{4}-(?P<month>[0-9]{2})-(?P<day>[0-9]{2})(?:[ t].*)?"
    r"|(?P<before>[0-9]{1,2})[. /-]{1,2}(?P<name>[^\W\d_]{3,9})\b.{,6}"
    r"|(?P<first>[^\W\d_]{3,9})[. /-]{1,2}(?P<after>[0-9]{1,2}).{,6}"
    r"|(?P<one>[0-9]{1,2})[./-](?P<other>[0-9]{1,2})[./-](?:[0-9]{2}|[0-9]{4})?"
)
# Months whose number stands in a square, by how they begin in several languages (from memory).
_MONTHS: Mapping[str, str] = {
    "jan": "1", "feb": "2", "fév": "2", "mar": "3", "mär": "3", "mrz": "3", "apr": "4", "avr": "4",
    "aug": "8", "aoû": "8", "ago": "8",
}  # fmt: skip
_W = TypeVar("_W", bound=Word)


def _one_of(words: type[_W]) -> Callable[[str], _W]:
    def read(text: str) -> _W:
        folded = " ".join(text.split()).casefold()
        if folded not in tuple(words):
            raise FigureError("{text!r} is none of {known}", text=text[:40], known=", ".join(words))
        return words(folded)

    return read


def _length(column: str) -> Callable[[str], int]:
    """A reader of lengths that go no further than those of tools for the hand."""

    def read(text: str) -> int:
        length = parse_length(text)
        if length > MOST[column]:
            most = format_quantity(MOST[column], "mm")
            raise FigureError(
                "{text!r} is more than the {most} that a tool for the hand has",
                text=text[:40],
                most=most,
            )
        return length

    return read


def _torque(text: str) -> Torque:
    torque = parse_torque(text)
    if torque.newton_metres > _MOST_TORQUE.newton_metres:
        raise FigureError(
            "{text!r} is more than the {most} that a tool for the hand has",
            text=text[:40],
            most=_MOST_TORQUE,
        )
    return torque


def parse_resolution(text: str) -> Torque:
    """Read how far two marks of a scale are apart, such as "0.5 N·m"; raises FigureError."""
    torque = _torque(text)
    if torque.figure <= 0 or torque.figure * 1000 % 1:
        raise FigureError(
            "{text!r} is no resolution of a scale; write how far two marks of it are apart, such"
            " as '0.5 N·m'",
            text=text[:40],
        )
    return torque


def _square(text: str) -> str:
    size = " ".join(text.split()).casefold()
    for inch, millimetres in _SQUARES.items():
        if size in {inch, f"{millimetres} mm", *(f"{inch}{sign}" for sign in _INCHES)}:
            return inch
    known = ", ".join(_SQUARES)
    if (found := _A_DATE.fullmatch(size)) is not None:
        raise FigureError(
            "{text!r} is a date, as spreadsheets make of {fraction}; make the cell a text and"
            " write the square: {known} in",
            text=text[:40],
            fraction=_fraction_of(found.groupdict()),
            known=known,
        )
    raise FigureError(
        "{text!r} is no square drive; write one of {known} in (ISO 1174-1: {squares} mm)",
        text=text[:40],
        known=known,
        squares=", ".join(_SQUARES.values()),
    )


def _fraction_of(date: Mapping[str, str | None]) -> str:
    """The square whose two figures are day and month of a date; 3/8 as the example where none."""
    said = {_MONTHS.get(part[:3], part.lstrip("0")) for part in date.values() if part}
    return next((inch for inch in _SQUARES if set(inch.split("/")) == said), "3/8")


def _percent(text: str) -> int:
    figure = text.strip().removeprefix("±").removeprefix("+/-").strip()
    if not figure.endswith("%"):
        raise FigureError("{text!r} is no deviation; write for example '4 %'", text=text[:40])
    try:
        thousandths = Decimal(figure.removesuffix("%").strip()) * 1000
    except ArithmeticError as error:
        raise FigureError(
            "{text!r} is no deviation; write for example '4 %'", text=text[:40]
        ) from error
    if not thousandths.is_finite() or not 0 < thousandths <= 50_000 or thousandths % 1:
        raise FigureError("{text!r} is no deviation of a torque wrench; check it", text=text[:40])
    return int(thousandths)


def _number(text: str) -> int:
    if not text.isdecimal() or len(text) > 9:
        raise FigureError("{text!r} is no whole number", text=text[:40])
    return int(text)


_TOOL_FIELDS: dict[str, Field] = {
    "code": Field(code, required=True),
    "name": Field(name),
    "sort": Field(_one_of(ToolSort), required=True),
    "turns": Field(parse_head),
    "takes": Field(_square),
    "gives": Field(_square),
    "length": Field(_length("length")),
    "depth": Field(_length("depth")),
    "points": Field(_number),
    "offset": Field(_length("offset")),
    "grip": Field(_length("grip")),
    "from": Field(_torque),
    "to": Field(_torque),
    "resolution": Field(parse_resolution),
    "deviation": Field(_percent),
    "class": Field(parse_wrench_class),
    "direction": Field(_one_of(WrenchDirection)),
    "calibrated to": Field(day),
    "cycles": Field(_number),
    "general": Field(code),
}
BOX_FIELDS: dict[str, Field] = {
    "box": Field(code, required=True),
    **_TOOL_FIELDS,
    "state": Field(_one_of(ToolState)),
    "lent to": Field(name),
    "back on": Field(day),
}
OFFER_FIELDS: dict[str, Field] = {
    "offer": Field(code, required=True),
    "offer name": Field(name),
    "supplier": Field(name, required=True),
    "way": Field(_one_of(ToolOfferWay), required=True),
    "price": Field(parse_money, required=True),
    **_TOOL_FIELDS,
}


@dataclass(frozen=True, slots=True)
class ToolRow:
    """One tool of a list: its file and line, and its values by column."""

    file: str
    line: int
    values: Mapping[str, Any]

    def problem(self, reason: str, next_step: str) -> Problem:
        """A fault of this row."""
        return Problem(self.file, self.line, f"tool {self.values.get('code')}", reason, next_step)


def read_tools(path: Path, fields: Mapping[str, Field]) -> tuple[list[ToolRow], list[Problem]]:
    """Every tool of a list, and every fault of its rows."""
    rows, problems = read_list(path, tuple(fields))
    tools = []
    for row in rows:
        values, faults = read_cells(str(path), row, fields)
        if "sort" in values and "code" in values:
            faults += _contradictions(str(path), row, values)
        problems += faults
        if not faults:
            tools.append(ToolRow(str(path), row.line, values))
    return tools, problems


def _contradictions(file: str, row: ListRow, values: Mapping[str, Any]) -> list[Problem]:
    sort = values["sort"]
    thing = f"tool {values['code']}"
    missing = [column for column in REQUIRED[sort] if column not in row.cells]
    problems = [
        Problem(file, row.line, thing, f"a {sort} needs {column!r}", "Fill it in")
        for column in missing
    ]
    problems += _sizes(file, row, values)
    problems += _beyond_class(file, row, values)
    problems += _finer_than_scale(file, row, values)
    low, high = values.get("from"), values.get("to")
    if isinstance(low, Torque) and isinstance(high, Torque):
        if low.unit != high.unit:
            problems.append(
                Problem(file, row.line, thing, "its scale mixes two units", "Give one unit")
            )
        elif low.figure >= high.figure:
            problems.append(
                Problem(file, row.line, thing, "its scale does not rise", "Give 'from' below 'to'")
            )
    state_read = "state" in values or "state" not in row.cells
    if state_read and (values.get("state") == ToolState.LENT) != ("lent to" in row.cells):
        problems.append(
            Problem(
                file, row.line, thing, "'lent' and 'lent to' go together", "Give both or neither"
            )
        )
    return problems


def _sizes(file: str, row: ListRow, values: Mapping[str, Any]) -> list[Problem]:
    """Sizes of one tool that contradict each other."""
    thing = f"tool {values['code']}"
    length, depth = values.get("length"), values.get("depth")
    takes, gives = values.get("takes"), values.get("gives")
    problems = []
    if length is not None and depth is not None and depth > length:
        inside, overall = format_quantity(depth, "mm"), format_quantity(length, "mm")
        reason = f"it is {inside} deep and only {overall} long"
        step = "Give the length over all, and the depth inside"
        problems.append(Problem(file, row.line, thing, reason, step))
    if values["sort"] == ToolSort.ANGLE_GAUGE and takes and gives and takes != gives:
        reason = f"an angle gauge that takes {takes} in and gives {gives} in is two tools"
        step = "Give one square, and the adaptor as a tool of its own"
        problems.append(Problem(file, row.line, thing, reason, step))
    return problems


def _finer_than_scale(file: str, row: ListRow, values: Mapping[str, Any]) -> list[Problem]:
    """A resolution that is not one of the scale beside it."""
    resolution, low, high = values.get("resolution"), values.get("from"), values.get("to")
    if resolution is None:
        return []
    if not isinstance(low, Torque) or not isinstance(high, Torque):
        if "from" in row.cells and "to" in row.cells:
            return []
        found: tuple[str, str] | None = (
            "it has a resolution and no scale",
            "Give 'from' and 'to' as well",
        )
    else:
        found = fault_of_resolution(resolution, low, high)
    thing = f"tool {values['code']}"
    return [] if found is None else [Problem(file, row.line, thing, *found)]


def fault_of_resolution(resolution: Torque, low: Torque, high: Torque) -> tuple[str, str] | None:
    """Why a resolution is not one of a scale, and what to do; None where it is."""
    if resolution.unit != low.unit:
        return (
            f"its scale is in {low.unit} and its resolution in {resolution.unit}",
            "Give both in the unit that is marked on the scale",
        )
    if resolution.figure > high.figure - low.figure:
        return (
            f"its resolution ({resolution}) is more than the whole scale ({low} to {high})",
            "Give how far two marks of the scale are apart",
        )
    return None


def _beyond_class(file: str, row: ListRow, values: Mapping[str, Any]) -> list[Problem]:
    """That a wrench is stated to be off by more than its class of ISO 6789 allows it.

    Without a range it may be small or large, and the most that is allowed to either is.
    """
    stated, known, high = values.get("deviation"), values.get("class"), values.get("to")
    if stated is None or known is None or ("to" in row.cells and high is None):
        return []
    largest = Decimal(0) if high is None else high.newton_metres
    allowed = class_deviation(largest, known)[1] * 100
    if Decimal(stated) / 1000 <= allowed:
        return []
    percent = plain(Decimal(stated) / 1000)
    scale = "" if high is None else f" up to {high}"
    source = "ISO 6789-1:2017" + (", from memory" if known is not WrenchClass.II_A else "")
    reason = (
        f"a wrench of class {known}{scale} may be off by {plain(allowed)} % at most ({source}), and"
        f" its deviation is stated as {percent} %"
    )
    step = (
        "Look both up in its certificate; if both are right, leave this line out until the wrench"
        " is adjusted"
    )
    return [Problem(file, row.line, f"tool {values['code']}", reason, step)]
