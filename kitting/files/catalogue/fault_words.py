"""Our words for what the shape checker says in its own, and for the place it means."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from kitting.facts.days import no_day, says_less

if TYPE_CHECKING:
    from kitting.files.catalogue.lines import Place

SHOWN = 60
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_EMPTY_TEXT = "it is empty; write something, or leave it out"
_NO_LINES = ("model_type", "model_attributes_type")
_LINES = "lines of 'key: value' were expected"
_NUMBER, _WHOLE = "a number was expected", "a whole number was expected"
# By the type of a fault; `{name}` is filled in with what the checker tells of it.
_EMPTY = "nothing is written here, so it is unknown"
_WORDS: Mapping[str, str] = {
    "string_type": "text was expected; put it in quotes",
    "string_too_short": _EMPTY_TEXT,
    "string_too_long": "it is longer than {max_length} signs; shorten it",
    "int_type": _WHOLE,
    "int_parsing": _WHOLE,
    "int_parsing_size": _WHOLE,
    "int_from_float": _WHOLE,
    "float_type": _NUMBER,
    "float_parsing": _NUMBER,
    "finite_number": _NUMBER,
    "greater_than_equal": "at least {ge:g} was expected",
    "greater_than": "more than {gt:g} was expected",
    "less_than_equal": "at most {le:g} was expected",
    "less_than": "less than {lt:g} was expected",
    "bool_type": "true or false was expected",
    "bool_parsing": "true or false was expected",
    "enum": "known words are {expected}",
    "literal_error": "known words are {expected}",
    "tuple_type": "a list was expected, such as [one, two]",
    "model_type": _LINES,
    "model_attributes_type": _LINES,
    "dict_type": _LINES,
    "invalid_key": "a key has to be text; put it in quotes",
}
_PATTERNS: Mapping[str, str] = {
    "^[A-Z]{2}$": "two capital letters were expected, as in GB (ISO 3166)",
    "^[A-Z]{3}$": "three capital letters were expected, as in GBP (ISO 4217)",
}
_CODE = (
    "a code has letters, digits and . _ / - only, and begins with a letter or a digit; put a dash"
    " for a space"
)
# Where one of several shapes may stand, the checker names each: a class, or a word; and keys.
_BRANCH = re.compile(r"(?:\[key\]|chain\[|function-|literal\[|[A-Z][A-Za-z]+$|constrained-|str$).*")


def fault_text(fault: Mapping[str, Any]) -> str:
    """What is wrong with a value, with the value before it where it is short enough to show."""
    value = fault.get("input")
    message = _message(fault, value)
    shown = f"{str(value)[:SHOWN]!r}"
    told = not isinstance(value, str | int | float) or value == "" or shown in message
    return message if told else f"{shown}: {message}"


def _message(fault: Mapping[str, Any], value: object) -> str:
    kind, told = fault["type"], fault.get("ctx", {})
    if value is None and kind != "missing":
        return _EMPTY
    if kind.startswith("date"):
        shown = str(value)
        return "the calendar has no such day" if _DAY.fullmatch(shown) else no_day(shown)
    if kind == "string_pattern_mismatch":
        return _EMPTY_TEXT if value == "" else _PATTERNS.get(told["pattern"], _CODE)
    if kind in ("too_long", "too_short"):
        return _number_of_entries(told, value)
    if kind in _WORDS:
        return _WORDS[kind].format(**told)
    return str(fault["msg"]).removeprefix("Value error, ")


def codes_once(faults: Sequence[Any]) -> list[Any]:
    """The faults, each wrong code once: where it is defined, else where it stands first.

    A fault of a code that stands at other places too says at how many (`elsewhere`).
    """
    same: dict[object, list[Any]] = {}
    for fault in faults:
        wrong = fault["type"] == "string_pattern_mismatch" and fault["input"] != ""
        code = wrong and fault["ctx"]["pattern"] not in _PATTERNS
        same.setdefault(fault["input"] if code else id(fault), []).append(fault)
    return [
        {**min(found, key=lambda one: one["loc"][-1] != "code"), "elsewhere": len(found) - 1}
        for found in same.values()
    ]


def step_for(fault: Mapping[str, Any]) -> str:
    """What to do about a fault of a value."""
    if elsewhere := fault.get("elsewhere"):
        places = "the other place" if elsewhere == 1 else f"the {elsewhere} other places"
        return f"Correct it here, and at {places} where it stands"
    if fault["input"] is None:
        return "Write what it is"
    if fault["type"].startswith("date") and says_less(str(fault["input"])):
        return "Without the day leave this entry out: what it decides is then open, not guessed"
    return "Correct this entry"


def _number_of_entries(told: Mapping[str, Any], value: object) -> str:
    if isinstance(value, str | int):
        return f"it is longer than {told['max_length']} signs; shorten it"
    bound, limit = ("at most", told.get("max_length")), told.get("min_length")
    words, count = ("at least", limit) if limit is not None else bound
    noun = "entry was" if count == 1 else "entries were"
    return f"{words} {count} {noun} expected, not {told['actual_length']}"


def meant(faults: Sequence[Any]) -> list[Any]:
    """The faults without those that follow from others.

    Where one of several shapes may stand, lines of 'key: value' were not meant as a word, and a
    word was not meant as such lines. A list is not too short for entries that are faulty.
    """
    branched = [fault for fault in faults if fault["loc"] and _is_branch(fault["loc"][-1])]
    words = [fault for fault in branched if not isinstance(fault["input"], dict)]
    tried = set(map(id, branched))
    several = Counter(fault["loc"][:-1] for fault in words)
    return [
        fault
        for fault in faults
        if not _long_enough(fault)
        and (
            id(fault) not in tried
            or (
                fault["type"] not in ("string_type", "literal_error")
                if isinstance(fault["input"], dict)
                else several[fault["loc"][:-1]] < 2 or fault["type"] not in _NO_LINES
            )
        )
    ]


def _long_enough(fault: Mapping[str, Any]) -> bool:
    short = fault["type"] == "too_short"
    return short and bool(len(fault["input"]) >= fault["ctx"]["min_length"])


def _is_branch(key: object) -> bool:
    return isinstance(key, str) and _BRANCH.fullmatch(key) is not None


def without_branches(raw: Any, place: Place) -> Place:
    """A place of the file, without the names of the shapes that were tried there."""
    kept: list[str | int] = []
    node = raw
    for key in place:
        here = isinstance(node, dict) and key in node
        if _is_branch(key) and not here and kept:
            continue
        kept.append(key)
        try:
            node = node[key]
        except (KeyError, IndexError, TypeError):
            node = None
    return tuple(kept)


def describe(raw: Any, place: Place) -> str:
    """Words for a place: the codes on the way to it, such as "units GREBE › joints intake"."""
    words, node = [], raw
    for key in place:
        try:
            node = node[key]
        except (KeyError, IndexError, TypeError):
            words.append(in_short(str(key)))
            break
        if isinstance(key, int):
            label = _label(node)
            words[-1:] = [f"{words[-1] if words else ''} {label or f'no. {key + 1}'}".strip()]
        else:
            words.append(in_short(str(key)))
    return " › ".join(words) or "file"


def _label(node: Any) -> str | None:
    if isinstance(node, dict):
        for key in ("code", "registration", "position", "item", "name", "joint"):
            if isinstance(node.get(key), str):
                return in_short(node[key])
    return in_short(node) if isinstance(node, str) else None


def in_short(text: str) -> str:
    return " ".join(text.split())[:SHOWN]
