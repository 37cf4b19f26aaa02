"""What taking apart lets out, and what closes the open ends. Common practice, no source."""

from __future__ import annotations

from kitting.facts.system_media import MEDIA_OF_SYSTEM
from kitting.facts.words import Word

# Kinds of consumables that close open ends.
PORT_CLOSERS = frozenset({"caps-and-plugs"})
# Codes of fluids and media of which nothing has to be caught.
_NOTHING_TO_CATCH = frozenset({"air", "exhaust-gas"})


class ComesOut(Word):
    """What comes out of a joint when it is opened: nothing to catch, a liquid, or a pressed gas."""

    NOTHING = "nothing to catch"
    LIQUID = "liquid"
    UNDER_PRESSURE = "under pressure"


def comes_out(fluid: str, medium: str | None) -> ComesOut:
    """What a fluid (code) that is a medium on the car does; what is not known is caught.

    >>> comes_out("air", None).value, comes_out("brew", None).value
    ('nothing to catch', 'liquid')
    """
    if {fluid, medium} & _NOTHING_TO_CATCH:
        return ComesOut.NOTHING
    if {fluid, medium} & MEDIA_OF_SYSTEM["air-conditioning"]:
        return ComesOut.UNDER_PRESSURE
    return ComesOut.LIQUID
