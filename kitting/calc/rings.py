"""Rings: which size was measured, how a gland squeezes one, how far one has set."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from kitting.errors import FigureError
from kitting.facts.rings import RingSize

# What a used ring may have done (our model): stretched on its inside, which thins the section by
# half as much, and swollen, here told as volume, which adds a third of it to every length.
USED_STRETCH, USED_SWELL = 0.03, 0.05
CALLIPER = 0.1  # mm: how far a ring is measured off


@dataclass(frozen=True, slots=True)
class Match:
    """A size that may have been measured: how far off (1 = just within reach), and why."""

    size: RingSize
    distance: float
    why: str


def match_sizes(
    sizes: Iterable[RingSize],
    inside: float,
    section: float,
    used: bool = False,
    error: float = CALLIPER,
    most: int = 5,
) -> tuple[Match, ...]:
    """The sizes that a measured ring may be, the likeliest first; lengths in mm.

    A new ring lies within its tolerance and the error of measuring. A used one may have stretched
    and swollen by USED_STRETCH and USED_SWELL, so larger insides are possible. Raises FigureError
    for lengths that are none.
    """
    if not (0 < inside < 10_000 and 0 < section < 100 and error >= 0):
        raise FigureError("an inside diameter and a section in mm are more than nothing")
    found = [_match(size, inside, section, used, error) for size in sizes]
    return tuple(sorted(found, key=lambda match: (match.distance, match.size.dash))[:most])


def _match(size: RingSize, inside: float, section: float, used: bool, error: float) -> Match:
    swell = USED_SWELL / 3 if used else 0.0
    stretch = USED_STRETCH if used else 0.0
    inside_reach = _reach(
        inside,
        size.inside - size.inside_tolerance - error,
        (size.inside + size.inside_tolerance) * (1 + stretch) * (1 + swell) + error,
    )
    section_reach = _reach(
        section,
        (size.section - size.section_tolerance) * (1 - stretch / 2) - error,
        (size.section + size.section_tolerance) * (1 + swell) + error,
    )
    words = []
    if used and inside > size.inside + size.inside_tolerance + error:
        words.append("stretched or swollen")
    if max(inside_reach, section_reach) > 1:
        words.append("out of reach of its tolerance")
    off = f"inside {inside - size.inside:+.2f}, section {section - size.section:+.2f} mm"
    return Match(size, inside_reach + section_reach, "; ".join([off, *words]))


def _reach(measured: float, low: float, high: float) -> float:
    """How far from the middle of what is possible: 1 at its edges."""
    return abs(measured - (low + high) / 2) / ((high - low) / 2)


@dataclass(frozen=True, slots=True)
class Band:
    """The least and the most of a share, in percent."""

    least: float
    most: float


def squeeze(section: float, tolerance: float, shallowest: float, deepest: float) -> Band:
    """Squeeze of a section in a gland, worst cases, percent; lengths in mm.

    >>> band = squeeze(3.53, 0.10, 2.79, 2.95)
    >>> round(band.least, 1), round(band.most, 1)
    (14.0, 23.1)
    """
    _rising(shallowest, deepest)
    thin, thick = section - tolerance, section + tolerance
    return Band(100 * (thin - deepest) / thin, 100 * (thick - shallowest) / thick)


def stretch(inside: float, tolerance: float, groove: float) -> Band:
    """Stretch of a ring on a groove or rod diameter, worst cases, percent."""
    small, large = inside - tolerance, inside + tolerance
    return Band(100 * (groove - large) / large, 100 * (groove - small) / small)


def fill(section: float, tolerance: float, shallowest: float, deepest: float, width: float) -> Band:
    """How much of a gland a section fills, worst cases, percent."""
    _rising(shallowest, deepest)
    if width <= 0:
        raise FigureError("a groove is wider than nothing")
    areas = [math.pi / 4 * (section + sign * tolerance) ** 2 for sign in (-1, 1)]
    return Band(100 * areas[0] / (deepest * width), 100 * areas[1] / (shallowest * width))


def _rising(shallowest: float, deepest: float) -> None:
    if not 0 < shallowest <= deepest:
        raise FigureError("give the shallowest gland first, then the deepest, in mm")


def compression_set(new: float, used: float, depth: float) -> float:
    """Compression set in percent (ISO 815, ASTM D395): (new − used)/(new − gland depth).

    Published limits are limits of material tests, not for going back on.

    >>> round(compression_set(2.50, 2.24, 1.95))
    47
    """
    if not 0 < depth < new or not used > 0:
        raise FigureError("the gland is shallower than the new section, and none is nothing")
    return 100 * (new - used) / (new - depth)
