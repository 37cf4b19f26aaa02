"""Which kinds of items age by their nature, so that silence about their shelf life says nothing.

Common practice, no source; the maker's data come first. Which kinds are made of rubber is said in
the catalogue.
"""

from __future__ import annotations

# Consumables dry up, take up water, separate or cure, but for these: a kind of consumable that is
# not named here ages, also one that a catalogue adds.
AGELESS_CONSUMABLES = frozenset({"water", "caps-and-plugs", "cleaner", "refrigerant"})
# Parts of rubber or with an adhesive whose material nobody is asked for. A patch bolt bears a
# threadlocker in small capsules.
AGEING_PARTS = frozenset(
    {
        "belt", "timing-belt", "elastic-belt", "adhesive-tape", "grommet", "exhaust-hanger",
        "patch-bolt",
    }
)  # fmt: skip
