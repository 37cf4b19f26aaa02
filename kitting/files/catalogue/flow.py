"""Values that are no single text, as they stand in one cell: `A1, A2`, `motor-brake: true`."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

_WORD = r"[A-Za-z][A-Za-z0-9 ._/°·²+×-]*[A-Za-z0-9°·²]|[A-Za-z]"
_FIGURE = r"[0-9]+(?:\.[0-9]+)? ?(?:°|[A-DF-Za-df-z][A-Za-z·²/]*)"  # with its unit; 1e5 is none
_PLAIN = re.compile(f"{_WORD}|{_FIGURE}")
_WORDS = frozenset({"yes", "no", "on", "off", "true", "false", "null", "y", "n"})
_CODE = "[A-Za-z0-9][A-Za-z0-9._/ -]*"
_CODES = re.compile(f"{_CODE}(?:,[ ]*{_CODE})*")


def flow_text(value: Any) -> str:
    """A value as YAML in one line."""
    if isinstance(value, Mapping):
        return f"{{{map_text(value)}}}"
    if isinstance(value, list | tuple):
        return f"[{list_text(value)}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return plain_text(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def list_text(values: Any) -> str:
    """The entries of a list, without brackets."""
    return ", ".join(map(flow_text, values))


def map_text(values: Mapping[Any, Any]) -> str:
    """The entries of a mapping, without braces."""
    return ", ".join(f"{flow_text(key)}: {flow_text(value)}" for key, value in values.items())


def plain_text(text: str) -> str:
    """A text as a plain scalar where YAML reads it as the same text, else in quotes."""
    plain = _PLAIN.fullmatch(text) and text.casefold() not in _WORDS
    return text if plain else quoted(text)


def quoted(text: str) -> str:
    """A text in the quotes of YAML."""
    return json.dumps(text, ensure_ascii=False)


def plain_codes(text: str) -> list[str] | None:
    """The entries of a list of texts that is plain; None for what YAML has to read."""
    found = [one.strip() for one in text.split(",")]
    if _CODES.fullmatch(text) and not any(one.casefold() in _WORDS for one in found):
        return found
    return None
