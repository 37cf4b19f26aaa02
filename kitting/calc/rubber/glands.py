"""Glands: squeeze, stretch and fill in the worst cases, held against guidance; rings that suit.

Lengths are mm, shares percent. A groove is the diameter that a ring sits on (of a piston's groove,
or of a rod), a bore the one that it seals against. Guidance is only guidance: the gland drawing of
the maker decides.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kitting.errors import FigureError
from kitting.facts.reasons import Reason, because
from kitting.facts.ring_reasons import GlandCase, GlandFault, GlandShare
from kitting.facts.ring_standards import Guidance, Ring

CALLIPER_HARD = 0.05  # mm: how far a groove or a bore is measured off (our model)
GAUGES = (0.05, 0.02, 0.01)  # mm: how close a calliper, a good one and a micrometer measure


@dataclass(frozen=True, slots=True)
class Band:
    """The least and the most of a share in the worst cases, and the nominal one, in percent."""

    least: float
    most: float
    nominal: float


# The shares that are known of a ring in a gland.
Shares = Mapping[GlandShare, Band]


def squeeze(section: float, tolerance: float, shallowest: float, deepest: float) -> Band:
    """Squeeze of a section in a gland, worst cases, percent; lengths in mm.

    100·(section − depth)/section: least of the thinnest section in the deepest gland. Below 0 the
    ring does not touch. Raises FigureError for lengths that make no sense.

    >>> band = squeeze(3.53, 0.10, 2.79, 2.95)
    >>> round(band.least, 1), round(band.most, 1)
    (14.0, 23.1)
    """
    _toleranced(section, tolerance, "a section")
    _rising(shallowest, deepest)
    thin, thick = section - tolerance, section + tolerance
    middle = (shallowest + deepest) / 2
    return Band(
        100 * (thin - deepest) / thin,
        100 * (thick - shallowest) / thick,
        100 * (section - middle) / section,
    )


def stretch(inside: float, tolerance: float, groove: float) -> Band:
    """Stretch of a ring's inside on a groove or rod diameter, worst cases, percent; mm.

    100·(groove − inside)/inside; below 0 the ring is loose. `tolerance` is that of the
    inside. Raises FigureError for lengths that make no sense.
    """
    _toleranced(inside, tolerance, "an inside diameter")
    _positive(groove, "a groove diameter")
    small, large = inside - tolerance, inside + tolerance
    return Band(*(100 * (groove - found) / found for found in (large, small, inside)))


def fill(
    section: float,
    tolerance: float,
    shallowest: float,
    deepest: float,
    width: float,
    swell: float = 0.0,
) -> Band:
    """How much of a gland a section fills, worst cases, percent; lengths in mm.

    100·(π/4·section²)/(depth·width). `swell` is by how many percent of its volume the rubber may
    swell: it raises the most only, for a ring need not swell. Raises FigureError for lengths that
    make no sense and for a swell below 0 or above 200 %.
    """
    _toleranced(section, tolerance, "a section")
    _rising(shallowest, deepest)
    _positive(width, "a groove's width")
    if not 0 <= swell <= 200:
        raise FigureError(
            "a swell of {swell:g} % is out of range; give 0 to 200 % by volume", swell=swell
        )
    middle = (shallowest + deepest) / 2
    return Band(
        *(
            100 * math.pi / 4 * round_**2 * more / (depth * width)
            for round_, depth, more in (
                (section - tolerance, deepest, 1.0),
                (section + tolerance, shallowest, 1 + swell / 100),
                (section, middle, 1.0),
            )
        )
    )


def thinned(ring: Ring, pulled: Band) -> tuple[float, float]:
    """Section and its tolerance (mm) of a ring when stretched: its volume stays the same.

    section/√(1 + stretch), the thinnest by the most stretch, the thickest by the least; a ring
    that hangs loose keeps its section.
    """
    thin = (ring.section - ring.section_tolerance) / math.sqrt(1 + max(0.0, pulled.most) / 100)
    thick = (ring.section + ring.section_tolerance) / math.sqrt(1 + max(0.0, pulled.least) / 100)
    return (thin + thick) / 2, (thick - thin) / 2


# Which worst case has the least and the most of each share.
_CASES = {
    GlandShare.SQUEEZE: (GlandCase.THIN_IN_DEEP, GlandCase.THICK_IN_SHALLOW),
    GlandShare.STRETCH: (GlandCase.WIDEST, GlandCase.NARROWEST),
    GlandShare.FILL: (GlandCase.THIN_IN_DEEP, GlandCase.THICK_IN_SHALLOW),
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """A share against a row of guidance; `broken` has the cases that leave it, none if it is kept.

    `over` is how far out it is, in percent of the quantity (0 within).
    """

    guidance: Guidance
    band: Band
    broken: tuple[Reason, ...]
    over: float


def judge(shares: Shares, rows: Iterable[Guidance]) -> tuple[Verdict, ...]:
    """Each row of guidance whose share is known, in order: kept, or which case breaks it."""
    return tuple(_verdict(shares[row.quantity], row) for row in rows if row.quantity in shares)


def _verdict(band: Band, row: Guidance) -> Verdict:
    nominal = row.judged == "nominal"
    low, high = (band.nominal, band.nominal) if nominal else (band.least, band.most)
    least, most = (GlandCase.NOMINAL,) * 2 if nominal else _CASES[row.quantity]
    under = 0.0 if row.least is None else row.least - low
    over = 0.0 if row.most is None else high - row.most
    broken = []
    if row.least is not None and under > _ROUNDING:
        broken.append(_fault(row.quantity, low, least, row.least, _BELOW))
    if row.most is not None and over > _ROUNDING:
        broken.append(_fault(row.quantity, high, most, row.most, _ABOVE))
    return Verdict(row, band, tuple(broken), max(under, over) if broken else 0.0)


# A share that equals its limit but for the rounding of the machine keeps it.
_ROUNDING = 1e-9
_BELOW = (GlandFault.BELOW, GlandFault.NARROWLY_BELOW)
_ABOVE = (GlandFault.ABOVE, GlandFault.NARROWLY_ABOVE)


def _fault(
    share: GlandShare, value: float, case: GlandCase, limit: float, ways: Sequence[GlandFault]
) -> Reason:
    narrowly = abs(value - limit) < 0.1
    return because(ways[narrowly], share=share, value=value, case=because(case), limit=limit)


@dataclass(frozen=True, slots=True)
class Suit:
    """A ring in a gland: what it would do there, what rules it out, and what is remarked.

    Remarks tell where stretch and fill leave advice that decides nothing: of the squeeze, sources
    advise too differently.
    `distance` is 0 in the middle of what guidance advises and grows with squeeze and stretch that
    are off it; `over` sums how far out of guidance it is, in percent (0: it suits). `gauge`
    is how close groove and bore must be measured, in mm, for the answer to hold: None where no
    gauge would do.
    """

    ring: Ring
    squeeze: Band
    stretch: Band
    fill: Band | None
    ruled_out: tuple[Reason, ...]
    remarks: tuple[Reason, ...]
    distance: float
    over: float
    gauge: float | None

    @property
    def fits(self) -> bool:
        """Whether no guidance that decides rules it out."""
        return not self.ruled_out


@dataclass(frozen=True, slots=True)
class Gland:
    """A groove with its bore, mm; the width where it is known."""

    groove: float
    bore: float
    width: float | None = None

    def __post_init__(self) -> None:
        """Raise FigureError for lengths that make no sense."""
        _positive(self.groove, "a groove diameter")
        _positive(self.bore, "a bore")
        if self.width is not None:
            _positive(self.width, "a groove's width")
        if self.bore <= self.groove:
            raise FigureError(
                "a bore of {bore:g} mm leaves no gland over a groove of {groove:g} mm; check"
                " which is which",
                bore=self.bore,
                groove=self.groove,
            )

    @property
    def depth(self) -> float:
        """The radial depth, mm: half of what the bore is wider, the piston being in its middle."""
        return (self.bore - self.groove) / 2


def suits(rings: Iterable[Ring], gland: Gland, rows: Sequence[Guidance]) -> tuple[Suit, ...]:
    """Every ring judged for a gland: those that suit first, the best in front, then near misses.

    Those that suit are in order of their distance from what guidance advises, the others of how
    far they are out of it.
    """
    found = [suit(ring, gland, rows) for ring in rings]
    return tuple(sorted(found, key=lambda one: (one.over, one.distance, one.ring.name)))


def suit(ring: Ring, gland: Gland, rows: Sequence[Guidance]) -> Suit:
    """A ring judged for a gland by guidance for its use."""
    shares = _shares(ring, gland)
    broken = [one for one in judge(shares, rows) if one.broken]
    verdicts = [one for one in broken if one.guidance.decides]
    advice = [one for one in broken if one not in verdicts]
    return Suit(
        ring,
        shares[GlandShare.SQUEEZE],
        shares[GlandShare.STRETCH],
        shares.get(GlandShare.FILL),
        tuple(reason for one in verdicts for reason in one.broken),
        tuple(
            reason
            for one in advice
            if one.guidance.quantity is not GlandShare.SQUEEZE
            for reason in one.broken
        ),
        _distance(shares, rows),
        sum(one.over for one in verdicts),
        _gauge(ring, gland, rows, not verdicts),
    )


def _shares(ring: Ring, gland: Gland) -> Shares:
    pulled = stretch(ring.inside, ring.inside_tolerance, gland.groove)
    body = thinned(ring, pulled)
    shares = {
        GlandShare.SQUEEZE: squeeze(*body, gland.depth, gland.depth),
        GlandShare.STRETCH: pulled,
    }
    if gland.width is not None:
        shares[GlandShare.FILL] = fill(
            ring.section, ring.section_tolerance, gland.depth, gland.depth, gland.width
        )
    return shares


def _distance(shares: Shares, rows: Sequence[Guidance]) -> float:
    """How far squeeze and stretch are off the middle of what is advised, its width being 2 each.

    The narrowest band that guidance gives for a quantity is the advice.
    """
    total = 0.0
    for quantity in (GlandShare.SQUEEZE, GlandShare.STRETCH):
        advised = [
            (row.most - row.least, row.least)
            for row in rows
            if row.quantity == quantity and row.least is not None and row.most is not None
        ]
        if not advised:
            continue
        width, least = min(advised)
        total += abs(shares[quantity].nominal - (least + width / 2)) / (width / 2)
    return total


def _gauge(ring: Ring, gland: Gland, rows: Sequence[Guidance], fits: bool) -> float | None:
    """The coarsest of GAUGES with which groove and bore measured off leave the answer the same."""
    for error in GAUGES:
        corners = [
            (gland.groove + one * error, gland.bore + two * error)
            for one in (-1, 1)
            for two in (-1, 1)
        ]
        if all(
            0 < groove < bore
            and fits == _suits_at(ring, Gland(groove, bore, gland.width), rows)
            for groove, bore in corners
        ):  # fmt: skip
            return error
    return None


def _suits_at(ring: Ring, gland: Gland, rows: Sequence[Guidance]) -> bool:
    return not any(one.guidance.decides and one.broken for one in judge(_shares(ring, gland), rows))


def _positive(length: float, what: str) -> None:
    if not 0 < length < 10_000:
        raise FigureError(
            "{what} is more than 0 and less than 10 m; check {length:g} mm",
            what=what,
            length=length,
        )


def _toleranced(length: float, tolerance: float, what: str) -> None:
    _positive(length, what)
    if not 0 <= tolerance < length:
        raise FigureError(
            "{what} of {length:g} mm cannot be {tolerance:g} mm off: a tolerance is smaller than"
            " what it belongs to",
            what=what,
            length=length,
            tolerance=tolerance,
        )


def _rising(shallowest: float, deepest: float) -> None:
    if not 0 < shallowest <= deepest < 10_000:
        raise FigureError("give the shallowest gland first, then the deepest, in mm")
