"""Reading YAML 1.2 so that every fault can be shown with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kitting.errors import Problem
from kitting.files.catalogue.yaml_text import parse_yaml, read_yaml

if TYPE_CHECKING:
    from kitting.files.catalogue.document import Catalogue

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
    raw, problems = read_yaml(path, _LONGEST_FILE, "Split it")
    return (None, problems) if problems else _shaped(str(path), raw)


def parse_catalogue(name: str, text: str) -> tuple[Source | None, list[Problem]]:
    """Read a catalogue from text; `name` stands in messages."""
    raw, problems = parse_yaml(name, text)
    return (None, problems) if problems else _shaped(name, raw)


def _shaped(name: str, raw: Any) -> tuple[Source | None, list[Problem]]:
    from pydantic import ValidationError

    from kitting.files.catalogue.document import Catalogue

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
    "invalid_key": "a key has to be text; put it in quotes",
}
_SHOWN = 60


def _shape_problem(name: str, raw: Any, fault: Any) -> Problem:
    place: Place = tuple(fault["loc"])
    kind = fault["type"]
    thing = describe(raw, place)
    cut = _cut_by_comma(raw, place)
    if cut is not None and cut.in_braces:
        where, thing = line_of(raw, cut.place), describe(raw, cut.place)
        reason = f"{cut.written!r} has a comma, and inside braces a comma begins another entry"
        return Problem(name, where, thing, reason, f"Write {cut.meant!r}; a text goes in quotes")
    if kind == "extra_forbidden":
        key = str(place[-1])[:_SHOWN]
        near = get_close_matches(key, _known_keys(place), n=1)
        step = f"Did you mean {near[0]!r}?" if near else "Take it out"
        return Problem(name, line_of(raw, place), thing, f"unknown key {key!r}", step)
    if kind == "missing":
        where = line_of(raw, place[:-1])
        return Problem(name, where, thing, f"{place[-1]!r} is missing", f"Add '{place[-1]}: …'")
    if kind == "too_long":
        most, count = fault["ctx"]["max_length"], fault["ctx"]["actual_length"]
        reason = f"{most} entries were expected, not {count}"
        figures = all(isinstance(one, int | float) for one in fault["input"])
        step = "; a decimal comma parts two entries, so write a point" if figures else ""
        return Problem(name, line_of(raw, place), thing, reason, f"Correct this entry{step}")
    message = _WORDS.get(kind) or str(fault["msg"]).removeprefix("Value error, ")
    value = fault.get("input")
    shown = f"{str(value)[:_SHOWN]!r}: " if isinstance(value, str | int | float) else ""
    if shown and str(value)[:_SHOWN] in message:
        shown = ""
    step = f"If it is one figure, write {cut.meant!r}" if cut else "Correct this entry"
    return Problem(name, line_of(raw, place), thing, f"{shown}{message}", step)


@dataclass(frozen=True, slots=True)
class _Cut:
    """A figure that its decimal comma cut in two, and the place of the first half."""

    place: Place
    first: str
    second: str
    in_braces: bool

    @property
    def written(self) -> str:
        return _in_short(f"{self.first},{self.second}")

    @property
    def meant(self) -> str:
        return _in_short(f"{self.first}.{self.second}")


def _cut_by_comma(raw: Any, place: Place) -> _Cut | None:
    """The figure that a place holds a half of: `{length: 2,5 mm}` is 2 and an entry "5 mm".

    In braces the second half is a key without a value; in brackets the next item of the list.
    """
    *way, last = place
    node = raw
    for key in way:
        try:
            node = node[key]
        except (KeyError, IndexError, TypeError):
            return None
    if not isinstance(node, dict | list) or not node.fa.flow_style():  # type: ignore[union-attr]
        return None
    keys = list(node) if isinstance(node, dict) else list(range(len(node)))
    if last not in keys:
        return None
    at = keys.index(last)
    for one, other in zip(keys[max(0, at - 1) : at + 1], keys[max(0, at - 1) + 1 :], strict=False):
        first = str(node[one])
        if isinstance(node, dict):
            second, cut = str(other), node[other] is None and first[-1:].isdigit()
        else:
            second, cut = str(node[other]), one == last and first.isdigit()
        if cut and second[:1].isdigit():
            return _Cut((*way, one), first, second, isinstance(node, dict))
    return None


def describe(raw: Any, place: Place) -> str:
    """Words for a place: the codes on the way to it, such as "units GREBE › joints intake"."""
    words, node = [], raw
    for key in place:
        try:
            node = node[key]
        except (KeyError, IndexError, TypeError):
            words.append(_in_short(str(key)))
            break
        if isinstance(key, int):
            label = _label(node)
            words[-1:] = [f"{words[-1] if words else ''} {label or f'no. {key + 1}'}".strip()]
        else:
            words.append(_in_short(str(key)))
    return " › ".join(words) or "file"


def _label(node: Any) -> str | None:
    if isinstance(node, dict):
        for key in ("code", "registration", "position", "item", "name", "joint"):
            if isinstance(node.get(key), str):
                return _in_short(node[key])
    return _in_short(node) if isinstance(node, str) else None


def _in_short(text: str) -> str:
    return " ".join(text.split())[:_SHOWN]


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
