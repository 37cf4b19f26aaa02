"""Rings: which size was measured, which measurement would decide, how far one has set."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kitting.calc.rubber.glands import CALLIPER_HARD, Gland, Suit, suits
from kitting.errors import FigureError
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.ring_reasons import DecidedBy, DeciderReason, GaugeReason
from kitting.facts.ring_standards import Guidance, Ring, RingSize

# What a used ring may have done, up to so much of each (our model): stretched on its inside, which
# thins the section by half as much; swollen, given as volume, a third of which is added to every
# length; set, which thins the section. Beyond that no size is held to be within reach.
USED_STRETCH, USED_SWELL, USED_SET = 0.03, 0.05, 0.20
_USED: Mapping[str, Value] = {
    "stretch": round(100 * USED_STRETCH),
    "swell": round(100 * USED_SWELL),
    "set": round(100 * USED_SET),
}
CALLIPER = 0.1  # mm: how far a ring, being soft, is measured off
FINEST = 0.01  # mm: no gauge of a workshop measures a soft ring closer


@dataclass(frozen=True, slots=True)
class Measured:
    """A ring as measured: inside and section in mm, whether it was fitted, how far it may be off.

    Raises FigureError for lengths that are not positive.
    """

    inside: float
    section: float
    used: bool = False
    error: float = CALLIPER

    def __post_init__(self) -> None:
        """Raise FigureError for lengths that are not positive."""
        if not (0 < self.inside < 10_000 and 0 < self.section < 100 and 0 <= self.error < 10):
            raise FigureError("an inside diameter and a section in mm are more than 0")


@dataclass(frozen=True, slots=True)
class Match:
    """A ring that may have been measured, and how far off each length is.

    Reaches are shares of half the band in which the measurement may lie: 1 is just within reach.
    `inside_off` and `section_off` are what was measured less the nominal size, in mm; `stretched`
    says that the inside of a used ring is larger than its tolerance explains.
    """

    size: RingSize | Ring
    inside_reach: float
    section_reach: float
    inside_off: float
    section_off: float
    stretched: bool

    @property
    def distance(self) -> float:
        """Both reaches together."""
        return self.inside_reach + self.section_reach

    @property
    def within(self) -> bool:
        """Whether both lengths are within reach of tolerance and error of measuring."""
        return max(self.inside_reach, self.section_reach) <= 1


def match_sizes(
    sizes: Iterable[RingSize | Ring], measured: Measured, most: int = 5
) -> tuple[Match, ...]:
    """The sizes that a measured ring may be, the likeliest first.

    A new ring lies within its tolerance and the error of measuring. A used one may have stretched,
    swollen and set by USED_STRETCH, USED_SWELL and USED_SET: larger insides and thinner sections
    are possible. What is out of reach comes after all that is within; equals stay in the order
    given.
    """
    found = (match(size, measured) for size in sizes)
    return tuple(sorted(found, key=lambda one: (not one.within, one.distance))[:most])


def match(size: RingSize | Ring, measured: Measured) -> Match:
    """How far a measured ring is off one of a size."""
    error = measured.error
    swell = USED_SWELL / 3 if measured.used else 0.0
    stretch = USED_STRETCH if measured.used else 0.0
    thinnest = (1 - stretch / 2) * (1 - USED_SET) if measured.used else 1.0
    inside_reach = _reach(
        measured.inside,
        size.inside - size.inside_tolerance - error,
        (size.inside + size.inside_tolerance) * (1 + stretch) * (1 + swell) + error,
    )
    section_reach = _reach(
        measured.section,
        (size.section - size.section_tolerance) * thinnest - error,
        (size.section + size.section_tolerance) * (1 + swell) + error,
    )
    return Match(
        size=size,
        inside_reach=inside_reach,
        section_reach=section_reach,
        inside_off=measured.inside - size.inside,
        section_off=measured.section - size.section,
        stretched=measured.used and measured.inside > size.inside + size.inside_tolerance + error,
    )


def _reach(measured: float, low: float, high: float) -> float:
    """How far from the middle of what is possible: 1 at its edges."""
    if high <= low:  # neither tolerance nor error: nothing but the size itself
        return 0.0 if measured == low else math.inf
    return abs(measured - (low + high) / 2) / ((high - low) / 2)


@dataclass(frozen=True, slots=True)
class Decider:
    """The measurement that tells the first of a ranked list from the second.

    `first` and `second` are the lengths of `what` in mm where the ring's own decide; `within` is
    how close it must be measured, ±mm (None: no gauge would do, or any does); `settled` tells
    whether what was measured decides already.
    """

    what: DecidedBy
    first: float | None
    second: float | None
    within: float | None
    settled: bool
    reason: Reason


@dataclass(frozen=True, slots=True)
class Difference:
    """What tells two rings apart best: both lengths in mm, and how close to measure, ±mm.

    How close: half of what lies between their tolerances, in whole hundredths, rounded down; 0 or
    less where the tolerances overlap.
    """

    what: DecidedBy
    first: float
    second: float
    within: float

    @property
    def overlapping(self) -> bool:
        """Whether no gauge of a workshop tells the two apart."""
        return self.within < FINEST


def difference(first: RingSize | Ring, second: RingSize | Ring) -> Difference:
    """What tells two rings apart best, inside or section; the same for both orders."""
    inside = _between(first.inside, second.inside, first.inside_tolerance + second.inside_tolerance)
    section = _between(
        first.section, second.section, first.section_tolerance + second.section_tolerance
    )
    if inside >= section:
        return Difference(DecidedBy.INSIDE, first.inside, second.inside, inside)
    return Difference(DecidedBy.SECTION, first.section, second.section, section)


def _between(one: float, other: float, tolerances: float) -> float:
    return math.floor(round((abs(one - other) - tolerances) / 2 / FINEST, 6)) * FINEST


def decider(matches: Sequence[Match], measured: Measured) -> Decider:
    """What tells the first match from the second, and whether the measurement taken can.

    A used ring never decides: groove and bore do.
    """
    if not matches:
        return Decider(
            DecidedBy.GROOVE_AND_BORE, None, None, None, False, because(DeciderReason.NO_SIZE)
        )
    first = matches[0]
    if measured.used:
        return _by_gland(
            _of_used(matches) if first.within else because(DeciderReason.USED_OUT_OF_REACH, **_USED)
        )
    if not first.within:
        return _by_gland(because(DeciderReason.OUT_OF_REACH))
    if len(matches) == 1:
        only = because(DeciderReason.ONLY_ONE)
        return Decider(DecidedBy.INSIDE, first.size.inside, None, None, True, only)
    return _of_two(first, matches[1], measured.error)


def _by_gland(reason: Reason) -> Decider:
    return Decider(DecidedBy.GROOVE_AND_BORE, None, None, CALLIPER_HARD, False, reason)


def _two(
    code: DeciderReason, rings: Sequence[RingSize | Ring], found: Difference, **more: Value
) -> Reason:
    """A reason that names two rings with the lengths that tell them apart."""
    first, second = rings
    return because(
        code,
        first=first.name,
        second=second.name,
        what=found.what,
        one=found.first,
        other=found.second,
        **more,
    )


def _of_two(first: Match, second: Match, error: float) -> Decider:
    rings = (first.size, second.size)
    if not second.within:
        by_inside = second.inside_reach >= second.section_reach
        found = (
            Difference(DecidedBy.INSIDE, first.size.inside, second.size.inside, error)
            if by_inside
            else Difference(DecidedBy.SECTION, first.size.section, second.size.section, error)
        )
        reason = _two(DeciderReason.DECIDED, rings, found, error=error)
        return Decider(found.what, found.first, found.second, error, True, reason)
    found = difference(*rings)
    if found.overlapping:
        reason = _two(DeciderReason.OVERLAPPING, rings, found)
        return Decider(
            DecidedBy.GROOVE_AND_BORE, found.first, found.second, CALLIPER_HARD, False, reason
        )
    reason = _two(DeciderReason.MEASURE_FINER, rings, found, within=found.within, error=error)
    return Decider(found.what, found.first, found.second, found.within, False, reason)


def _of_used(matches: Sequence[Match]) -> Reason:
    if len(matches) < 2:
        return because(DeciderReason.USED, **_USED)
    first, second = (one.size for one in matches[:2])
    return _two(DeciderReason.USED_TWO, (first, second), difference(first, second), **_USED)


@dataclass(frozen=True, slots=True)
class Placed:
    """A ring judged for a gland, and how what was measured lies to it (None: nothing was)."""

    suit: Suit
    match: Match | None


def place(
    rings: Iterable[Ring], gland: Gland, rows: Sequence[Guidance], measured: Measured | None = None
) -> tuple[Placed, ...]:
    """Rings for a gland, the likeliest first: the gland decides, then what was measured.

    Rings that suit come first; among them, and among those ruled out, the ones within reach of the
    measured ring; then in the order of `suits`.
    """
    found = [
        Placed(one, None if measured is None else match(one.ring, measured))
        for one in suits(rings, gland, rows)
    ]
    return tuple(
        sorted(
            found,
            key=lambda one: (
                not one.suit.fits,
                one.match is not None and not one.match.within,
            ),
        )
    )


def gland_decider(placed: Sequence[Placed], used: bool = False) -> Decider:
    """What tells the first ring for a gland from the second, and how close groove and bore must be.

    `used` rings never decide.
    """
    if not placed or not placed[0].suit.fits:
        return _by_gland(because(DeciderReason.NOTHING_SUITS))
    first = placed[0].suit
    gauge = _gauge(first)
    alone = len(placed) < 2 or not placed[1].suit.fits
    if used or alone:
        code = DeciderReason.USED_IN_GLAND if used else DeciderReason.ONLY_FIRST_SUITS
        reason = because(code, gauge=gauge, **(_USED if used else {}))
        return Decider(DecidedBy.GROOVE_AND_BORE, None, None, first.gauge, _holds(first), reason)
    rings = (first.ring, placed[1].suit.ring)
    found = difference(*rings)
    if found.overlapping:
        reason = _two(DeciderReason.BOTH_SUIT_ALIKE, rings, found, gauge=gauge)
        return Decider(found.what, found.first, found.second, None, False, reason)
    reason = _two(DeciderReason.BOTH_SUIT, rings, found, within=found.within, gauge=gauge)
    return Decider(found.what, found.first, found.second, found.within, False, reason)


def _holds(found: Suit) -> bool:
    return found.gauge is not None and found.gauge >= CALLIPER_HARD


def _gauge(found: Suit) -> Reason:
    """Whether groove and bore, as measured with a calliper, are good enough for the answer."""
    if _holds(found):
        return because(GaugeReason.CLOSE_ENOUGH, within=CALLIPER_HARD)
    if found.gauge is None:
        return because(GaugeReason.NONE_DECIDES)
    return because(GaugeReason.FINER, within=CALLIPER_HARD, gauge=found.gauge)


# Guidance ends at 40 % of squeeze for a ring that rests (glands.csv). Beyond this it is a slip of
# the unit: our assumption.
_MOST_SQUEEZE = 0.6


def compression_set(new: float, used: float, depth: float) -> float:
    """Compression set in percent (ISO 815, ASTM D395): (new − used)/(new − gland depth).

    Published limits are limits of material tests, not for going back on. Raises FigureError for
    sections that no ring can have: out of its gland it is no thinner than the gland held it, and
    setting makes it no thicker.

    >>> round(compression_set(2.50, 2.24, 1.95))
    47
    """
    lengths = {"section new": new, "section used": used, "gland depth": depth}
    for name, length in lengths.items():
        if not 0 < length < math.inf:
            raise FigureError(f"{name}: {length:g} mm is no length; it must be more than 0")
    if depth >= new:
        raise FigureError(
            f"the gland ({depth:g} mm) is not shallower than the new section ({new:g} mm), so that"
            " nothing is squeezed; measure the depth again, or take the section of the right ring"
        )
    if used > new:
        raise FigureError(
            f"the used section ({used:g} mm) is more than the new one ({new:g} mm): the ring has"
            " swollen, or it is another size; no set can be told from it. Find its size first"
        )
    squeezed = (new - depth) / new
    if squeezed > _MOST_SQUEEZE:
        raise FigureError(
            f"a new section of {new:g} mm in a gland of {depth:g} mm would be squeezed by"
            f" {100 * squeezed:.0f} %, which no gland does: one of the two is in another unit, or"
            " of another ring; measure both again"
        )
    if used < depth:
        raise FigureError(
            f"the used section ({used:g} mm) is less than the gland depth ({depth:g} mm), a set of"
            " more than 100 %: the ring is worn or torn, or one of the two is measured wrong;"
            " measure both again"
        )
    return 100 * (new - used) / (new - depth)
