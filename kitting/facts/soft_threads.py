"""Materials whose thread may give way before the bolt, and how far a thread is engaged in them.

The maker's data come first. None of these figures is certain: see each.
"""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.words import ThreadedInto

# Shear strength of usual castings in MPa: from memory (alloys of aluminium, silicon and copper cast
# under pressure; of magnesium and aluminium; mild steel of 400 MPa, 0.6 of that), not certain.
SHEAR_STRENGTH: Mapping[ThreadedInto, int] = {
    ThreadedInto.ALUMINIUM: 140,
    ThreadedInto.MAGNESIUM: 130,
    ThreadedInto.STEEL: 240,
}
WEAKEST = min(SHEAR_STRENGTH, key=SHEAR_STRENGTH.__getitem__)
# Common practice, no source: no thread in such a metal is engaged by less than its diameter. Where
# it is not stated how far, no more than that is reckoned with.
LEAST_ENGAGEMENT = 1
# Common practice, no source: a nut is of steel itself, and wheel bolts go into hubs of steel; of
# anything else it is not known what its thread is cut into until it is stated.
IN_STEEL = frozenset(
    {"nut", "locking-nut", "wheel-nut", "hub-nut", "exhaust-nut", "wheel-bolt"}
)  # fmt: skip
