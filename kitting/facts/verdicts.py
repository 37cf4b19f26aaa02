"""The verdict on a line: one of four, and what keeps it from being fine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kitting.facts.reasons import Reason
from kitting.facts.words import Word


class Verdict(Word):
    """What a line comes to, the worst first: the weakest of its parts decides.

    Stopped waits for an open variant; unknown cannot be proven by what is recorded.
    """

    NO = "no"
    STOPPED = "stopped"
    UNKNOWN = "cannot be proven"
    FINE = "fine"


_RANK: Mapping[Verdict, int] = {verdict: rank for rank, verdict in enumerate(Verdict)}


class Aspect(Word):
    """What of a line is in doubt."""

    VARIANT = "variant"
    REPLACEMENT = "replacement"
    RUBBER = "rubber"
    SIZE = "size"
    HEAD = "head"
    FIGURE = "figure"
    STOCK = "stock"
    AGE = "age"
    HOLD = "hold"
    LICENCE = "licence"
    FINDING = "finding"
    CATALOGUE = "catalogue"


@dataclass(frozen=True, slots=True)
class Doubt:
    """What keeps a line from being fine: how bad it is, of what, and why (with what settles it)."""

    verdict: Verdict
    aspect: Aspect
    because: Reason


def weakest(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of some verdicts; fine where there are none."""
    return min(verdicts, key=_RANK.__getitem__, default=Verdict.FINE)


def verdict_of(doubts: Iterable[Doubt]) -> Verdict:
    """What some doubts come to: the worst of them; fine where there are none."""
    return weakest(doubt.verdict for doubt in doubts)


def worst_first(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Doubts, each once, the worst first, else in the order given."""
    return tuple(sorted(dict.fromkeys(doubts), key=lambda doubt: _RANK[doubt.verdict]))


def tally(verdicts: Iterable[Verdict]) -> dict[Verdict, int]:
    """How many of each verdict, the worst first; none left out."""
    found = Counter(verdicts)
    return {verdict: found[verdict] for verdict in Verdict}
