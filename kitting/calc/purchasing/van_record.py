"""What was seen of vans between branches: no chance follows from it, it is told beside one.

Nobody states how surely a van of our own keeps its day, and few are seen: a belief from the count
alone would call a van that was punctual every time unsafe for months. So the count is told, and the
chance of the rest is called "at most".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class VanRecord:
    """Of `seen` vans of one way so many were `punctual`: here on their day."""

    seen: int = 0
    punctual: int = 0


def van_record(came: Iterable[tuple[date, date]]) -> VanRecord:
    """How many of some vans came on their day; `came` has the day due and the day here of each.

    >>> friday, monday = date(2026, 4, 10), date(2026, 4, 13)
    >>> van_record([(friday, friday), (friday, monday)])
    VanRecord(seen=2, punctual=1)
    """
    kept = [here <= due for due, here in came]
    return VanRecord(len(kept), sum(kept))
