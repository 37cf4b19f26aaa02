"""Ring sizes: SAE AS568, the same sizes as the inch sizes of ISO 3601-1 (class A tolerances).

Read from two public tables that agree but for five sizes; where they do not, `note` gives both
values. ISO 3601-1 class B tolerances are wider.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class RingSize:
    """A standard size: inside diameter and section in mm with their tolerances (±)."""

    dash: str
    inside: float
    inside_tolerance: float
    section: float
    section_tolerance: float
    note: str | None = None

    def __str__(self) -> str:
        return f"AS568-{self.dash}, {self.inside:.2f} × {self.section:.2f} mm"


@lru_cache(maxsize=1)
def standard_sizes() -> tuple[RingSize, ...]:
    """Every size of the table, in order of its dash number."""
    text = (files("kitting.facts") / "as568.csv").read_text("utf-8")
    return tuple(
        RingSize(
            row["dash"],
            float(row["inside"]),
            float(row["inside_tolerance"]),
            float(row["section"]),
            float(row["section_tolerance"]),
            row["note"] or None,
        )
        for row in csv.DictReader(text.splitlines())
    )
