"""Judging a plan: what each position and each use comes to, and what stops it.

Facts in, a draft out; nothing is read here. `view` puts the draft into a view.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace

from kitting.calc.planning.access import Access, access
from kitting.calc.planning.needs import FitFacts, PartNeed, UseNeed, judge, part_needs, use_needs
from kitting.calc.planning.packets import Taking, cover
from kitting.calc.planning.renewal import Verdict
from kitting.calc.planning.variants import Settled, SplitFacts, settle
from kitting.facts.conditions import CarFacts
from kitting.facts.reasons import Reason
from kitting.facts.words import Rule
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.rubber_check import Clash, RubberCheck


@dataclass(frozen=True, slots=True)
class OpenSplit:
    """A split nobody has settled, and the jobs that wait for it."""

    split: SplitFacts
    because: Reason
    joints: tuple[int, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JudgedPart:
    """What one position comes to: the rule and who decided it, the amount, and what stops it.

    `opened` is how often its joint is opened, `jobs` are those it is opened for. It is stopped by
    open variants (`variants`, their codes) and by a `clash` of its rubber; `rubber` holds every
    contact of it. `worn_out` is renewed for certain beside it, at a later opening.
    """

    fit: FitFacts
    item: ItemFacts
    verdict: Verdict
    quantity: int
    opened: int
    jobs: tuple[str, ...]
    variants: tuple[str, ...] = ()
    clash: Clash | None = None
    rubber: RubberCheck | None = None
    worn_out: int = 0

    @property
    def stopped(self) -> bool:
        """Whether nothing of it is ordered, picked or labelled."""
        return bool(self.variants) or self.clash is not None

    @property
    def fates(self) -> tuple[JudgedPart, ...]:
        """What becomes of it, each with its amount: it may go back first and be renewed later."""
        found = (self,) if self.quantity else ()
        if not self.worn_out:
            return found
        later = self.verdict.worn_out(self.opened)
        return (*found, replace(self, verdict=later, quantity=self.worn_out, worn_out=0))


@dataclass(frozen=True, slots=True)
class JudgedUse:
    """What one use comes to; `fit` is set for a lubricant of a position, stopped as a part is.

    `how` tells how the amount arose.
    """

    item: ItemFacts
    quantity: int
    how: Reason
    jobs: tuple[str, ...]
    opened: int
    joint: int | None
    step: int | None
    fit: FitFacts | None = None
    variants: tuple[str, ...] = ()
    clash: Clash | None = None

    @property
    def stopped(self) -> bool:
        """Whether nothing of it is ordered, picked or labelled."""
        return bool(self.variants) or self.clash is not None


@dataclass(frozen=True, slots=True)
class Draft(PlanFacts):
    """A plan as it was judged.

    `known` is the car with every split settled that can be. Amounts of `parts` and `uses` are for
    the jobs that may go on; `stopped_parts` and `stopped_uses` are what stopped jobs would add.
    `taking` says what packets bring.
    """

    known: CarFacts
    open_splits: tuple[OpenSplit, ...]
    verdicts: Mapping[int, Verdict]
    parts: tuple[JudgedPart, ...]
    stopped_parts: tuple[JudgedPart, ...]
    uses: tuple[JudgedUse, ...]
    stopped_uses: tuple[JudgedUse, ...]
    taking: Taking

    @property
    def every_part(self) -> tuple[JudgedPart, ...]:
        """The parts of all jobs, the stopped ones last."""
        return (*self.parts, *self.stopped_parts)

    @property
    def every_use(self) -> tuple[JudgedUse, ...]:
        """The uses of all jobs, the stopped ones last."""
        return (*self.uses, *self.stopped_uses)

    def group_of(self, fit: FitFacts) -> tuple[int, str] | None:
        """The group that is renewed whole: by unit and name, whichever joints it reaches across."""
        if fit.group is None:
            return None
        return self.contents.joints[fit.joint].unit, fit.group

    def in_group(self, part: JudgedPart) -> int:
        """What is renewed if one of a part's group fails, in thousandths."""
        group = self.group_of(part.fit)
        return sum(
            other.quantity
            for other in (self.every_part if part.stopped else self.parts)
            if self.group_of(other.fit) == group and other.verdict.rule != Rule.RENEW
        )

    def stopped_by(self, job: str) -> tuple[str, ...]:
        """Codes of the splits that stop a job."""
        return _stops(self.open_splits, [job])


def judge_plan(facts: PlanFacts, checks: Mapping[int, RubberCheck]) -> Draft:
    """Judge what was read; `checks` are the contacts of every rubber, by fit key."""
    contents = facts.contents
    known, open_splits = _settle_splits(facts)
    stopped = {job for split in open_splits for job in split.stops}
    verdicts = {
        fit.key: judge(
            fit,
            contents.joints[fit.joint],
            contents.kind_rules.get(contents.items[fit.item].kind.key, ()),
            contents.item_rules.get(fit.item, ()),
            facts.car.refits.get((fit.joint, fit.position), 0),
        )
        for fit in contents.fits
    }

    def asked(taken: Access) -> tuple[dict[int, PartNeed], dict[tuple[str, int], UseNeed]]:
        parts = part_needs(taken, contents.fits, verdicts, known)
        return parts, use_needs(taken, contents.uses, parts.values(), known)

    every_part, every_use = active_parts, active_uses = asked(facts.access)
    if stopped:
        needs = {facts.names.jobs[job.key]: job.needs for job in facts.jobs}
        going_on = {job: steps for job, steps in needs.items() if job not in stopped}
        active_parts, active_uses = asked(access(facts.work.nodes, going_on))
    stops = _Stops(facts, open_splits, checks)
    parts = tuple(stops.part(need, ()) for need in active_parts.values())
    uses = tuple(stops.use(need, ()) for need in active_uses.values())
    return Draft(
        **{field.name: getattr(facts, field.name) for field in fields(PlanFacts)},
        known=known,
        open_splits=open_splits,
        verdicts=verdicts,
        parts=parts,
        stopped_parts=tuple(
            stops.part(need, _stops(open_splits, need.jobs))
            for need in _parts_beyond(every_part, active_parts)
        ),
        uses=uses,
        stopped_uses=tuple(
            stops.use(need, _stops(open_splits, need.jobs))
            for need in _uses_beyond(every_use, active_uses)
        ),
        taking=_taking(facts, parts, uses),
    )


