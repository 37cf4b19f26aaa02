"""Renewal: what goes back, what may, what never does, and who said so."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeAlias, TypeVar

from kitting.calc.planning.refits import NO_REFITS, Refits
from kitting.facts.plan_reasons import RuleReason
from kitting.facts.reasons import Reason, Value, because
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
class Situation:
    """One thing that a position touches, in a system: its fluid and medium (None: not known)."""

    system: str
    fluid: str | None = None
    medium: str | None = None


@dataclass(frozen=True, slots=True)
class SituationRule:
    """A rule for a kind that holds with a fluid, in a medium, in a system (None: with any)."""

    statement: RuleStatement
    fluid: str | None = None
    medium: str | None = None
    system: str | None = None

    @property
    def exactness(self) -> int:
        """How many conditions it names; the more, the closer to the case."""
        return sum(named is not None for named in (self.fluid, self.medium, self.system))

    def holds(self, situation: Situation) -> bool:
        """Whether the situation is this one."""
        return (
            self.fluid in (None, situation.fluid)
            and self.medium in (None, situation.medium)
            and self.system in (None, situation.system)
        )


@dataclass(frozen=True, slots=True)
class Overruled(Generic[_Said]):
    """A source that spoke and did not decide."""

    statement: Statement[_Said]
    because: Reason


@dataclass(frozen=True, slots=True)
class Ruling:
    """The rule that holds, who said so, and who else spoke.

    `relaxed_by` is the lowest source that may allow less, of a general rule that decides. What it
    comes to where it may go back only so often is for `over` to say. `failed` is how much of
    what is there failed its look, in thousandths, where that is not all of it; `passed` says
    that all of it did.
    """

    rule: Rule
    source: Source
    said_by: Reference
    criterion: str | None
    overruled: tuple[Overruled[Rule], ...] = ()
    relaxed_by: RelaxedBy | None = None
    refits: Refits = NO_REFITS
    failed: int | None = None
    passed: bool = False

    def renewals(self, opened: int) -> int:
        """How often a new one goes in for certain, if a joint is opened so often."""
        if self.rule == Rule.RENEW:
            return opened
        return opened - len(self.refits.looked_at(opened))

    def over(self, opened: int) -> Ruling:
        """The ruling where its joint is opened so often: by its limit it may never go back."""
        if self.rule == Rule.RENEW or not self.refits.spent or self.refits.looked_at(opened):
            return self
        times = because(RuleReason.WENT_BACK, times=self.refits.before, limit=self.refits.limit)
        return self._limited(times)

    def worn_out(self, opened: int) -> Ruling:
        """The ruling on those new ones, where it also goes back and reaches its limit."""
        facts: dict[str, Value] = {"times": opened, "limit": self.refits.limit}
        if self.refits.before:
            reason = because(RuleReason.LIMIT_BY_PLAN, before=self.refits.before, **facts)
        else:
            reason = because(RuleReason.LIMIT_IN_PLAN, **facts)
        return self._limited(reason)

    def renewed_by_jobs(self, jobs: Sequence[str]) -> Ruling:
        """The ruling where jobs are there to renew it; what never goes back stays as it is."""
        if self.rule == Rule.RENEW:
            return self
        lost: RuleStatement = Statement(self.source, self.rule, self.said_by, self.criterion)
        stricter = because(RuleReason.STRICTER, source=Source.JOB)
        overruled: tuple[Overruled[Rule], ...] = (*self.overruled, Overruled(lost, stricter))
        reason = because(RuleReason.JOB_RENEWS, jobs=tuple(jobs))
        return Ruling(Rule.RENEW, Source.JOB, reason, None, overruled, refits=self.refits)

    @property
    def new_first(self) -> bool:
        """Whether a new one goes in at the first opening, of what goes back at a later one."""
        return self.rule != Rule.RENEW and self.refits.spent

    def _limited(self, reason: Reason) -> Ruling:
        lost = Statement(self.source, self.rule, self.said_by, self.criterion)
        overruled = (*self.overruled, Overruled(lost, because(RuleReason.LIMIT_REACHED)))
        return Ruling(Rule.RENEW, Source.HISTORY, reason, None, overruled, refits=self.refits)


_SILENCE = Statement(Source.NONE, Rule.RENEW, because(RuleReason.NOBODY_ALLOWS))


@dataclass(frozen=True, slots=True)
class KindSays:
    """What the rules of a kind come to in one situation.

    `bars` are all general rules that hold in it: below the source that each names, nobody may
    allow less than it.
    """

    general: RuleStatement
    policy: RuleStatement | None = None
    bars: tuple[RuleStatement, ...] = ()


def kind_says(rules: Iterable[SituationRule], situation: Situation) -> KindSays:
    """What general rules and workshop policy say of a kind in a situation."""
    holding = [rule for rule in rules if rule.holds(situation)]
    general = [rule for rule in holding if rule.statement.source == Source.GENERAL]
    policy = [rule for rule in holding if rule.statement.source == Source.WORKSHOP]
    return KindSays(
        general=_strictest(general) or _SILENCE,
        policy=_strictest(policy),
        bars=tuple(rule.statement for rule in general),
    )


def _strictest(rules: Sequence[SituationRule]) -> RuleStatement | None:
    """What one source says where all these rules hold; None if there are none.

    The most exact rule speaks. A less exact one is refined by it, unless it bars more than its
    own source: then it holds as well.
    """
    if not rules:
        return None
    exactest = max(rule.exactness for rule in rules)
    speaking = [
        rule
        for rule in rules
        if rule.exactness == exactest or rule.statement.relaxed_by != RelaxedBy.WORKSHOP
    ]
    return max(speaking, key=_weight).statement


def _weight(rule: SituationRule) -> tuple[object, ...]:
    """The stricter, the firmer, the more exact; then by its text, so that order never decides."""
    said = rule.statement
    return (
        STRICTNESS[said.rule],
        _BARRIER[said.relaxed_by],
        rule.exactness,
        str(said.said_by),
        said.criterion or "",
    )


def resolve_sources(
    base: Statement[_Said],
    stated: Iterable[Statement[_Said]],
    strictness: Mapping[_Said, int],
    bars: Sequence[Statement[_Said]] = (),
) -> tuple[Statement[_Said], tuple[Overruled[_Said], ...]]:
    """Which of several sources decides, and who else spoke.

    The base holds where nobody else speaks. A stated source replaces it when it is as strict, or
    when neither the base nor any of the `bars` keeps that source from allowing less. Among those
    the highest decides (maker, leaflet, workshop); a lower one counts only where it is stricter.
    `strictness` ranks what they may say.
    """
    heard: list[Statement[_Said]] = []
    barred: list[tuple[Statement[_Said], Statement[_Said]]] = []
    in_order = sorted(
        stated, key=lambda s: (-AUTHORITY[s.source], -strictness[s.rule], str(s.said_by))
    )
    for statement in in_order:
        bar = _bar_against(statement, (base, *bars), strictness)
        if bar is None:
            heard.append(statement)
        else:
            barred.append((statement, bar))
    winner = heard[0] if heard else base
    overruled: list[Overruled[_Said]] = []
    for statement, bar in barred:
        # Allowed less by somebody higher, what it asks for still counts.
        if strictness[statement.rule] > strictness[winner.rule]:
            heard.append(statement)
        else:
            overruled.append(Overruled(statement, _not_allowed(bar)))
    for statement in heard[1:]:
        if strictness[statement.rule] > strictness[winner.rule]:
            overruled.append(
                Overruled(winner, because(RuleReason.STRICTER, source=statement.source))
            )
            winner = statement
        else:
            same = statement.source == winner.source
            code = RuleReason.STRICTER if same else RuleReason.RANKS_ABOVE
            overruled.append(Overruled(statement, because(code, source=winner.source)))
    if winner is not base and base.source != Source.NONE:
        overruled.append(
            Overruled(base, because(RuleReason.SPEAKS_OF_THIS_CASE, source=winner.source))
        )
    return winner, tuple(overruled)


def _bar_against(
    statement: Statement[_Said],
    bars: Iterable[Statement[_Said]],
    strictness: Mapping[_Said, int],
) -> Statement[_Said] | None:
    """The strongest bar that a source may not pass with what it says."""
    against = [
        bar
        for bar in bars
        if strictness[statement.rule] < strictness[bar.rule]
        and AUTHORITY[statement.source] < _BARRIER[bar.relaxed_by]
    ]
    return max(
        against, key=lambda bar: (_BARRIER[bar.relaxed_by], strictness[bar.rule]), default=None
    )


def ruling(kind: KindSays, stated: Sequence[RuleStatement], refits: Refits = NO_REFITS) -> Ruling:
    """Settle what several sources say about one position (see `resolve_sources`)."""
    base = kind.general
    policy = [kind.policy] if kind.policy else []
    winner, overruled = resolve_sources(base, [*stated, *policy], STRICTNESS, kind.bars)
    return Ruling(
        rule=winner.rule,
        source=winner.source,
        said_by=winner.said_by,
        criterion=winner.criterion,
        overruled=overruled,
        relaxed_by=base.relaxed_by if winner is base and base.source == Source.GENERAL else None,
        refits=refits,
    )


def strictest(rulings: Iterable[Ruling]) -> Ruling:
    """Of what several situations of one position come to: the strictest, then the firmest.

    The rest only makes that their order never decides.
    """
    return max(
        rulings,
        key=lambda one: (
            STRICTNESS[one.rule],
            one.relaxed_by is not None and _BARRIER[one.relaxed_by],
            one.source,
            str(one.said_by),
            one.criterion or "",
        ),
    )


def _not_allowed(base: Statement[_Said]) -> Reason:
    if base.relaxed_by == RelaxedBy.NOBODY:
        return because(RuleReason.RELAXED_BY_NOBODY, source=base.source)
    return because(RuleReason.RELAXED_ONLY_BY, source=base.source, above=Source(base.relaxed_by))
