"""Old seals: how many come out of a joint that is opened."""

from __future__ import annotations

from kitting.facts.words import ItemFamily, Rule
from kitting.views.plan import LineView

# Common practice, no source: a ring stays behind in its bore more often than a flat gasket. In the
# order in which to look for one that is missing.
STAYS_BEHIND = (ItemFamily.RING, ItemFamily.SEAL)


def old_seals(line: LineView, quantity: int, opened: int) -> int:
    """Old seals that come out of positions of a line each time their joint is opened, in pieces.

    `quantity` is what the plan has for the positions (thousandths): new ones for each of `opened`
    openings where they are renewed, else those that go back. 0 for what is no seal.
    """
    if line.family not in STAYS_BEHIND:
        return 0
    return quantity // 1000 // (opened if line.rule == Rule.RENEW else 1)
