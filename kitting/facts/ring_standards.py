"""Ring sizes and glands: standard sizes with their tolerances, and guidance with its sources.

Sizes: SAE AS568, the same sizes as the inch sizes of ISO 3601-1 (class A tolerances). Read from two
public tables that agree but for five sizes; where they do not, `note` gives both values. ISO 3601-1
class B tolerances are wider. Guidance: glands.csv, each row with its source and how sure it is.
"""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from kitting.errors import FigureError
from kitting.facts.names import nearest
from kitting.facts.ring_reasons import GlandShare

USES = ("static", "reciprocating", "rotary")
# Nominal sizes that differ by more are other rings: 17.0 × 2.5 is not 17.12 × 2.62.
SAME_INSIDE, SAME_SECTION = 50, 50  # thousandths of a mm
# No published size has a section of more than 2.12 times its inside (SAE AS568-102: 2.62 mm on 1.24
# mm). Beyond this, inside and section are swapped or mistyped.
MOST_SECTION = 2.5


@dataclass(frozen=True, slots=True)
class Ring:
    """Any ring: its name, inside diameter and section in mm with their tolerances (±)."""

    name: str
    inside: float
    inside_tolerance: float
    section: float
    section_tolerance: float


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

    @property
    def name(self) -> str:
        """The size as it is written to a reader."""
        return str(self)

    @property
    def ring(self) -> Ring:
        """The size as a ring of its own tolerances."""
        return Ring(
            str(self), self.inside, self.inside_tolerance, self.section, self.section_tolerance
        )


@dataclass(frozen=True, slots=True)
class Guidance:
    """What a source says about a quantity of a gland, in percent; None where it sets no limit.

    `judged` says whether the worst case or the nominal one is held against it. Rows that do not
    decide are further advice, or sources that differ.
    """

    quantity: GlandShare
    least: float | None
    most: float | None
    decides: bool
    judged: str
    about: str
    source: str
    certainty: str


def is_opinion(certainty: str) -> bool:
    """Whether a row is from memory or common practice: outside it, its maker is asked."""
    return certainty in ("from memory", "common practice, no source")


def _read(name: str) -> list[dict[str, str]]:
    text = (files("kitting.facts") / name).read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@lru_cache(maxsize=1)
def standard_sizes() -> tuple[RingSize, ...]:
    """Every size of the table, in order of its dash number; mm (SAE AS568)."""
    return tuple(
        RingSize(
            row["dash"],
            float(row["inside"]),
            float(row["inside_tolerance"]),
            float(row["section"]),
            float(row["section_tolerance"]),
            row["note"] or None,
        )
        for row in _read("as568.csv")
    )


def require_size(dash: str) -> RingSize:
    """The standard size of a dash number such as "214", "AS568-214" or "14" for 014.

    Raises FigureError naming near numbers if the table has none such.
    """
    bare = dash.strip().upper().removeprefix("AS568").lstrip("-ABCDEF ").zfill(3)
    sizes = {size.dash: size for size in standard_sizes()}
    if bare not in sizes:
        near = nearest(bare, sizes, loosely=True) or ["001", "214", "475"]
        raise FigureError(
            "{dash!r} is no dash number of AS568 held here. Near: {near}. Give inside and section"
            " instead if the ring is metric",
            dash=dash,
            near=", ".join(near),
        )
    return sizes[bare]


@lru_cache(maxsize=len(USES))
def guidance(use: str) -> tuple[Guidance, ...]:
    """What sources state about a gland for one of USES: rows of glands.csv, each with its source.

    Raises FigureError for another use.
    """
    if use not in USES:
        raise FigureError(
            "{use!r} is no use of a gland; use one of {uses}", use=use, uses=", ".join(USES)
        )
    return tuple(
        Guidance(
            GlandShare(row["quantity"]),
            float(row["least"]) if row["least"] else None,
            float(row["most"]) if row["most"] else None,
            row["decides"] == "yes",
            row["judged"],
            row["about"],
            row["source"],
            row["certainty"],
        )
        for row in _read("glands.csv")
        if use in row["uses"].split()
    )


_SERIES = 10  # a section of fewer standard sizes belongs to tube fittings and odd small rings
_LARGEST_SHARE = 0.1


@lru_cache(maxsize=1)
def _long_series() -> dict[float, tuple[RingSize, ...]]:
    """The sizes of every section that has many, both from small to large."""
    counts = Counter(size.section for size in standard_sizes())
    sized = sorted(standard_sizes(), key=lambda size: size.inside)
    return {
        section: tuple(size for size in sized if size.section == section)
        for section in sorted(found for found, count in counts.items() if count >= _SERIES)
    }


def borrowed(name: str, inside: float, section: float) -> Ring:
    """A ring of any size (mm) with the tolerances of a standard one that is at least as large.

    Our model for metric rings, whose maker's tolerances are not held: the section's tolerance is
    that of the next thicker section of the long standard series, the inside's that of the next
    larger inside in it; beyond the table, those of its largest; never more than a tenth of either.
    The maker's tolerances go before.
    """
    sections = _long_series()
    thicker = next((found for found in sections if found >= section), max(sections))
    series = sections[thicker]
    larger = next((size for size in series if size.inside >= inside), series[-1])
    return Ring(
        name,
        inside,
        min(larger.inside_tolerance, inside * _LARGEST_SHARE),
        section,
        min(larger.section_tolerance, section * _LARGEST_SHARE),
    )