@dataclass(frozen=True, slots=True)
class _Stops:
    """Needs as they are judged, with what stops them."""

    facts: PlanFacts
    open_splits: Sequence[OpenSplit]
    checks: Mapping[int, RubberCheck]

    def part(self, need: PartNeed, variants: tuple[str, ...]) -> JudgedPart:
        rubber = self.checks.get(need.fit.key)
        return JudgedPart(
            fit=need.fit,
            item=self.facts.contents.items[need.fit.item],
            verdict=need.verdict,
            quantity=need.quantity,
            opened=need.opened,
            jobs=need.jobs,
            variants=variants,
            clash=rubber.clash(lubricant=False) if rubber else None,
            rubber=rubber,
            worn_out=need.worn_out,
        )

    def use(self, need: UseNeed, variants: tuple[str, ...]) -> JudgedUse:
        rubber = self.checks.get(need.fit.key) if need.fit else None
        return JudgedUse(
            item=self.facts.contents.items[need.item],
            quantity=need.quantity,
            how=need.how,
            jobs=need.jobs,
            opened=need.opened,
            joint=need.joint,
            step=need.step,
            fit=need.fit,
            variants=variants,
            clash=rubber.clash(lubricant=True) if rubber else None,
        )


def _stops(open_splits: Iterable[OpenSplit], jobs: Sequence[str]) -> tuple[str, ...]:
    """Codes of the splits that stop any of the jobs."""
    found = (one.split.code for job in jobs for one in open_splits if job in one.stops)
    return tuple(dict.fromkeys(found))


def _settle_splits(facts: PlanFacts) -> tuple[CarFacts, tuple[OpenSplit, ...]]:
    """The car with every split settled that can be, and the open ones that touch this plan."""
    known, still_open, touched = facts.car.facts, [], list(_touched(facts))
    for split in facts.car.splits:
        answer = settle(split, facts.car.facts)
        if isinstance(answer, Settled):
            known = known.settling(split.key, answer.option)
            continue
        options = {option.key for option in split.options}
        here = [(joint, jobs) for option, joint, jobs in touched if option in options]
        if here:
            joints = dict.fromkeys(joint for joint, _ in here if joint is not None)
            stops = {job for _, jobs in here for job in jobs}
            still_open.append(OpenSplit(split, answer.because, tuple(joints), tuple(sorted(stops))))
    return known, tuple(still_open)


def _touched(facts: PlanFacts) -> Iterable[tuple[int, int | None, tuple[str, ...]]]:
    """The options that fits and uses wait for: (option, joint or None for a step, jobs)."""
    for fit in facts.contents.fits:
        for condition in fit.conditions:
            for option in condition.options:
                yield option, fit.joint, facts.access.jobs_of_joint(fit.joint)
    for use in facts.contents.uses:
        for condition in use.conditions:
            for option in condition.options:
                if use.joint is not None:
                    yield option, use.joint, facts.access.jobs_of_joint(use.joint)
                else:
                    yield option, None, facts.access.asked_by[use.step or 0]


def _parts_beyond(
    everything: Mapping[int, PartNeed], active: Mapping[int, PartNeed]
) -> Iterable[PartNeed]:
    """The parts that all jobs ask for beyond what the jobs that may go on ask for."""
    for key, need in everything.items():
        going_on = active.get(key)
        more, later = need.quantity, need.worn_out
        if going_on is not None:
            more, later = more - going_on.quantity, later - going_on.worn_out
        if more > 0 or later > 0:
            yield replace(need, quantity=max(0, more), worn_out=max(0, later))


def _uses_beyond(
    everything: Mapping[tuple[str, int], UseNeed], active: Mapping[tuple[str, int], UseNeed]
) -> Iterable[UseNeed]:
    """What is used up by all jobs beyond what the jobs that may go on use up."""
    for key, need in everything.items():
        more = need.quantity - (active[key].quantity if key in active else 0)
        if more > 0:
            yield replace(need, quantity=more)


def _taking(facts: PlanFacts, parts: Iterable[JudgedPart], uses: Iterable[JudgedUse]) -> Taking:
    """What has to be taken of what is renewed and used up, packets taken into account."""
    demand: dict[int, int] = defaultdict(int)
    for fate in (fate for part in parts for fate in part.fates):
        if fate.verdict.rule == Rule.RENEW and not fate.stopped:
            demand[fate.item.key] += fate.quantity
    for use in uses:
        if not use.stopped:
            demand[use.item.key] += use.quantity
    items = facts.contents.items
    only_in_packets = {key for key, item in items.items() if not item.sold_singly}
    return cover(demand, facts.contents.packets, only_in_packets)
