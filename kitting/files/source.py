"""Reading YAML 1.2 so that every fault can be shown with its line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kitting.errors import Problem

if TYPE_CHECKING:
    from kitting.files.catalogue import Catalogue

Place = tuple[str | int, ...]
_LONGEST_FILE = 64 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Source:
    """One file read: the checked catalogue, and the raw data that still knows its lines."""

    name: str
    raw: Any
    catalogue: Catalogue

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
    name = str(path)
    try:
        text = _read_text(path)
    except (OSError, UnicodeDecodeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return None, [Problem(name, 0, "file", reason, "Check the path and that it is UTF-8 text")]
    return parse_catalogue(name, text)


def _read_text(path: Path) -> str:
    if path.stat().st_size > _LONGEST_FILE:
        raise ValueError(f"larger than {_LONGEST_FILE // 1024 // 1024} MiB; split it")
    return path.read_text(encoding="utf-8")


def parse_catalogue(name: str, text: str) -> tuple[Source | None, list[Problem]]:
    """Read a catalogue from text; `name` stands in messages."""
    from pydantic import ValidationError
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    from kitting.files.catalogue import Catalogue

    try:
        raw = YAML(typ="rt").load(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark is not None else 0
        reason = (error.problem or error.context or "it cannot be read").splitlines()[0]
        return None, [Problem(name, line, "YAML", reason, "Mend the spelling of the file")]
    except (YAMLError, ValueError, RecursionError) as error:
        impossible = _impossible_dates(name, text)
        if impossible:
            return None, impossible
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        return None, [Problem(name, 0, "YAML", reason, "Mend the spelling of the file")]
    if not isinstance(raw, dict):
        return None, [
            Problem(
                name, 1, "file", "it holds no sections", "Begin with a section such as 'items:'"
            )
        ]
    try:
        return Source(name, raw, Catalogue.model_validate(raw)), []
    except ValidationError as error:
        problems = [_shape_problem(name, raw, fault) for fault in error.errors()]
        return None, sorted(dict.fromkeys(problems), key=lambda problem: problem.line)


def _impossible_dates(name: str, text: str) -> list[Problem]:
    """Days that the calendar does not have: the YAML reader gives up over them without a line."""
    problems = []
    for number, line in enumerate(text.splitlines(), 1):
        for written in _DAY.findall(line):
            try:
                date.fromisoformat(written)
            except ValueError:
                reason = "the calendar has no such day"
                problems.append(Problem(name, number, f"date {written}", reason, "Mend this date"))
    return problems


_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
_DATE = "no date; write for example 2026-04-15"
# Our words for what the shape checker says in its own.
_WORDS = {
    "date_parsing": _DATE,
    "date_type": _DATE,
    "date_from_datetime_parsing": _DATE,
    "date_from_datetime_inexact": _DATE,
    "string_type": "text was expected; put it in quotes",
    "int_type": "a whole number was expected",
    "int_parsing": "a whole number was expected",
    "bool_type": "true or false was expected",
    "bool_parsing": "true or false was expected",
    "tuple_type": "a list was expected, such as [one, two]",
    "model_type": "lines of 'key: value' were expected",
    "model_attributes_type": "lines of 'key: value' were expected",
    "dict_type": "lines of 'key: value' were expected",
}


def _shape_problem(name: str, raw: Any, fault: Any) -> Problem:
    place: Place = tuple(fault["loc"])
    kind = fault["type"]
    thing = describe(raw, place)
    if kind == "extra_forbidden":
        near = get_close_matches(str(place[-1]), _known_keys(place), n=1)
        step = f"Did you mean {near[0]!r}?" if near else "Take it out"
        return Problem(name, line_of(raw, place), thing, f"unknown key {place[-1]!r}", step)
    if kind == "missing":
        where = line_of(raw, place[:-1])
        return Problem(name, where, thing, f"{place[-1]!r} is missing", f"Add '{place[-1]}: …'")
    message = _WORDS.get(kind) or str(fault["msg"]).removeprefix("Value error, ")
    value = fault.get("input")
    shown = f"{str(value)[:60]!r}: " if isinstance(value, str | int | float) else ""
    if shown and str(value)[:60] in message:
        shown = ""
    return Problem(name, line_of(raw, place), thing, f"{shown}{message}", "Mend this entry")


def describe(raw: Any, place: Place) -> str:
    """Words for a place: the codes on the way to it, such as "units GREBE › joints intake"."""
    words, node = [], raw
    for key in place:
        try:
            node = node[key]
        except (KeyError, IndexError, TypeError):
            words.append(str(key))
            break
        if isinstance(key, int):
            label = _label(node)
            words[-1:] = [f"{words[-1] if words else ''} {label or f'no. {key + 1}'}".strip()]
        else:
            words.append(str(key))
    return " › ".join(words) or "file"


def _label(node: Any) -> str | None:
    if isinstance(node, dict):
        for key in ("code", "registration", "position", "item", "name", "joint"):
            if isinstance(node.get(key), str):
                return str(node[key])
    return str(node) if isinstance(node, str) else None


def _known_keys(place: Place) -> Sequence[str]:
    """The keys that stand at a place, found by walking the models."""
    from typing import get_args

    from pydantic import BaseModel

    from kitting.files.catalogue import Catalogue

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
