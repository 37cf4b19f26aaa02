"""What taking apart lets out, and what closes the open ends. Common practice, no source."""

from __future__ import annotations

from kitting.facts.system_media import MEDIA_OF_SYSTEM
from kitting.facts.words import Word

# Kinds of consumables that close open ends.
PORT_CLOSERS = frozenset({"caps-and-plugs"})
# Codes of fluids and media of which nothing has to be caught.
_NOTHING_TO_CATCH = frozenset({"air", "exhaust-gas"})
# Systems and what stands under pressure in them with the engine off.
_PRESSED_SYSTEMS = frozenset({"fuel", "high-pressure-fuel"})
_PRESSED = frozenset({"petrol", "e85", "diesel", "biodiesel"})


class ComesOut(Word):
    """What a fluid does when a joint is opened, the worst first.

    A gas is recovered, a liquid may stand under pressure, or runs out; or nothing has to be caught.
    """

    RECOVERED = "recovered"
    UNDER_PRESSURE = "under pressure"
    RUNS_OUT = "runs out"
    NOTHING = "nothing to catch"


def comes_out(fluid: str, medium: str | None, system: str) -> ComesOut:
    """What a fluid (code) that is a medium on the car does in a system; the unknown runs out.

    >>> comes_out("air", None, "intake").value, comes_out("brew", None, "still").value
    ('nothing to catch', 'runs out')
    """
    names = {fluid, medium}
    if names & _NOTHING_TO_CATCH:
        return ComesOut.NOTHING
    if names & MEDIA_OF_SYSTEM["air-conditioning"]:
        return ComesOut.RECOVERED
    if system in _PRESSED_SYSTEMS and names & _PRESSED:
        return ComesOut.UNDER_PRESSURE
    return ComesOut.RUNS_OUT
