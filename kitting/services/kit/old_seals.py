"""Old seals: how many come out of a joint that is opened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from kitting.facts.words import ItemFamily
from kitting.views.plan import LineView, PlanView, PositionView

# Common practice, no source: a ring stays behind in its bore more often than a flat gasket. In the
# order in which to look for one that is missing.
STAYS_BEHIND = (ItemFamily.RING, ItemFamily.SEAL)


def old_seals(places: Iterable[tuple[LineView, PositionView]]) -> int:
    """Old seals that come out of positions of a joint each time it is opened, in pieces.

    One that goes back first and is renewed later is counted once. 0 for what is no seal.
    """
    found = {
        place.position: place.holds // 1000 for line, place in places if line.family in STAYS_BEHIND
    }
    return sum(found.values())


@dataclass(frozen=True, slots=True)
class OldSeals:
    """How many old seals come out of a joint, in pieces, and from which positions.

    The positions stand in the order in which to look for one that is missing; `pieces` are those of
    each, `items` what goes in there in their place.
    """

    expected: int
    positions: tuple[str, ...]
    pieces: Mapping[str, int] = field(default_factory=dict)
    items: Mapping[str, str] = field(default_factory=dict)


def seals_by_joint(plan: PlanView) -> dict[str, OldSeals]:
    """The old seals of every opened joint that holds any, what comes off first at first."""
    found = {}
    for joint in plan.joints:
        seals = [
            (line, position)
            for line in plan.lines
            if line.family in STAYS_BEHIND
            for position in line.positions
            if position.joint == joint.code
        ]
        if seals:
            ordered = sorted(seals, key=lambda seal: STAYS_BEHIND.index(seal[0].family))
            places = tuple(dict.fromkeys(position.position for _, position in ordered))
            found[joint.code] = OldSeals(
                old_seals(seals),
                places,
                {position.position: position.holds // 1000 for _, position in seals},
                {position.position: line.item for line, position in seals},
            )
    return found
