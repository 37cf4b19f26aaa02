"""How cells of lists are read: codes, short words, names, days. Each raises FigureError."""

from __future__ import annotations

from datetime import date

from kitting.errors import FigureError
from kitting.facts.bounds import possible_day


def code(text: str) -> str:
    """A code without blanks, 40 characters at most."""
    if len(text) > 40 or any(char.isspace() or not char.isprintable() for char in text):
        raise FigureError(f"{text[:40]!r} is no code; use letters, digits and hyphens, 40 at most")
    return text


def word(text: str) -> str:
    """A short text, 20 characters at most."""
    if len(text) > 20 or not text.isprintable():
        raise FigureError(f"{text[:40]!r} is longer than 20 characters; shorten it")
    return text


def name(text: str) -> str:
    """A text of one line, 200 characters at most."""
    if len(text) > 200 or not text.isprintable():
        raise FigureError("the text is longer than 200 characters; shorten it")
    return text


def day(text: str) -> date:
    """A day as 2026-04-15, of a year in which a workshop has to do with it."""
    try:
        found = date.fromisoformat(text)
    except ValueError as error:
        raise FigureError(f"{text[:40]!r} is no date; write for example 2026-04-15") from error
    return possible_day(found)
