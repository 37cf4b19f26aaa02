"""What was found about rings, as it is shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from kitting.calc.rubber.glands import Suit
from kitting.calc.rubber.ring_sizes import Decider, Match, Placed
from kitting.facts.reasons import Reason, because
from kitting.facts.ring_reasons import OtherRing
from kitting.facts.ring_standards import Ring, borrowed, standard_sizes
from kitting.services.rubber.catalogue_rings import RingRow
from kitting.services.rubber.gland import share_view
from kitting.views.rubber import (
    InGlandView,
    OffView,
    RingDeciderView,
    RingItemView,
    RingMatchView,
    TolerancesView,
)


@dataclass(frozen=True, slots=True)
class KnownRing:
    """A size with the note on its sources; `own` marks one of the catalogue beside the standard."""

    ring: Ring
    note: str | None = None
    own: bool = False

    @property
    def borrowed(self) -> TolerancesView | None:
        """Its tolerances, where they are those of a standard ring."""
        return _tolerances(self.ring) if self.own else None


def known_rings(rows: Sequence[RingRow]) -> dict[str, KnownRing]:
    """Standard sizes and the catalogue's own sizes beside them, by name."""
    known = {size.name: KnownRing(size.ring, size.note) for size in standard_sizes()}
    standard = {
        (round(one.ring.inside * 1000), round(one.ring.section * 1000)) for one in known.values()
    }
    for inside, section in sorted({(row.inside, row.section) for row in rows} - standard):
        name = f"{inside / 1000:g} × {section / 1000:g} mm of the catalogue"
        known[name] = KnownRing(borrowed(name, inside / 1000, section / 1000), own=True)
    return known


def _tolerances(ring: Ring) -> TolerancesView:
    return TolerancesView(ring.inside_tolerance, ring.section_tolerance)


def differs(asked: RingRow, other: RingRow) -> Reason | None:
    """Why an item of the same size is not the same ring; None if it is."""
    if asked.code == other.code:
        return None
    pairs = ((asked.elastomer, other.elastomer), (asked.hardness, other.hardness))
    if any(one and two and one != two for one, two in pairs):
        return because(OtherRing.OTHER_MATERIAL, other=_material(other), asked=_material(asked))
    unstated = tuple(
        because(code, item=row.code)
        for row in (asked, other)
        for code, value in (
            (OtherRing.NO_ELASTOMER, row.elastomer),
            (OtherRing.NO_HARDNESS, row.hardness),
        )
        if value is None
    )
    return because(OtherRing.NOT_KNOWN, unstated=unstated) if unstated else None


def _material(row: RingRow) -> Reason:
    if row.elastomer is None and row.hardness is None:
        return because(OtherRing.MATERIAL_UNSTATED)
    if row.elastomer is None:
        return because(OtherRing.HARDNESS_ONLY, hardness=row.hardness)
    if row.hardness is None:
        return because(OtherRing.MATERIAL_NO_HARDNESS, elastomer=row.elastomer)
    return because(OtherRing.MATERIAL, elastomer=row.elastomer, hardness=row.hardness)


def of_match(match: Match, known: KnownRing) -> RingMatchView:
    """A size that may have been measured."""
    return RingMatchView(
        size=match.size.name,
        distance=match.distance,
        gland=None,
        measured=_off(match),
        borrowed=known.borrowed,
        note=known.note,
    )


def of_placed(
    placed: Sequence[Placed], known: Mapping[str, KnownRing]
) -> tuple[RingMatchView, ...]:
    """Sizes for a gland, as ranked."""
    return tuple(
        RingMatchView(
            size=one.suit.ring.name,
            distance=one.suit.distance,
            gland=_in_gland(one.suit),
            measured=_off(one.match),
            borrowed=known[one.suit.ring.name].borrowed,
            note=known[one.suit.ring.name].note,
        )
        for one in placed
    )


def measured_item(view: RingItemView, match: Match) -> RingItemView:
    """An item with how far the measured ring is off its size."""
    size = match.size
    tolerances = TolerancesView(size.inside_tolerance, size.section_tolerance)
    return replace(view, measured=_off(match), borrowed=tolerances)


def placed_item(view: RingItemView, placed: Placed) -> RingItemView:
    """An item with what it would do in the gland."""
    return replace(
        view,
        gland=_in_gland(placed.suit),
        measured=_off(placed.match),
        borrowed=_tolerances(placed.suit.ring),
    )


def _in_gland(suit: Suit) -> InGlandView:
    return InGlandView(
        squeeze=share_view(suit.squeeze),
        stretch=share_view(suit.stretch),
        fill=None if suit.fill is None else share_view(suit.fill),
        ruled_out=suit.ruled_out,
        remarks=suit.remarks,
    )


def _off(match: Match | None) -> OffView | None:
    if match is None:
        return None
    return OffView(match.inside_off, match.section_off, match.stretched, match.within)


def decider_view(found: Decider) -> RingDeciderView:
    """What tells the first ring from the second."""
    return RingDeciderView(
        what=found.what,
        first=found.first,
        second=found.second,
        within=found.within,
        settled=found.settled,
        reason=found.reason,
    )
