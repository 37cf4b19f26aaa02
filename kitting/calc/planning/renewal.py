"""Renewal: what goes back, what may, what never does, and who said so."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

STRICTNESS = {"keep": 0, "inspect": 1, "renew": 2}
AUTHORITY = {"general": 0, "workshop": 1, "leaflet": 2, "maker": 3, "nobody": 4}
SOURCE_NAMES = {
    "general": "the general rule for the kind",
    "workshop": "workshop policy",
    "leaflet": "the leaflet in the packet",
    "maker": "the vehicle maker",
    "history": "this car's history",
    "none": "nobody",
}


@dataclass(frozen=True, slots=True)
class Statement:
    """What one source says. `relaxed_by` is the lowest source that may allow less than it."""

    source: str
    rule: str
    said_by: str
    criterion: str | None = None
    relaxed_by: str = "workshop"


@dataclass(frozen=True, slots=True)
class SituationRule:
    """A rule for a kind that holds with a fluid or in a system (None: with any)."""

    statement: Statement
    fluid: str | None = None
    system: str | None = None

    @property
    def exactness(self) -> int:
        """How many conditions it names; the more, the closer to the case."""
        return (self.fluid is not None) + (self.system is not None)

    def holds(self, fluids: Collection[str], system: str) -> bool:
        """Whether the situation is this one."""
        return (self.fluid is None or self.fluid in fluids) and self.system in (None, system)


@dataclass(frozen=True, slots=True)
class Overruled:
    """A source that spoke and did not decide."""

    statement: Statement
    because: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """The rule that holds, who said so, and who else spoke."""

    rule: str
    source: str
    said_by: str
    criterion: str | None
    overruled: tuple[Overruled, ...] = ()


_SILENCE = Statement("none", "renew", "no source says that it may go back", relaxed_by="workshop")


def rule_for_kind(
    rules: Iterable[SituationRule], source: str, fluids: Collection[str], system: str
) -> Statement | None:
    """The rule of one source for a kind in a situation: the most exact, then the strictest."""
    held = [r for r in rules if r.statement.source == source and r.holds(fluids, system)]
    if not held:
        return None
    best = max(held, key=lambda r: (r.exactness, STRICTNESS[r.statement.rule]))
    return best.statement


def settle_voices(
    base: Statement, stated: Iterable[Statement], strictness: Mapping[str, int]
) -> tuple[Statement, tuple[Overruled, ...]]:
    """Which of several sources decides, and who else spoke.

    The base holds where nobody else speaks. A stated source replaces it when it is as strict, or
    when the base allows that source to relax it. Among those the highest decides (maker, leaflet,
    workshop); a lower one counts only where it is stricter. `strictness` ranks what they may say.
    """
    barrier = AUTHORITY[base.relaxed_by]
    overruled: list[Overruled] = []
    heard: list[Statement] = []
    for statement in sorted(stated, key=lambda s: -AUTHORITY[s.source]):
        laxer = strictness[statement.rule] < strictness[base.rule]
        if laxer and AUTHORITY[statement.source] < barrier:
            overruled.append(Overruled(statement, _not_allowed(base)))
        else:
            heard.append(statement)
    winner = heard[0] if heard else base
    for statement in heard[1:]:
        if strictness[statement.rule] > strictness[winner.rule]:
            overruled.append(
                Overruled(winner, f"{SOURCE_NAMES[statement.source]} is stricter, which it may be")
            )
            winner = statement
        else:
            overruled.append(Overruled(statement, f"{SOURCE_NAMES[winner.source]} ranks above it"))
    if winner is not base and base.source != "none":
        overruled.append(Overruled(base, f"{SOURCE_NAMES[winner.source]} speaks of this very case"))
    return winner, tuple(overruled)


def verdict(
    general: Statement | None,
    stated: Sequence[Statement],
    refits: int = 0,
    refit_limit: int | None = None,
) -> Verdict:
    """Settle what several sources say about one position (see `settle_voices`).

    An item that has gone back as often as its limit allows is renewed whatever else is said.

    Parameters: `refits` counts how often the item now fitted has gone back before.
    """
    winner, overruled = settle_voices(general or _SILENCE, stated, STRICTNESS)
    limit_reached = refit_limit is not None and refits >= refit_limit
    if limit_reached and winner.rule != "renew":
        overruled = (*overruled, Overruled(winner, "the limit on going back is reached"))
        winner = Statement(
            "history", "renew", f"has gone back {_times(refits)}, limit {_times(refit_limit or 0)}"
        )
    return Verdict(winner.rule, winner.source, winner.said_by, winner.criterion, overruled)


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def _not_allowed(base: Statement) -> str:
    if base.relaxed_by == "nobody":
        return f"{SOURCE_NAMES[base.source]} may not be relaxed by anybody"
    return f"{SOURCE_NAMES[base.source]} may be relaxed only by {SOURCE_NAMES[base.relaxed_by]}"
