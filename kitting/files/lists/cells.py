"""How cells of lists are read: codes, short words, names, days. Each raises FigureError."""

from __future__ import annotations

from kitting.errors import FigureError
from kitting.facts.bounds import CODE_SIGNS, WORD_SIGNS, one_line
from kitting.facts.days import parse_day as day


def code(text: str) -> str:
    """A code without blanks, of CODE_SIGNS at most."""
    if len(text) > CODE_SIGNS or any(char.isspace() or not char.isprintable() for char in text):
        raise FigureError(
            "{text!r} is no code; use letters, digits and hyphens, {most} at most",
            text=text[:40],
            most=CODE_SIGNS,
        )
    return text


def word(text: str) -> str:
    """A short text of WORD_SIGNS at most."""
    return one_line(text, WORD_SIGNS)


def name(text: str) -> str:
    """A text of one line, of NAME_SIGNS at most."""
    return one_line(text)


__all__ = ["code", "day", "name", "word"]
