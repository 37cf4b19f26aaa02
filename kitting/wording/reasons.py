"""Reasons in words: one text for every code, `{name}` filled in with the value of that name.

`{name:%a %d %b}` or `{name:.3g}` reads a date or a figure in another way than usual.
"""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.reasons import Reason, ReasonCode
from kitting.wording.figures import figure

_TEXTS: dict[type[ReasonCode], Mapping[ReasonCode, str]] = {}


def register(texts: Mapping[ReasonCode, str]) -> None:
    """Add the texts of one list of reasons; raises ValueError if a code has none."""
    kind = type(next(iter(texts)))
    if missing := set(kind) - set(texts):
        raise ValueError(f"{kind.__name__} lacks a text for {sorted(missing)}")
    _TEXTS[kind] = texts


def say(reason: Reason) -> str:
    """A reason as a sentence, without a full stop at its end."""
    text = _TEXTS[type(reason.code)][reason.code]
    return text.format(**{name: _Filled(value) for name, value in reason.values})


class _Filled:
    """A value as it stands in a sentence, or as the sentence asks for it."""

    def __init__(self, value: object) -> None:
        self.value = value

    def __format__(self, asked: str) -> str:
        return format(self.value, asked) if asked else _filled(self.value)


def _filled(value: object) -> str:
    if isinstance(value, Reason):
        return say(value)
    if isinstance(value, tuple) and value and isinstance(value[0], Reason):
        return "; ".join(say(part) for part in value if isinstance(part, Reason))
    return figure(value)
