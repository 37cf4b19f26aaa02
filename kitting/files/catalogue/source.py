"""Reading YAML 1.2 so that every fault can be shown with its line."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kitting.errors import Problem
from kitting.facts.names import nearest
from kitting.files.catalogue.decimal_commas import cut_by_comma
from kitting.files.catalogue.fault_words import (
    codes_once,
    describe,
    fault_text,
    in_short,
    meant,
    step_for,
    without_branches,
)
from kitting.files.catalogue.lines import Lines, Place, Spot, line_of
from kitting.files.catalogue.yaml_text import parse_yaml, read_yaml
from kitting.files.spreadsheets import OTHER_SPREADSHEETS, SAVE_AS_XLSX, XLSX

if TYPE_CHECKING:
    from kitting.files.catalogue.document import Catalogue

# Keys that stand elsewhere: why not here, and what to do.
_MISPLACED = {
    "sides": (
        "its joint or step has no sides",
        "Give the joint or step its sides, or take these out",
    ),
}
_LONGEST_FILE = 64 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Source:
    """One file read: the checked catalogue, and the raw data that still knows its lines.

    `repeated` are the spots that stand for several entries: what is wrong there is told once.
    """

    lines: Lines
    raw: Any
    catalogue: Catalogue
    repeated: frozenset[Spot] = frozenset()

    @property
    def name(self) -> str:
        """The file."""
        return self.lines.file

    def problem(self, place: Place, thing: str, reason: str, next_step: str) -> Problem:
        """A fault at a place of this file, such as ("units", 0, "joints", 2, "code")."""
        return self.lines.problem(line_of(self.raw, place), thing, reason, next_step)


def read_catalogue(path: Path) -> tuple[Source | None, list[Problem]]:
    """Read one catalogue file, YAML or a workbook; either a source, or every fault of its shape."""
    if path.suffix.casefold() == XLSX:
        from kitting.files.catalogue.sheets.reading import read_workbook

        cells, raw, problems = read_workbook(path)
        return (None, problems) if problems else _shaped(cells, raw)
    if path.suffix.casefold() in OTHER_SPREADSHEETS:
        reason, step = "a spreadsheet of another kind than XLSX", SAVE_AS_XLSX
        return None, [Problem(str(path), 0, "file", reason, step)]
    raw, problems = read_yaml(path, _LONGEST_FILE, "Split it")
    return (None, problems) if problems else _shaped(Lines(str(path)), raw)


def parse_catalogue(name: str, text: str) -> tuple[Source | None, list[Problem]]:
    """Read a catalogue from text; `name` stands in messages."""
    raw, problems = parse_yaml(name, text)
    return (None, problems) if problems else _shaped(Lines(name), raw)


def _shaped(lines: Lines, raw: Any) -> tuple[Source | None, list[Problem]]:
    from pydantic import ValidationError

    from kitting.files.catalogue.document import Catalogue
    from kitting.files.catalogue.patterns import with_patterns
    from kitting.files.catalogue.sides import with_sides

    if not isinstance(raw, dict):
        step = "Begin with a section such as 'items:'"
        return None, [lines.problem(1, "file", "it holds no sections", step)]
    filled = with_patterns(raw)
    pairs = with_sides(filled.raw, lines.named)
    raw, repeated = pairs.raw, frozenset(map(lines.spot, pairs.repeated))
    unclear = [
        lines.problem(fault.line, fault.thing, fault.reason, fault.next_step)
        for fault in (*filled.faults, *pairs.faults)
    ]
    try:
        catalogue = Catalogue.model_validate(raw)
    except ValidationError as error:
        problems = [
            _shape_problem(lines, raw, fault) for fault in codes_once(meant(error.errors()))
        ]
        return None, told_once([*unclear, *problems], repeated)
    if unclear:
        return None, told_once(unclear, repeated)
    return Source(lines, raw, catalogue, repeated), []


def told_once(problems: Iterable[Problem], repeated: Container[Spot]) -> list[Problem]:
    """The problems by line, without those that a spot which stands for several entries repeats."""
    found: dict[object, Problem] = {}
    for one in problems:
        spot = (one.sheet, one.line)
        same = (spot, one.reason, one.next_step) if spot in repeated else one
        found.setdefault(same, one)
    return sorted(found.values(), key=lambda problem: (problem.sheet, problem.line))


def _shape_problem(lines: Lines, raw: Any, fault: Any) -> Problem:
    place = without_branches(raw, tuple(fault["loc"]))
    kind = fault["type"]
    thing = describe(raw, place)
    cut = cut_by_comma(raw, place)
    if cut is not None and cut.in_braces:
        where, thing = line_of(raw, cut.place), describe(raw, cut.place)
        reason = f"{cut.written!r} has a comma, and inside braces a comma begins another entry"
        return lines.problem(where, thing, reason, f"Write {cut.meant!r}; a text goes in quotes")
    if kind == "extra_forbidden":
        key = in_short(str(place[-1]))
        if key in _MISPLACED:
            return lines.problem(line_of(raw, place), thing, *_MISPLACED[key])
        known = _known_keys(place)
        near = nearest(key, known, n=1)
        step = f"Did you mean {near[0]!r}?" if near else f"Known here: {', '.join(known)}"
        return lines.problem(line_of(raw, place), thing, f"unknown key {key!r}", step)
    if kind == "missing":
        where, thing = line_of(raw, place[:-1]), describe(raw, place[:-1])
        if isinstance(place[-1], int):
            return lines.problem(where, thing, f"entry no. {place[-1] + 1} is missing", "Add it")
        return lines.problem(where, thing, f"{place[-1]!r} is missing", lines.fill_in(place))
    step = step_for(fault)
    if kind == "too_long" and _figures(fault["input"]):
        step += "; a decimal comma parts two entries, so write a point"
    elif cut is not None:
        step = f"If it is one figure, write {cut.meant!r}"
    return lines.problem(line_of(raw, place), thing, fault_text(fault), step)


def _figures(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, int | float) for one in value)


def _known_keys(place: Place) -> Sequence[str]:
    """The keys that stand at a place, found by walking the models."""
    from typing import get_args

    from pydantic import BaseModel

    from kitting.files.catalogue.document import Catalogue

    model: Any = Catalogue
    for key in place[:-1]:
        if isinstance(key, int) or model is None or key not in model.model_fields:
            continue
        waiting, model = [model.model_fields[key].annotation], None
        while waiting:
            annotation = waiting.pop()
            if isinstance(annotation, type) and issubclass(annotation, BaseModel):
                model = annotation
                break
            waiting.extend(get_args(annotation))
    return list(model.model_fields) if model is not None else []
