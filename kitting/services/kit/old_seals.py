"""Old seals: how many come out of a joint that is opened."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.facts.words import ItemFamily, Rule
from kitting.views.plan import LineView, PositionView

# Common practice, no source: a ring stays behind in its bore more often than a flat gasket. In the
# order in which to look for one that is missing.
STAYS_BEHIND = (ItemFamily.RING, ItemFamily.SEAL)


def old_seals(places: Iterable[tuple[LineView, PositionView]], opened: int) -> int:
    """Old seals that come out of positions of a joint each time it is opened, in pieces.

    A position has new ones for each of `opened` openings where it is renewed, else those that go
    back; one that goes back first and is renewed later is counted once. 0 for what is no seal.
    """
    pieces: dict[str, int] = {}
    for line, place in places:
        if line.family in STAYS_BEHIND:
            here = place.quantity // 1000 // (opened if line.rule == Rule.RENEW else 1)
            pieces[place.position] = max(here, pieces.get(place.position, 0))
    return sum(pieces.values())
