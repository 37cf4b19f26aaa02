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
    describe,
    fault_text,
    in_short,
    meant,
    step_for,
    without_branches,
)
from kitting.files.catalogue.yaml_text import parse_yaml, read_yaml

if TYPE_CHECKING:
    from kitting.files.catalogue.document import Catalogue

Place = tuple[str | int, ...]
_LONGEST_FILE = 64 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Source:
    """One file read: the checked catalogue, and the raw data that still knows its lines.

    `repeated` are the lines that stand for several entries: what is wrong there is told once.
    """

    name: str
    raw: Any
    catalogue: Catalogue
    repeated: frozenset[int] = frozenset()

    def problem(self, place: Place, thing: str, reason: str, next_step: str) -> Problem:
        """A fault at a place of this file, such as ("units", 0, "joints", 2, "code")."""
        return Problem(self.name, line_of(self.raw, place), thing, reason, next_step)


def line_of(raw: Any, place: Place) -> int:
    """The line (from 1) of the deepest part of `place` that the file holds."""
    line, node = 1, raw
    for key in place:
        try:
            if isinstance(node, dict):
                line = node.lc.key(key)[0] + 1  # type: ignore[attr-defined]
            elif isinstance(node, list):
                line = node.lc.item(key)[0] + 1  # type: ignore[attr-defined]
            node = node[key]
        except (KeyError, IndexError, TypeError, AttributeError):
            break
    return line


def read_catalogue(path: Path) -> tuple[Source | None, list[Problem]]:
    """Read one catalogue file; either a source, or every fault of its shape."""
    raw, problems = read_yaml(path, _LONGEST_FILE, "Split it")
    return (None, problems) if problems else _shaped(str(path), raw)


def parse_catalogue(name: str, text: str) -> tuple[Source | None, list[Problem]]:
    """Read a catalogue from text; `name` stands in messages."""
    raw, problems = parse_yaml(name, text)
    return (None, problems) if problems else _shaped(name, raw)


def _shaped(name: str, raw: Any) -> tuple[Source | None, list[Problem]]:
    from pydantic import ValidationError

    from kitting.files.catalogue.document import Catalogue
    from kitting.files.catalogue.patterns import with_patterns
    from kitting.files.catalogue.sides import with_sides

    if not isinstance(raw, dict):
        return None, [
            Problem(
                name, 1, "file", "it holds no sections", "Begin with a section such as 'items:'"
            )
        ]
    filled = with_patterns(raw)
    pairs = with_sides(filled.raw)
    raw, repeated = pairs.raw, frozenset(pairs.repeated)
    unclear = [
        Problem(name, fault.line, fault.thing, fault.reason, fault.next_step)
        for fault in (*filled.faults, *pairs.faults)
    ]
    try:
        catalogue = Catalogue.model_validate(raw)
    except ValidationError as error:
        problems = [_shape_problem(name, raw, fault) for fault in meant(error.errors())]
        return None, told_once([*unclear, *problems], repeated)
    if unclear:
        return None, told_once(unclear, repeated)
    return Source(name, raw, catalogue, repeated), []


def told_once(problems: Iterable[Problem], repeated: Container[int]) -> list[Problem]:
    """The problems by line, without those that a line which stands for several entries repeats."""
    found: dict[object, Problem] = {}
    for one in problems:
        same = (one.line, one.reason, one.next_step) if one.line in repeated else one
        found.setdefault(same, one)
    return sorted(found.values(), key=lambda problem: problem.line)


def _shape_problem(name: str, raw: Any, fault: Any) -> Problem:
    place = without_branches(raw, tuple(fault["loc"]))
    kind = fault["type"]
    thing = describe(raw, place)
    cut = cut_by_comma(raw, place)
    if cut is not None and cut.in_braces:
        where, thing = line_of(raw, cut.place), describe(raw, cut.place)
        reason = f"{cut.written!r} has a comma, and inside braces a comma begins another entry"
        return Problem(name, where, thing, reason, f"Write {cut.meant!r}; a text goes in quotes")
    if kind == "extra_forbidden":
        key = in_short(str(place[-1]))
        known = _known_keys(place)
        near = nearest(key, known, n=1)
        step = f"Did you mean {near[0]!r}?" if near else f"Known here: {', '.join(known)}"
        return Problem(name, line_of(raw, place), thing, f"unknown key {key!r}", step)
    if kind == "missing":
        where, thing = line_of(raw, place[:-1]), describe(raw, place[:-1])
        if isinstance(place[-1], int):
            return Problem(name, where, thing, f"entry no. {place[-1] + 1} is missing", "Add it")
        return Problem(name, where, thing, f"{place[-1]!r} is missing", f"Add '{place[-1]}: …'")
    step = step_for(fault)
    if kind == "too_long" and _figures(fault["input"]):
        step += "; a decimal comma parts two entries, so write a point"
    elif cut is not None:
        step = f"If it is one figure, write {cut.meant!r}"
    return Problem(name, line_of(raw, place), thing, fault_text(fault), step)


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
