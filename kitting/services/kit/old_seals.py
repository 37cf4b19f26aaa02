"""Old seals: how many come out of a joint that is opened."""

from __future__ import annotations

from collections.abc import Iterable

from kitting.facts.words import ItemFamily
from kitting.views.plan import LineView, PositionView

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
