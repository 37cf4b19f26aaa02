"""Reasons in words: one text for every code, `{name}` filled in with the value of that name.

`{name:%a %d %b}` or `{name:.3g}` reads a date or a figure in another way than usual, `{name: + }`
joins several values so, `{name:many drop}` counts with a noun, `{name:times}` says "twice",
`{name:minutes}` a time, `{name:mm}` a length, `{name:chance}` a chance, `{name:rounded}` an amount
at a glance, `{name:called}` what a word is called, and `{name:general}` a name or text that may
come with the program, or several of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from importlib import import_module
from typing import Any

from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.units import Quantity
from kitting.facts.words import Word
from kitting.wording.figures import (
    figure,
    many,
    millimetres,
    minutes,
    percent,
    show_quantity,
    times,
)
from kitting.wording.language import _, filled, general_text

# Which module has the texts for the reasons of a module: it is loaded when one of them is told.
WORDED_IN: Mapping[str, str] = {
    "kitting.facts.conditions": "plan",
    "kitting.facts.day_reasons": "work_day",
    "kitting.facts.doubt_reasons": "doubts",
    "kitting.facts.plan_reasons": "plan",
    "kitting.facts.ring_reasons": "rubber",
    "kitting.facts.scale_reasons": "settings",
    "kitting.facts.shelf_life": "rubber",
    "kitting.facts.tightening_reasons": "tightening",
    "kitting.facts.tool_reasons": "tools",
    "kitting.facts.torque_reasons": "torques",
    "kitting.views.booking_change": "booking_change",
    "kitting.views.bookings": "bookings",
    "kitting.views.catalogue": "catalogue",
    "kitting.views.closing": "closing",
    "kitting.views.completion": "advice",
    "kitting.views.kit": "kit",
    "kitting.views.purchasing": "purchasing",
    "kitting.views.stock": "stock",
    "kitting.views.strip": "strip",
    "kitting.views.today": "today",
    "kitting.views.upkeep": "upkeep",
    "kitting.views.work_day": "work_day",
}
_TEXTS: dict[type[ReasonCode], Mapping[ReasonCode, str]] = {}
_ENTRIES: dict[type[ReasonCode], Mapping[ReasonCode, str]] = {}
_AT_THE_BENCH = ContextVar("at the bench", default=False)
_NAMES: dict[tuple[type[Word], Word], str] = {}


def register(
    texts: Mapping[ReasonCode, str], entries: Mapping[ReasonCode, str] | None = None
) -> None:
    """Add the texts of one list of reasons; raises ValueError if a code has none.

    A text is for whoever stands at the bench too. `entries` is what only who keeps the catalogue
    has a use for: which entry would settle it, which figure may be meant.
    """
    kind = type(next(iter(texts)))
    if missing := set(kind) - set(texts):
        raise ValueError(f"{kind.__name__} lacks a text for {sorted(missing)}")
    _TEXTS[kind] = texts
    _ENTRIES[kind] = entries or {}


def register_names(names: Mapping[Word, str]) -> None:
    """Add what the words of one list are called in a sentence; ValueError if one has no name."""
    kind = type(next(iter(names)))
    if missing := set(kind) - set(names):
        raise ValueError(f"{kind.__name__} lacks a name for {sorted(missing)}")
    _NAMES.update({(kind, word): name for word, name in names.items()})


def texts_of_reasons() -> Iterator[str]:
    """Every text of a reason and every name of a word in a sentence, for whoever translates."""
    for module in sorted(set(WORDED_IN.values())):
        import_module(f"kitting.wording.{module}")
    for texts in _TEXTS.values():
        yield from texts.values()
    for entries in _ENTRIES.values():
        yield from entries.values()
    yield from _NAMES.values()


@contextmanager
def at_the_bench() -> Iterator[None]:
    """Say reasons for whoever works by them while inside, without the entries of a catalogue."""
    token = _AT_THE_BENCH.set(True)
    try:
        yield
    finally:
        _AT_THE_BENCH.reset(token)


def say(reason: Reason) -> str:
    """A reason as a sentence, without a full stop at its end.

    On a screen the entry that would settle it follows in brackets.
    """
    kind = type(reason.code)
    if kind not in _TEXTS:
        import_module(f"kitting.wording.{WORDED_IN[kind.__module__]}")
    values = {name: _Filled(value) for name, value in reason.values}
    text = _(_TEXTS[kind][reason.code]).format(**values)
    entry = None if _AT_THE_BENCH.get() else _ENTRIES[kind].get(reason.code)
    return text if entry is None else f"{text} ({_(entry).format(**values)})"


def as_text(value: str | Reason) -> str:
    """What is quoted of a source, or a reason in words where it has no text to quote."""
    return say(value) if isinstance(value, Reason) else general_text(value)


class _Filled:
    """A value as it stands in a sentence, or as the sentence asks for it."""

    def __init__(self, value: object) -> None:
        self.value = value

    def __format__(self, asked: str) -> str:
        if not asked:
            return _filled(self.value)
        if asked.startswith(_MANY) and isinstance(self.value, int):
            return many(self.value, asked.removeprefix(_MANY))
        for kind, name, tell in _ASKED:
            if asked == name and isinstance(self.value, kind):
                return tell(self.value)
        if isinstance(self.value, tuple):
            return asked.join(_filled(part) for part in self.value)
        return filled(self.value, asked)


_MANY = "many "
# What may be asked of a value: its type, the name, and how it is told then.
_ASKED: tuple[tuple[type, str, Callable[[Any], str]], ...] = (
    (int, "times", times),
    (int, "minutes", minutes),
    (float, "mm", millimetres),
    (float, "chance", percent),
    (str, "general", general_text),
    (Reason, "general", say),
    (tuple, "general", lambda names: ", ".join(map(general_text, names))),
    (Quantity, "rounded", lambda some: show_quantity(some.thousandths, some.unit)),
    (Word, "called", lambda word: _(_NAMES[type(word), word])),
)


def _filled(value: object) -> str:
    if isinstance(value, Reason):
        return say(value)
    if isinstance(value, tuple) and value and isinstance(value[0], Reason):
        return "; ".join(say(part) for part in value if isinstance(part, Reason))
    return figure(value)
