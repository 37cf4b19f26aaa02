"""Verdicts in words: what each of the four is called, and how many lines come to which."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.verdicts import Verdict
from kitting.wording.reasons import register_names

_CALLED = {
    Verdict.NO: "NO",
    Verdict.STOPPED: "STOPPED",
    Verdict.UNKNOWN: "CANNOT BE PROVEN",
    Verdict.FINE: "FINE",
}
register_names(_CALLED)


def verdict_text(verdict: Verdict) -> str:
    """A verdict as it stands on screen and paper."""
    return _CALLED[verdict]


def tally_text(tally: Mapping[Verdict, int]) -> str:
    """ "1 NO, 2 CANNOT BE PROVEN, 14 FINE": how many lines come to each, none left out but 0."""
    return ", ".join(
        f"{count} {verdict_text(verdict)}" for verdict, count in tally.items() if count
    )
