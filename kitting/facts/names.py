"""Names: which known one is near, and the order in which people expect codes."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

_MOST_COMPARED = 2_000
_DIGITS = re.compile(r"([0-9]+)")
_NUMBER = re.compile(r"([A-Z]?)([0-9]{1,18})")


def nearest(name: str, names: Iterable[str], n: int = 3) -> list[str]:
    """Up to `n` known names that look like `name`, best first, capitals not minded.

    Among very many names only those that begin like `name` are compared: a long list of wrong names
    has to be refused soon, too.
    """
    known: dict[str, str] = {}
    for candidate in names:
        known.setdefault(candidate.casefold(), candidate)
    asked, alike = name.casefold(), list(known)
    for length in range(1, len(asked) + 1):
        if len(alike) <= _MOST_COMPARED:
            break
        alike = [folded for folded in alike if folded.startswith(asked[:length])]
    alike = alike[:_MOST_COMPARED]
    return [known[folded] for folded in get_close_matches(asked, alike, n=n, cutoff=0.6)]


def hint(name: str, known: Iterable[str], otherwise: str) -> str:
    """ "Did you mean …?" with the near names, else what to do instead."""
    near = nearest(name, known)
    return f"Did you mean {' or '.join(near)}?" if near else otherwise


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key that puts A2 before A10 and minds no capitals; different texts never tie.

    >>> sorted(["A10", "A2", "B1"], key=natural_key)
    ['A2', 'A10', 'B1']
    """
    return (*(_part(part) for part in _DIGITS.split(text) if part), (-1, 0, text))


def _part(part: str) -> tuple[int, int, str]:
    if not _DIGITS.fullmatch(part):
        return (1, 0, part.casefold())
    digits = part.lstrip("0")  # compared by length first: as numbers, however long
    return (0, len(digits), digits)


def ending_so(asked: str, numbers: Iterable[str]) -> list[str]:
    """The numbers that end with some digits, with or without their letter, in the order given.

    One whose digits are all of them is the only one that is meant.

    >>> ending_so("1", ["B0001", "B0011"]), ending_so("B0001", ["B0001", "B10001"])
    (['B0001', 'B0011'], ['B0001'])
    """
    short = _NUMBER.fullmatch(asked)
    if short is None:
        return []
    letter, digits = short.groups()
    known = [number for text in numbers if (number := _NUMBER.fullmatch(text)) is not None]
    found = [
        number
        for number in known
        if letter in ("", number[1]) and int(number[2]) % 10 ** len(digits) == int(digits)
    ]
    whole = [number for number in found if number[2] == digits]
    return [number[0] for number in whole or found]


def same_number(one: str, other: str) -> bool:
    """Whether two numbers of papers are the same, however they are spaced and in whichever case.

    >>> same_number("CN-88 a", " cn-88A")
    True
    """
    return "".join(one.split()).casefold() == "".join(other.split()).casefold()
