"""Renewal: what goes back, what may, what never does, and who said so."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeAlias, TypeVar

from kitting.facts.plan_reasons import RuleReason
from kitting.facts.reasons import Reason, because
from kitting.facts.words import RelaxedBy, Rule, Source

STRICTNESS: Mapping[Rule, int] = {Rule.KEEP: 0, Rule.INSPECT: 1, Rule.RENEW: 2}
_LADDER = (Source.GENERAL, Source.WORKSHOP, Source.LEAFLET, Source.MAKER)
AUTHORITY: Mapping[Source, int] = {source: rank for rank, source in enumerate(_LADDER)}
_BARRIER: Mapping[RelaxedBy, int] = {
    RelaxedBy.WORKSHOP: AUTHORITY[Source.WORKSHOP],
    RelaxedBy.LEAFLET: AUTHORITY[Source.LEAFLET],
    RelaxedBy.MAKER: AUTHORITY[Source.MAKER],
    RelaxedBy.NOBODY: len(_LADDER),
}


# Where a source says it, as it is written there, or a reason where nothing is written.
Reference: TypeAlias = str | Reason
_Said = TypeVar("_Said")


@dataclass(frozen=True, slots=True)
class Statement(Generic[_Said]):
    """What one source says: a rule, or a rating of a rubber.

    `relaxed_by` is the lowest source that may allow less than it.
    """

    source: Source
    rule: _Said
    said_by: Reference
    criterion: str | None = None
    relaxed_by: RelaxedBy = RelaxedBy.WORKSHOP


RuleStatement: TypeAlias = Statement[Rule]


@dataclass(frozen=True, slots=True)
class SituationRule:
    """A rule for a kind that holds with a fluid or in a system (None: with any)."""

    statement: RuleStatement
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
class Overruled(Generic[_Said]):
    """A source that spoke and did not decide."""

    statement: Statement[_Said]
    because: Reason


@dataclass(frozen=True, slots=True)
class Verdict:
    """The rule that holds, who said so, and who else spoke."""

    rule: Rule
    source: Source
    said_by: Reference
    criterion: str | None
    overruled: tuple[Overruled[Rule], ...] = ()


_SILENCE = Statement(Source.NONE, Rule.RENEW, because(RuleReason.NOBODY_ALLOWS))


def rule_for_kind(
    rules: Iterable[SituationRule], source: Source, fluids: Collection[str], system: str
) -> RuleStatement | None:
    """The rule of one source for a kind in a situation: the most exact, then the strictest."""
    fitting = [r for r in rules if r.statement.source == source and r.holds(fluids, system)]
    if not fitting:
        return None
    best = max(fitting, key=lambda r: (r.exactness, STRICTNESS[r.statement.rule]))
    return best.statement


def resolve_sources(
    base: Statement[_Said], stated: Iterable[Statement[_Said]], strictness: Mapping[_Said, int]
) -> tuple[Statement[_Said], tuple[Overruled[_Said], ...]]:
    """Which of several sources decides, and who else spoke.

    The base holds where nobody else speaks. A stated source replaces it when it is as strict, or
    when the base allows that source to relax it. Among those the highest decides (maker, leaflet,
    workshop); a lower one counts only where it is stricter. `strictness` ranks what they may say.
    """
    barrier = _BARRIER[base.relaxed_by]
    overruled: list[Overruled[_Said]] = []
    heard: list[Statement[_Said]] = []
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
                Overruled(winner, because(RuleReason.STRICTER, source=statement.source))
            )
            winner = statement
        else:
            overruled.append(
                Overruled(statement, because(RuleReason.RANKS_ABOVE, source=winner.source))
            )
    if winner is not base and base.source != Source.NONE:
        overruled.append(
            Overruled(base, because(RuleReason.SPEAKS_OF_THIS_CASE, source=winner.source))
        )
    return winner, tuple(overruled)


def verdict(
    general: RuleStatement | None,
    stated: Sequence[RuleStatement],
    refits: int = 0,
    refit_limit: int | None = None,
) -> Verdict:
    """Settle what several sources say about one position (see `resolve_sources`).

    An item that has gone back as often as its limit allows is renewed whatever else is said.

    Parameters: `refits` counts how often the item now fitted has gone back before.
    """
    winner, overruled = resolve_sources(general or _SILENCE, stated, STRICTNESS)
    if refit_limit is not None and refits >= refit_limit and winner.rule != Rule.RENEW:
        overruled = (*overruled, Overruled(winner, because(RuleReason.LIMIT_REACHED)))
        times = because(RuleReason.WENT_BACK, times=refits, limit=refit_limit)
        winner = Statement(Source.HISTORY, Rule.RENEW, times)
    return Verdict(winner.rule, winner.source, winner.said_by, winner.criterion, overruled)


def _not_allowed(base: Statement[_Said]) -> Reason:
    if base.relaxed_by == RelaxedBy.NOBODY:
        return because(RuleReason.RELAXED_BY_NOBODY, source=base.source)
    return because(RuleReason.RELAXED_ONLY_BY, source=base.source, above=Source(base.relaxed_by))
