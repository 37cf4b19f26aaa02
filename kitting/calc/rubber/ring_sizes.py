"""Rings: which size was measured, which measurement would decide, how far one has set."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kitting.calc.rubber.glands import CALLIPER_HARD, Gland, Suit, suits
from kitting.errors import FigureError
from kitting.facts.ring_standards import Guidance, Ring, RingSize

# What a used ring may have done (our model): stretched on its inside, which thins the section by
# half as much, and swollen, here told as volume, which adds a third of it to every length.
USED_STRETCH, USED_SWELL = 0.03, 0.05
CALLIPER = 0.1  # mm: how far a ring, being soft, is measured off
FINEST = 0.01  # mm: no gauge of a workshop measures a soft ring closer


@dataclass(frozen=True, slots=True)
class Measured:
    """A ring as measured: inside and section in mm, whether it was fitted, how far it may be off.

    Raises FigureError for lengths that are none.
    """

    inside: float
    section: float
    used: bool = False
    error: float = CALLIPER

    def __post_init__(self) -> None:
        """Raise FigureError for lengths that are none."""
        if not (0 < self.inside < 10_000 and 0 < self.section < 100 and 0 <= self.error < 10):
            raise FigureError("an inside diameter and a section in mm are more than nothing")


@dataclass(frozen=True, slots=True)
class Match:
    """A ring that may have been measured, how far off each length is (1 = just within reach), why.

    Reaches are shares of half the band in which the measurement may lie.
    """

    size: RingSize | Ring
    inside_reach: float
    section_reach: float
    why: str

    @property
    def distance(self) -> float:
        """Both reaches together."""
        return self.inside_reach + self.section_reach

    @property
    def within(self) -> bool:
        """Whether both lengths are within reach of tolerance and error of measuring."""
        return max(self.inside_reach, self.section_reach) <= 1


def match_sizes(
    sizes: Iterable[RingSize | Ring],
    inside: float,
    section: float,
    used: bool = False,
    error: float = CALLIPER,
    most: int = 5,
) -> tuple[Match, ...]:
    """The sizes that a measured ring may be, the likeliest first; lengths in mm.

    A new ring lies within its tolerance and the error of measuring. A used one may have stretched
    and swollen by USED_STRETCH and USED_SWELL, so larger insides are possible. Equals stay in the
    order given. Raises FigureError for lengths that are none.
    """
    measured = Measured(inside, section, used, error)
    return tuple(sorted((match(s, measured) for s in sizes), key=lambda one: one.distance)[:most])


def match(size: RingSize | Ring, measured: Measured) -> Match:
    """How far a measured ring is off one of a size."""
    error = measured.error
    swell = USED_SWELL / 3 if measured.used else 0.0
    stretch = USED_STRETCH if measured.used else 0.0
    inside_reach = _reach(
        measured.inside,
        size.inside - size.inside_tolerance - error,
        (size.inside + size.inside_tolerance) * (1 + stretch) * (1 + swell) + error,
    )
    section_reach = _reach(
        measured.section,
        (size.section - size.section_tolerance) * (1 - stretch / 2) - error,
        (size.section + size.section_tolerance) * (1 + swell) + error,
    )
    words = []
    if measured.used and measured.inside > size.inside + size.inside_tolerance + error:
        words.append("stretched or swollen")
    if max(inside_reach, section_reach) > 1:
        words.append("out of reach of its tolerance")
    off = (
        f"inside {measured.inside - size.inside:+.2f},"
        f" section {measured.section - size.section:+.2f} mm"
    )
    return Match(size, inside_reach, section_reach, "; ".join([off, *words]))


def _reach(measured: float, low: float, high: float) -> float:
    """How far from the middle of what is possible: 1 at its edges."""
    if high <= low:  # neither tolerance nor error: nothing but the size itself
        return 0.0 if measured == low else math.inf
    return abs(measured - (low + high) / 2) / ((high - low) / 2)


@dataclass(frozen=True, slots=True)
class Decider:
    """The measurement that tells the first of a ranked list from the second.

    `what` is inside, section, or groove and bore; `first` and `second` are its lengths in mm where
    the ring's own decide; `within` is how close it must be measured, ±mm (None: no gauge would do,
    or any does); `settled` tells whether what was measured decides already.
    """

    what: str
    first: float | None
    second: float | None
    within: float | None
    settled: bool
    words: str


def apart(first: RingSize | Ring, second: RingSize | Ring) -> tuple[str, float, float, float]:
    """What tells two rings apart best: inside or section, both lengths, and how close, ±mm.

    How close: half of what lies between their tolerances, in whole hundredths, rounded down; none
    or less where the tolerances overlap. The same for both orders.
    """
    inside = _between(first.inside, second.inside, first.inside_tolerance + second.inside_tolerance)
    section = _between(
        first.section, second.section, first.section_tolerance + second.section_tolerance
    )
    if inside >= section:
        return "inside", first.inside, second.inside, inside
    return "section", first.section, second.section, section


def _between(one: float, other: float, tolerances: float) -> float:
    return math.floor(round((abs(one - other) - tolerances) / 2 / FINEST, 6)) * FINEST


GROOVE_AND_BORE = "groove and bore"
USED_WORDS = "groove and bore decide, not the ring: a used ring is stretched, swollen or set"


def decider(matches: Sequence[Match], measured: Measured) -> Decider:
    """What tells the first match from the second, and whether the measurement taken can.

    A used ring never decides: groove and bore do.
    """
    if not matches:
        return Decider(GROOVE_AND_BORE, None, None, None, False, "no size to tell apart")
    if measured.used:
        return Decider(GROOVE_AND_BORE, None, None, CALLIPER_HARD, False, _used(matches))
    first = matches[0]
    if not first.within:
        words = (
            "no size known here is within reach of what was measured: the ring may be metric, the"
            " maker's own, or used; groove and bore decide"
        )
        return Decider(GROOVE_AND_BORE, None, None, CALLIPER_HARD, False, words)
    if len(matches) == 1:
        return Decider("inside", first.size.inside, None, None, True, "no other size to tell apart")
    return _of_two(first, matches[1], measured.error)


def _named(first: RingSize | Ring, second: RingSize | Ring) -> str:
    return f"{first.name} or {second.name}"


def _of_two(first: Match, second: Match, error: float) -> Decider:
    named = _named(first.size, second.size)
    if not second.within:
        by_inside = second.inside_reach >= second.section_reach
        what = "inside" if by_inside else "section"
        one, other = (
            (first.size.inside, second.size.inside)
            if by_inside
            else (first.size.section, second.size.section)
        )
        words = (
            f"{named}: {what} decides, {one:.2f} or {other:.2f} mm; measured to ±{error:.2f} mm it"
            " does"
        )
        return Decider(what, one, other, error, True, words)
    what, one, other, needed = apart(first.size, second.size)
    if needed < FINEST:
        words = (
            f"{named}: measuring the ring cannot decide, {what} {one:.2f} or {other:.2f} mm lie"
            " within their tolerances; groove and bore decide"
        )
        return Decider(GROOVE_AND_BORE, one, other, CALLIPER_HARD, False, words)
    words = (
        f"{named}: {what} decides, {one:.2f} or {other:.2f} mm; measure it to ±{needed:.2f} mm"
        f" (±{error:.2f} mm was taken, which cannot decide: a finer gauge, or groove and bore)"
    )
    return Decider(what, one, other, needed, False, words)


def _used(matches: Sequence[Match]) -> str:
    if len(matches) < 2:
        return USED_WORDS
    first, second = (one.size for one in matches[:2])
    what, one, other, _ = apart(first, second)
    return f"{USED_WORDS} (the first two differ by their {what}, {one:.2f} or {other:.2f} mm)"


@dataclass(frozen=True, slots=True)
class Placed:
    """A ring judged for a gland, and how what was measured lies to it (None: nothing was)."""

    suit: Suit
    match: Match | None

    @property
    def why(self) -> str:
        """What it would do in the gland, then how far the measured ring is off it."""
        if self.match is None:
            return self.suit.why
        return f"{self.suit.why}; measured {self.match.why}"


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
        words = (
            "nothing in this list suits: measure groove and bore again, and look whether the use"
            " is right"
        )
        return Decider(GROOVE_AND_BORE, None, None, CALLIPER_HARD, False, words)
    first = placed[0].suit
    close = _close(first)
    if used:
        return Decider(
            GROOVE_AND_BORE, None, None, first.gauge, _holds(first), f"{USED_WORDS}; {close}"
        )
    if len(placed) < 2 or not placed[1].suit.fits:
        words = f"groove and bore decide: only the first suits; {close}"
        return Decider(GROOVE_AND_BORE, None, None, first.gauge, _holds(first), words)
    second = placed[1].suit.ring
    named = _named(first.ring, second)
    what, one, other, needed = apart(first.ring, second)
    if needed < FINEST:
        words = (
            f"{named} both suit and lie within each other's tolerances ({what} {one:.2f} or"
            f" {other:.2f} mm): no measuring tells them apart, the maker's number does; {close}"
        )
        return Decider(what, one, other, None, False, words)
    words = (
        f"{named} both suit: {what} decides, {one:.2f} or {other:.2f} mm; measure a ring known to"
        f" be right to ±{needed:.2f} mm; {close}"
    )
    return Decider(what, one, other, needed, False, words)


def _holds(found: Suit) -> bool:
    return found.gauge is not None and found.gauge >= CALLIPER_HARD


def _close(found: Suit) -> str:
    """Whether groove and bore, as measured with a calliper, bear the answer."""
    if _holds(found):
        return f"groove and bore measured to ±{CALLIPER_HARD:.2f} mm are close enough"
    if found.gauge is None:
        return "it lies on the edge of guidance: no gauge decides, the maker's gland drawing does"
    return f"±{CALLIPER_HARD:.2f} mm does not decide: measure groove and bore to ±{found.gauge} mm"


def compression_set(new: float, used: float, depth: float) -> float:
    """Compression set in percent (ISO 815, ASTM D395): (new − used)/(new − gland depth).

    Published limits are limits of material tests, not for going back on.

    >>> round(compression_set(2.50, 2.24, 1.95))
    47
    """
    if not 0 < depth < new or not used > 0:
        raise FigureError("the gland is shallower than the new section, and none is nothing")
    return 100 * (new - used) / (new - depth)
