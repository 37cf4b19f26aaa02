"""Names: which known one is near, and the order in which people expect codes."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

_DIGITS = re.compile(r"(\d+)")


def nearest(name: str, names: Iterable[str], n: int = 3) -> list[str]:
    """Up to `n` known names that look like `name`, best first, capitals not minded."""
    known: dict[str, str] = {}
    for candidate in names:
        known.setdefault(candidate.casefold(), candidate)
    return [known[folded] for folded in get_close_matches(name.casefold(), known, n=n, cutoff=0.6)]


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key that puts A2 before A10.

    >>> sorted(["A10", "A2", "B1"], key=natural_key)
    ['A2', 'A10', 'B1']
    """
    return tuple(
        (0, int(part), "") if part.isdecimal() else (1, 0, part.casefold())
        for part in _DIGITS.split(text)
        if part
    )
