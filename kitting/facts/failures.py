"""How a failure is told: why, and of several pieces how many: "1 of 3, spread"."""

from __future__ import annotations

import re
from typing import NamedTuple

_PART = r"(\d{1,6})\s*(?:of|/)\s*(\d{1,6})"
_COUNTED = re.compile(rf"{_PART}(?![\w/.])[\s,:;]*(.*)", re.IGNORECASE)
_INSIDE = re.compile(rf"(?<![\w/.]){_PART}(?![\w/.])", re.IGNORECASE)


class Failure(NamedTuple):
    """So many pieces `failed` of so many that are there (None: nobody counted, all), and why."""

    failed: int | None
    pieces: int | None
    reason: str | None


def counted_late(reason: str, pieces: int) -> bool:
    """Whether a reason seems to say how many of so many pieces, not at its beginning.

    >>> counted_late("cut, 1 of 3", 3), counted_late("cut 1/2 way round", 3)
    (True, False)
    """
    return pieces > 1 and any(int(found[2]) == pieces for found in _INSIDE.finditer(reason))


def told_failure(text: str | None) -> Failure:
    """A failure as it is typed: "spread" or "1 of 3, spread"."""
    told = " ".join((text or "").split())
    match = _COUNTED.fullmatch(told)
    if match is None:
        return Failure(None, None, told or None)
    return Failure(int(match[1]), int(match[2]), match[3] or None)
