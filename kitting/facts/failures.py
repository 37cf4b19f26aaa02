"""How a failure is told: why, and of several pieces how many: "1 of 3, spread"."""

from __future__ import annotations

import re
from typing import NamedTuple

_COUNTED = re.compile(r"(\d{1,6})\s+of\s+(\d{1,6})(?:\s*[,:;]\s*|\s*$)(.*)", re.IGNORECASE)


class Failure(NamedTuple):
    """So many pieces `failed` of so many that are there (None: nobody counted, all), and why."""

    failed: int | None
    pieces: int | None
    reason: str | None


def told_failure(text: str | None) -> Failure:
    """A failure as it is typed: "spread" or "1 of 3, spread"."""
    told = " ".join((text or "").split())
    match = _COUNTED.fullmatch(told)
    if match is None:
        return Failure(None, None, told or None)
    return Failure(int(match[1]), int(match[2]), match[3] or None)
