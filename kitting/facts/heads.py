"""Heads: what turns a fastener. The head is data, never guessed from the thread.

Sources of the sizes: hexagons ISO 4014, ISO 4017, ISO 4032 (ISO 272), flanges ISO 4162 and
ISO 15071, JIS B 1189, old JIS small hexagon; keys ISO 4762, ISO 7380-1, ISO 10642; six-lobe
ISO 14579, ISO 14580, ISO 14583 (drive ISO 10664); external six-lobe after DIN 34800, from memory.
Square drives ISO 1174-1; their practical limits are from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from kitting.errors import FigureError
from kitting.facts.names import natural_key, nearest


def _table(threads: str, sizes: str) -> dict[str, str]:
    return dict(zip(threads.split(), sizes.split(), strict=True))


STANDARDS: dict[str, dict[str, str]] = {
    "ISO 4014": _table(
        "M1.6 M2 M2.5 M3 M3.5 M4 M5 M6 M8 M10 M12 M14 M16 M18 M20 M22 M24 M27 M30 M33 M36",
        "3.2 4 5 5.5 6 7 8 10 13 16 18 21 24 27 30 34 36 41 46 50 55",
    ),
    "ISO 4162": _table("M5 M6 M8 M10 M12 M14 M16", "7 8 10 13 15 18 21"),
    "ISO 15071": _table("M5 M6 M8 M10 M12 M14 M16", "7 8 10 13 15 18 21"),
    "JIS B 1189": _table("M5 M6 M8 M10 M12 M14 M16", "7 8 10 13 15 18 21"),
    "JIS small hexagon": _table("M8 M10 M12 M14 M16", "12 14 17 19 22"),
    "ISO 4762": _table(
        "M1.6 M2 M2.5 M3 M4 M5 M6 M8 M10 M12 M14 M16 M20 M24",
        "1.5 1.5 2 2.5 3 4 5 6 8 10 12 14 17 19",
    ),
    "ISO 7380-1": _table("M3 M4 M5 M6 M8 M10 M12 M16", "2 2.5 3 4 5 6 8 10"),
    "ISO 10642": _table("M3 M4 M5 M6 M8 M10 M12 M16 M20", "2 2.5 3 4 5 6 8 10 12"),
    "ISO 14579": _table(
        "M2 M2.5 M3 M4 M5 M6 M8 M10 M12 M14 M16 M18 M20",
        "T6 T8 T10 T20 T25 T30 T45 T50 T55 T60 T70 T80 T90",
    ),
    "ISO 14580": _table("M2 M2.5 M3 M3.5 M4 M5 M6 M8 M10", "T6 T8 T10 T15 T20 T25 T30 T45 T50"),
    "ISO 14583": _table("M2 M2.5 M3 M3.5 M4 M5 M6 M8 M10", "T6 T8 T10 T15 T20 T25 T30 T45 T50"),
    "DIN 34800": _table("M5 M6 M8 M10 M12 M14 M16", "E6 E8 E10 E12 E14 E18 E20"),
}

_MM_HEXAGONS = (
    "3.2 4 4.5 5 5.5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 32"
    " 33 34 35 36 38 41 46 50 55 60 65 70 75"
).split()
_INCH_HEXAGONS = "1/4 5/16 11/32 3/8 7/16 1/2 9/16 5/8 11/16 3/4 13/16 7/8 15/16 1".split()


@dataclass(frozen=True, slots=True)
class _Profile:
    """How sizes of a profile are written, which exist, and what tool turns them."""

    sizes: tuple[str, ...]
    unit: str
    tool: str


def _mm(sizes: list[str]) -> tuple[str, ...]:
    return tuple(f"{size} mm" for size in sizes)


_HEXAGONS = (*_mm(_MM_HEXAGONS), *(f"{size} in" for size in _INCH_HEXAGONS))
_PROFILES: dict[str, _Profile] = {
    "hexagon": _Profile(_HEXAGONS, "mm", "socket"),
    "twelve-point": _Profile(_HEXAGONS, "mm", "twelve-point socket"),
    "hexagon socket": _Profile(
        _mm("1.3 1.5 2 2.5 3 4 5 6 7 8 9 10 11 12 14 17 19 22".split()), "mm", "hexagon bit"
    ),
    "six-lobe": _Profile(
        tuple(
            f"T{n}"
            for n in (6, 7, 8, 9, 10, 15, 20, 25, 27, 30, 40, 45, 50, 55, 60, 70, 80, 90, 100)
        ),
        "",
        "six-lobe bit",
    ),
    "external six-lobe": _Profile(
        tuple(f"E{n}" for n in (4, 5, 6, 7, 8, 10, 11, 12, 14, 16, 18, 20, 22, 24)),
        "",
        "external six-lobe socket",
    ),
    "triple-square": _Profile(
        tuple(f"M{n}" for n in (4, 5, 6, 8, 9, 10, 12, 14, 16, 18)), "", "triple-square bit"
    ),
    "cross": _Profile(("PH0", "PH1", "PH2", "PH3", "PZ1", "PZ2", "PZ3"), "", "cross-head bit"),
    "slot": _Profile(_mm("3 4 5.5 6.5 8 10".split()), "mm", "flat bit"),
}
PROFILES = tuple(_PROFILES)


@dataclass(frozen=True, slots=True)
class Head:
    """A profile and the size that turns it, such as hexagon "10 mm" or six-lobe "T45"."""

    profile: str
    size: str

    def __str__(self) -> str:
        return f"{self.profile} {self.size}"


def parse_head(text: str) -> Head:
    """Read "hexagon 10 mm", "hexagon socket 6 mm", "six-lobe T45", "external six-lobe E10" ….

    Raises FigureError for an unknown profile or a size that the profile does not come in, naming
    the nearest ones.
    """
    words = " ".join(text[:60].split())
    profile = max((p for p in _PROFILES if words.casefold().startswith(p)), key=len, default=None)
    if profile is None:
        near = nearest(words, PROFILES) or list(PROFILES)
        raise FigureError(f"{words!r} is no head known here. Profiles: {', '.join(near)}")
    facts = _PROFILES[profile]
    given = words[len(profile) :].strip()
    if facts.unit and re.fullmatch(r"[\d.]+", given):
        raise FigureError(f"{words!r} is a size without unit; write for example '{words} mm'")
    size = re.sub(r"\s*(mm|in)$", r" \1", given)
    size = size.upper() if not facts.unit else re.sub(r"\.0+ ", " ", size)
    if size not in facts.sizes:
        raise FigureError(
            f"{words!r}: {profile} does not come in {given or 'no size'}."
            f" Nearest: {', '.join(_near_sizes(given, facts.sizes))}"
        )
    return Head(profile, size)


def _near_sizes(given: str, sizes: tuple[str, ...]) -> list[str]:
    figure = re.search(r"\d+(?:\.\d+)?", given)
    if figure is None:
        return list(sizes[:5])
    wanted = Decimal(figure[0])

    def distance(size: str) -> tuple[Decimal, object]:
        number = re.search(r"\d+(?:\.\d+)?", size)
        return (abs(Decimal(number[0]) - wanted) if number else wanted, natural_key(size))

    same_unit = [size for size in sizes if size.endswith("in") == given.endswith("in")]
    return sorted(same_unit or list(sizes), key=distance)[:3]


def driver(head: Head) -> str:
    """The tool that turns a head: "socket 10 mm", "six-lobe bit T45".

    >>> driver(Head("external six-lobe", "E10"))
    'external six-lobe socket E10'
    """
    return f"{_PROFILES[head.profile].tool} {head.size}"


def standard_size(standard: str, thread: str) -> str | None:
    """The size a standard gives a thread ("8", "T45"), mm where it is a number; None if none.

    Raises FigureError for a standard that is not in STANDARDS.
    """
    if standard not in STANDARDS:
        raise FigureError(f"no table of {standard!r}; known: {', '.join(STANDARDS)}")
    return STANDARDS[standard].get(thread)


@dataclass(frozen=True, slots=True)
class SquareDrive:
    """A square drive: inch name, nominal mm, practical limit and ISO 6789 limit in N·m."""

    inch: str
    millimetres: Decimal
    practical_limit: Decimal | None
    standard_limit: Decimal


# ISO 1174-1 sizes; practical limits common practice from memory; ISO 6789 limits from memory.
SQUARE_DRIVES: tuple[SquareDrive, ...] = (
    SquareDrive("1/4", Decimal("6.3"), Decimal(30), Decimal(30)),
    SquareDrive("3/8", Decimal(10), Decimal(100), Decimal(135)),
    SquareDrive("1/2", Decimal("12.5"), Decimal(300), Decimal(340)),
    SquareDrive("3/4", Decimal(20), None, Decimal(1000)),
    SquareDrive("1", Decimal(25), None, Decimal(2100)),
)


def smallest_drive(newton_metres: Decimal) -> str:
    """The smallest square drive whose practical limit holds a torque (its standard limit where
    none is told); the largest drive beyond all limits."""
    for drive in SQUARE_DRIVES:
        if newton_metres <= (drive.practical_limit or drive.standard_limit):
            return drive.inch
    return SQUARE_DRIVES[-1].inch
