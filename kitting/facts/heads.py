"""Heads: what turns a fastener. The head is data, never guessed from the thread.

Sources of the sizes: hexagons ISO 272 and ISO 4014, ISO 4017, ISO 4032, flanges ISO 4162 and
ISO 15071, JIS B 1189, old JIS small hexagon; keys ISO 4762, ISO 7380-1, ISO 10642; six-lobe
ISO 14579, ISO 14580, ISO 14583 (drive ISO 10664); external six-lobe after DIN 34800, from memory.
Splined keys, squares, inch keys (ASME B18.3) and pinned six-lobes are from memory too. Square
drives ISO 1174-1; the torques of the standards are from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from kitting.errors import FigureError
from kitting.facts.names import natural_key, nearest
from kitting.facts.units import plain


def _table(threads: str, sizes: str) -> dict[str, str]:
    return dict(zip(threads.split(), sizes.split(), strict=True))


_ISO_HEXAGON = _table(
    "M1.6 M2 M2.5 M3 M3.5 M4 M5 M6 M8 M10 M12 M14 M16 M18 M20 M22 M24 M27 M30 M33 M36 M39 M42 M45"
    " M48 M52 M56 M60 M64",
    "3.2 4 5 5.5 6 7 8 10 13 16 18 21 24 27 30 34 36 41 46 50 55 60 65 70 75 80 85 90 95",
)
STANDARDS: dict[str, dict[str, str]] = {
    "ISO 272": _ISO_HEXAGON | {"M7": "11"},
    "ISO 4014": _ISO_HEXAGON,
    "ISO 4017": _ISO_HEXAGON,
    "ISO 4032": _ISO_HEXAGON,
    "ISO 4162": _table("M5 M6 M8 M10 M12 M14 M16", "7 8 10 13 15 18 21"),
    "ISO 15071": _table("M5 M6 M8 M10 M12 M14 M16", "7 8 10 13 15 18 21"),
    "JIS B 1189": _table("M5 M6 M8 M10 M12 M14 M16", "7 8 10 13 15 18 21"),
    "JIS small hexagon": _table("M8 M10 M12 M14 M16", "12 14 17 19 22"),
    "ISO 4762": _table(
        "M1.6 M2 M2.5 M3 M4 M5 M6 M8 M10 M12 M14 M16 M20 M24 M30 M36 M42 M48",
        "1.5 1.5 2 2.5 3 4 5 6 8 10 12 14 17 19 22 27 32 36",
    ),
    "ISO 7380-1": _table("M3 M4 M5 M6 M8 M10 M12 M16", "2 2.5 3 4 5 6 8 10"),
    "ISO 10642": _table("M3 M4 M5 M6 M8 M10 M12 M14 M16 M20", "2 2.5 3 4 5 6 8 10 10 12"),
    "ISO 14579": _table(
        "M2 M2.5 M3 M4 M5 M6 M8 M10 M12 M14 M16 M18 M20",
        "T6 T8 T10 T20 T25 T30 T45 T50 T55 T60 T70 T80 T90",
    ),
    "ISO 14580": _table("M2 M2.5 M3 M3.5 M4 M5 M6 M8 M10", "T6 T8 T10 T15 T20 T25 T30 T45 T50"),
    "ISO 14583": _table("M2 M2.5 M3 M3.5 M4 M5 M6 M8 M10", "T6 T8 T10 T15 T20 T25 T30 T45 T50"),
    "DIN 34800": _table("M5 M6 M8 M10 M12 M14 M16", "E6 E8 E10 E12 E14 E18 E20"),
}

# Sizes that tools are made in: those of the standards above and what the trade meets beside them
# (common practice, no source).
_MM_HEXAGONS = (
    "3.2 4 4.5 5 5.5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 32"
    " 33 34 35 36 37 38 39 41 42 43 46 50 55 60 65 70 75 80 85 90 95"
).split()
_INCH_HEXAGONS = (
    "1/4,5/16,11/32,3/8,7/16,1/2,9/16,5/8,11/16,3/4,13/16,7/8,15/16,1,1 1/16,1 1/8,1 3/16,1 1/4,"
    "1 5/16,1 3/8,1 7/16,1 1/2,1 9/16,1 5/8,1 11/16,1 3/4,1 13/16,1 7/8,2"
).split(",")
# ASME B18.3, from memory.
_INCH_KEYS = (
    "1/16 5/64 3/32 7/64 1/8 9/64 5/32 3/16 7/32 1/4 5/16 3/8 7/16 1/2 9/16 5/8 3/4 7/8 1"
).split()
# Of drain and filler plugs; from memory.
_SQUARES = (*(f"{n} mm" for n in (5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 17, 19, 22)),
            *(f"{n} in" for n in ("1/4", "5/16", "3/8", "7/16", "1/2", "5/8", "3/4")))  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Profile:
    """How sizes of a profile are written, which exist, and what tool turns them."""

    sizes: tuple[str, ...]
    unit: str
    tool: str


def _mm(sizes: list[str]) -> tuple[str, ...]:
    return tuple(f"{size} mm" for size in sizes)


def _inch(sizes: list[str]) -> tuple[str, ...]:
    return tuple(f"{size} in" for size in sizes)


def _numbered(letter: str, *numbers: int) -> tuple[str, ...]:
    return tuple(f"{letter}{number}" for number in numbers)


_HEXAGONS = (*_mm(_MM_HEXAGONS), *_inch(_INCH_HEXAGONS))
# T47 is no size of ISO 10664; the trade meets it (from memory).
_SIX_LOBES = _numbered(
    "T", 6, 7, 8, 9, 10, 15, 20, 25, 27, 30, 40, 45, 47, 50, 55, 60, 70, 80, 90, 100
)
_PROFILES: dict[str, _Profile] = {
    "hexagon": _Profile(_HEXAGONS, "mm", "socket"),
    "twelve-point": _Profile(_HEXAGONS, "mm", "twelve-point socket"),
    "hexagon socket": _Profile(
        (
            *_mm("1.3 1.5 2 2.5 3 4 5 6 7 8 9 10 11 12 13 14 16 17 18 19 22 24 27 32 36".split()),
            *_inch(_INCH_KEYS),
        ),
        "mm",
        "hexagon bit",
    ),
    "square": _Profile(_SQUARES, "mm", "four-point socket"),
    "square socket": _Profile(_SQUARES, "mm", "square bit"),
    "six-lobe": _Profile(_SIX_LOBES, "", "six-lobe bit"),
    "pinned six-lobe": _Profile(_SIX_LOBES, "", "hollow six-lobe bit"),
    "external six-lobe": _Profile(
        _numbered("E", 4, 5, 6, 7, 8, 10, 11, 12, 14, 16, 18, 20, 22, 24),
        "",
        "external six-lobe socket",
    ),
    "triple-square": _Profile(
        _numbered("M", 4, 5, 6, 8, 9, 10, 12, 14, 16, 18), "", "triple-square bit"
    ),
    "splined": _Profile(_numbered("M", 5, 6, 7, 8, 9, 10, 12, 13, 14), "", "splined bit"),
    "cross": _Profile(
        (*_numbered("PH", 0, 1, 2, 3, 4), *_numbered("PZ", 0, 1, 2, 3, 4)), "", "cross-head bit"
    ),
    "slot": _Profile(_mm("3 4 5.5 6.5 8 10".split()), "mm", "flat bit"),
}
PROFILES = tuple(_PROFILES)


def sizes_of(profile: str) -> tuple[str, ...]:
    """The sizes that a profile is made in, as they are written."""
    return _PROFILES[profile].sizes


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
    named = f"{words.casefold()} "
    profile = max((p for p in _PROFILES if named.startswith(f"{p} ")), key=len, default=None)
    if profile is None or len(text) > len(text[:60]):
        raise FigureError(_no_head(words))
    facts = _PROFILES[profile]
    given = words[len(profile) :].strip()
    if facts.unit and _NUMBER.fullmatch(given):
        unit = "in" if "/" in given else facts.unit
        raise FigureError(
            "{known!r} is a size without unit; write for example '{known} {unit}'",
            known=words,
            unit=unit,
        )
    size = _size_in(profile, given)
    if size not in facts.sizes:
        fault = f"{profile} does not come in {given}" if given else "the size is missing"
        sizes = ", ".join(_near_sizes(given, facts.sizes))
        raise FigureError(f"{words!r}: {fault}. {'Nearest' if given else 'Sizes begin'}: {sizes}")
    return Head(profile, size)


def _no_head(words: str) -> str:
    """What is said of a text that names no profile: every head that it may be, or the profiles."""
    found = _SIZE.search(words)
    given = found[0].strip() if found else ""
    name = (words[: found.start()] if found else words).strip().casefold()
    near = [one for one in PROFILES if name and one.startswith(name)] or nearest(name, PROFILES)
    fault = "is no head known here" if name else "is a size, and does not say of which profile"
    heads = [one for one in (near if name else PROFILES) if _comes_in(one, given)]
    if heads:
        may_be = [f"'{one} {_size_in(one, given)}'" for one in heads]
        which = ", whichever it is" if len(may_be) > 1 else ""
        return f"{words!r} {fault}; write {' or '.join(may_be)}{which}"
    known = ", ".join(near or PROFILES)
    return f"{words!r} {fault}. Profiles: {known}; write for example 'hexagon 13 mm'"


def _comes_in(profile: str, given: str) -> bool:
    return _size_in(profile, given) in _PROFILES[profile].sizes


def _size_in(profile: str, given: str) -> str:
    """A size as the profile has it; one without a unit in the unit that the profile goes by."""
    unit = _PROFILES[profile].unit
    if not unit:
        return given.upper()
    bare = _NUMBER.fullmatch(given) is not None
    return _size_as_listed(f"{given} {'in' if '/' in given else unit}" if bare else given)


# A fraction has no leading noughts, so that its lower half is never nothing.
_NUMBER = re.compile(r"(?:[0-9]{1,3}[ -])?[0-9]{1,6}/[1-9][0-9]{0,3}|[0-9]{1,6}(?:\.[0-9]{1,6})?")


_SIZE = re.compile(r"\s*\b[A-Za-z]{0,2}[0-9].*", re.DOTALL)


def _size_as_listed(given: str) -> str:
    """ "10.0mm" as "10 mm", '3/8"' as "3/8 in", '1-1/8"' as "1 1/8 in"; else as it is."""
    match = re.fullmatch(rf"({_NUMBER.pattern})\s?(mm|in|\"|″)", given, re.IGNORECASE)
    if match is None:
        return given
    figure = match[1].replace("-", " ") if "/" in match[1] else plain(Decimal(match[1]))
    return f"{figure} {'mm' if match[2].casefold() == 'mm' else 'in'}"


def _number(size: str) -> Fraction | None:
    match = _NUMBER.search(size)
    return mixed_number(match[0]) if match else None


def mixed_number(text: str) -> Fraction:
    """ "1 1/8", "1-1/8", "7/8" or "12.5" as a number."""
    return sum((Fraction(part) for part in text.replace("-", " ").split()), Fraction(0))


# Heads that are turned from outside: an open spanner goes on from the side.
_FROM_OUTSIDE = ("hexagon", "twelve-point", "square", "external six-lobe")


def from_outside(head: Head) -> bool:
    """Whether a tool goes round a head, not into it."""
    return head.profile in _FROM_OUTSIDE


def _near_sizes(given: str, sizes: tuple[str, ...]) -> list[str]:
    wanted = _number(given)
    if wanted is None:
        return list(sizes[:5])
    inches = _size_as_listed(given).endswith(" in")
    measured = {size: _number(size) for size in sizes if size.endswith(" in") == inches}
    away = {size: abs(number - wanted) for size, number in measured.items() if number is not None}
    return sorted(away, key=lambda size: (away[size], natural_key(size)))[:3] or list(sizes[:5])


def driver(head: Head, from_the_side: bool = False) -> str:
    """The tool that turns a head: "socket 10 mm", "six-lobe bit T45", "crowfoot 19 mm".

    >>> driver(Head("external six-lobe", "E10"))
    'external six-lobe socket E10'
    """
    tool = "crowfoot" if from_the_side else _PROFILES[head.profile].tool
    return f"{tool} {head.size}"


def standard_size(standard: str, thread: str) -> str | None:
    """The size a standard gives a thread ("8", "T45"), mm where it is a number; None if none.

    The thread is named by its diameter only ("M8"), as the tables of the standards name it.
    Raises FigureError for a standard that is not in STANDARDS.
    """
    if standard not in STANDARDS:
        raise FigureError(
            "no table of {standard!r}; known: {known}",
            standard=standard,
            known=", ".join(STANDARDS),
        )
    return STANDARDS[standard].get(thread)


@dataclass(frozen=True, slots=True)
class SquareDrive:
    """A square drive: inch name, nominal mm, and torques in N·m.

    `standard_limit` is the largest torque of a torque wrench with it (ISO 6789), `test_torque` what
    the driving parts are tested to (ISO 3315).
    """

    inch: str
    millimetres: Decimal
    standard_limit: Decimal
    test_torque: Decimal


# Sizes of ISO 1174-1. The torques that ISO 6789 and ISO 3315 give each square are from memory, not
# certain.
SQUARE_DRIVES: tuple[SquareDrive, ...] = (
    SquareDrive("1/4", Decimal("6.3"), Decimal(30), Decimal(62)),
    SquareDrive("3/8", Decimal(10), Decimal(135), Decimal(202)),
    SquareDrive("1/2", Decimal("12.5"), Decimal(340), Decimal(512)),
    SquareDrive("3/4", Decimal(20), Decimal(1000), Decimal(1412)),
    SquareDrive("1", Decimal(25), Decimal(2100), Decimal(2515)),
)
