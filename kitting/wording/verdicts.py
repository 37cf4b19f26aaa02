"""Verdicts in words: what each of the four is called, and how many lines come to which."""

from __future__ import annotations

from collections.abc import Mapping

from kitting.facts.verdicts import Doubt, Verdict
from kitting.facts.words import Word
from kitting.wording.language import N_, _
from kitting.wording.reasons import register_names, say

_CALLED: Mapping[Word, str] = {
    Verdict.NO: N_("NO"),
    Verdict.STOPPED: N_("STOPPED"),
    Verdict.UNKNOWN: N_("CANNOT BE PROVEN"),
    Verdict.FINE: N_("FINE"),
}
register_names(_CALLED)


NOT_FINE = N_("NOT FINE: READ THIS FIRST")
"""The heading of what keeps a sheet's plan from being fine."""


def verdict_text(verdict: Verdict) -> str:
    """A verdict as it stands on screen and paper."""
    return _(_CALLED[verdict])


def doubt_text(doubt: Doubt) -> str:
    """A doubt with its verdict: "CANNOT BE PROVEN: no tightening figure for …"."""
    return f"{verdict_text(doubt.verdict)}: {say(doubt.because)}"


def tally_text(tally: Mapping[Verdict, int]) -> str:
    """ "1 NO, 2 CANNOT BE PROVEN, 14 FINE": how many lines come to each, none left out but 0."""
    return ", ".join(
        f"{count} {verdict_text(verdict)}" for verdict, count in tally.items() if count
    )
