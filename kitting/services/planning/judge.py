"""Judging a plan: what each position and each use comes to, and what stands in its way.

Facts in, a draft out; nothing is read here. `view` puts the draft into a view.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace

from kitting.calc.planning.needs import (
    FitFacts,
    PartNeed,
    UseFacts,
    UseNeed,
    part_needs,
    use_needs,
)
from kitting.calc.planning.open_variants import Entry, Outcome, outcome
from kitting.calc.planning.packets import Taking, cover
from kitting.calc.planning.renewal import Ruling
from kitting.calc.planning.variants import SplitFacts, may_come_out, settle
from kitting.facts.conditions import CarFacts, hold
from kitting.facts.verdicts import Doubt, worst_first
from kitting.facts.words import NeedRule, Rule, Source
from kitting.services.planning.beads import Bead, setting_doubts
from kitting.services.planning.doubts import come_to, part_doubts, use_doubts
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.judged import Draft, JudgedPart, JudgedUse, OpenSplit
from kitting.services.planning.question import Question
from kitting.services.planning.rubber_check import Checks, RubberCheck
from kitting.services.planning.rubber_touching import joints_of_use, may_meet
from kitting.services.planning.rulings import hanging_renewals, renewed_once, rulings_of
from kitting.services.planning.splits import options_of_fit, options_of_use, settle_splits
from kitting.services.planning.stand_ins import ONE_FOR_ONE, StandIn, StandIns
from kitting.services.planning.thread_states import ThreadStates, thread_states


def judge_plan(facts: PlanFacts, stands: StandIns, checks: Checks) -> Draft:
    """Judge what was read: `stands` says what stands for each item, `checks` how rubbers do."""
    known, still_open = settle_splits(facts.car)
    rulings = rulings_of(facts, stands)
    possible = [may_come_out(split, known) for split in still_open]
    fits, uses = _fits_outcome(facts, known, possible), _uses_outcome(facts, known, possible)
    fits = _held_back(fits, hanging_renewals(facts, rulings))
    threads = thread_states(facts, known, (fits, uses), rulings)
    judging = _Judging(facts, stands, checks, rulings, still_open, threads, known)
    contents = facts.contents

    def taken(
        of_fits: Iterable[int], of_uses: Iterable[int], waiting: Mapping[int, tuple[int, ...]]
    ) -> tuple[tuple[JudgedPart, ...], list[JudgedUse]]:
        """The needs of some fits and uses, with the lubricants of the fits."""
        chosen, consumed = set(of_fits), set(of_uses)
        some = [replace(fit, conditions=()) for fit in contents.fits if fit.key in chosen]
        parts = {
            key: renewed_once(need)
            for key, need in part_needs(facts.access, some, rulings, known).items()
        }
        used = [replace(use, conditions=()) for use in contents.uses if use.key in consumed]
        needs = use_needs(facts.access, used, parts.values(), known)
        return (
            tuple(
                part
                for need in parts.values()
                for part in judging.parts(need, waiting.get(need.fit.key, ()))
            ),
            [
                judged
                for need in needs.values()
                for judged in judging.uses(
                    need, waiting.get(need.fit.key, ()) if need.fit is not None else ()
                )
            ],
        )

    parts, used = taken(fits.certain, uses.certain, {})
    stopped_parts, stopped_uses = taken(fits.waiting, (), fits.waiting)
    stopped_uses += judging.waiting_uses(known, uses)
    return Draft(
        **{field.name: getattr(facts, field.name) for field in fields(PlanFacts)},
        known=known,
        open_splits=tuple(_touched(facts, still_open, (fits, uses), rulings)),
        rulings=rulings,
        parts=parts,
        stopped_parts=stopped_parts,
        uses=tuple(used),
        stopped_uses=tuple(stopped_uses),
        taking=_taking(facts, parts, used),
    )


def _fits_outcome(facts: PlanFacts, known: CarFacts, still_open: Sequence[SplitFacts]) -> Outcome:
    """Fits of one position are the same where they and their tightening are."""
    return outcome(
        (
            Entry(
                key=fit.key,
                place=(fit.joint, fit.position),
                what=(
                    replace(fit, key=0, conditions=()),
                    facts.contents.tightenings.get(fit.key),
                ),
                conditions=fit.conditions,
            )
            for fit in facts.contents.fits
        ),
        known,
        still_open,
    )


def _held_back(fits: Outcome, hanging: Mapping[int, Collection[int]]) -> Outcome:
    """The outcome with what is certain but for the rule of it among what waits."""
    more = {key: tuple(sorted(hanging[key])) for key in fits.certain & hanging.keys()}
    return Outcome(fits.certain - more.keys(), {**fits.waiting, **more})


def _uses_outcome(facts: PlanFacts, known: CarFacts, still_open: Sequence[SplitFacts]) -> Outcome:
    return outcome(
        (
            Entry(
                key=use.key,
                place=(use.joint, use.step, use.item),
                what=replace(use, key=0, conditions=()),
                conditions=use.conditions,
            )
            for use in facts.contents.uses
        ),
        known,
        still_open,
    )


@dataclass(frozen=True, slots=True)
class _Judging:
    """Needs as they are judged: what stands for what is asked, and what is in doubt of it."""

    facts: PlanFacts
    stands: StandIns
    checks: Checks
    rulings: Mapping[int, Ruling]
    still_open: tuple[SplitFacts, ...]
    threads: ThreadStates
    known: CarFacts

    def parts(self, need: PartNeed, waits_for: Iterable[int]) -> Iterable[JudgedPart]:
        asked = self.facts.contents.items[need.fit.item]
        variants = self._codes(waits_for)
        for one in self.stands.of(asked, NeedRule(need.ruling.rule)):
            rubbers = self.checks.get((need.fit.key, one.item.key), ())
            yield JudgedPart(
                fit=need.fit,
                asked=asked,
                item=one.item,
                ruling=need.ruling,
                quantity=need.quantity * one.amount // ONE_FOR_ONE,
                opened=need.opened,
                jobs=need.jobs,
                doubts=self._doubts(need, asked, one, variants),
                variants=variants,
                options=options_of_fit(self.facts, self.still_open, need.fit.key)
                if variants
                else (),
                clash=next((found for one in rubbers if (found := one.clash())), None),
                rubbers=rubbers,
                worn_out=need.worn_out * one.amount // ONE_FOR_ONE,
                contradiction=self.threads.contradictions.get(need.fit.key),
            )

    def _doubts(
        self, need: PartNeed, asked: ItemFacts, one: StandIn, variants: tuple[str, ...]
    ) -> tuple[Doubt, ...]:
        question = Question(
            facts=self.facts,
            fit=need.fit,
            rule=need.ruling.rule,
            asked=asked,
            stand_in=one,
            variants=variants,
            locked=need.fit.key in self.threads.locked,
            contradiction=self.threads.contradictions.get(need.fit.key),
            by_maker=need.ruling.source is Source.MAKER,
        )
        return part_doubts(question, self.stands, self.checks)

    def uses(
        self, need: UseNeed, waits_for: Iterable[int], use: int | None = None
    ) -> Iterable[JudgedUse]:
        """What a use comes to; `use` is its key where it is no lubricant of a position."""
        asked, variants = self.facts.contents.items[need.item], self._codes(waits_for)
        rubbers = self._rubbers(need)
        options: tuple[str, ...] = ()
        if variants and need.fit is not None:
            options = options_of_fit(self.facts, self.still_open, need.fit.key)
        elif variants:
            options = options_of_use(self.facts, self.still_open, use)
        for one in self.stands.of(asked, NeedRule.USE):
            clashes = (
                check.clash_with(come_to(need, fit), one.item.code) for fit, check in rubbers
            )
            yield JudgedUse(
                asked=asked,
                item=one.item,
                quantity=need.quantity * one.amount // ONE_FOR_ONE,
                how=need.how,
                jobs=need.jobs,
                opened=need.opened,
                joint=need.joint,
                step=need.step,
                fit=need.fit,
                doubts=self._use_doubts(need, one.item, variants),
                variants=variants,
                options=options,
                clash=next((found for found in clashes if found), None),
                bead=need.bead,
            )

    def _use_doubts(
        self, need: UseNeed, item: ItemFacts, variants: tuple[str, ...]
    ) -> tuple[Doubt, ...]:
        asked = self.facts.contents.items[need.item]
        in_a_ring = self.stands.in_a_ring(asked)
        may_come = [one.item.code for one in self.stands.may_come(asked)]
        waiting = (variants, in_a_ring, may_come)
        found = use_doubts(self.facts, need, item, self._rubbers(need), waiting)
        setting = tuple(setting_doubts(self.facts, need, item, self._beads()))
        return worst_first((*found, *setting)) if setting else found

    def _beads(self) -> Iterator[Bead]:
        """The beads of everything that is laid for certain, by what stands for it."""
        items = self.facts.contents.items
        for use in self.facts.contents.uses:
            if use.measured.bead and hold(use.conditions, self.known):
                for one in self.stands.of(items[use.item], NeedRule.USE):
                    yield Bead(one.item.key, use.joint, use.step, use.measured.bead)

    def _rubbers(self, need: UseNeed) -> list[tuple[FitFacts, RubberCheck]]:
        """The rubbers at the joints that a use or a lubricant comes to."""
        joints = joints_of_use(self.facts, need.joint, need.step)
        fits = [fit for fit in self.facts.contents.fits if fit.joint in joints]
        if need.fit is not None:
            fits = [fit for fit in fits if may_meet(fit, need.fit, self.known)]
        by_key = {fit.key: fit for fit in fits}
        return [
            (by_key[fit], check)
            for (fit, _), checks in self.checks.items()
            if fit in by_key
            for check in checks
        ]

    def waiting_uses(self, known: CarFacts, uses: Outcome) -> Iterable[JudgedUse]:
        """Uses that wait for splits; no lubricant is among them."""
        waiting: list[UseFacts] = [
            replace(use, conditions=())
            for use in self.facts.contents.uses
            if use.key in uses.waiting
        ]
        for (_, key), need in use_needs(self.facts.access, waiting, (), known).items():
            yield from self.uses(need, uses.waiting[key], key)

    def _codes(self, splits: Iterable[int]) -> tuple[str, ...]:
        codes = {split.key: split.code for split in self.still_open}
        return tuple(dict.fromkeys(codes[split] for split in splits))


def _touched(
    facts: PlanFacts,
    still_open: Sequence[SplitFacts],
    outcomes: tuple[Outcome, Outcome],
    rulings: Mapping[int, Ruling],
) -> Iterable[OpenSplit]:
    """The open splits that something of this plan waits for."""
    fits, uses = outcomes
    waiting: dict[int, list[tuple[int | None, tuple[str, ...]]]] = defaultdict(list)
    looks: dict[int, list[int | None]] = defaultdict(list)
    for fit in facts.contents.fits:
        for split in fits.waiting.get(fit.key, ()):
            waiting[split].append((fit.joint, facts.access.jobs_of_joint(fit.joint)))
            if _goes_back(facts, fit, rulings[fit.key]):
                looks[split].append(fit.joint)
    for use in facts.contents.uses:
        for split in uses.waiting.get(use.key, ()):
            jobs = (
                facts.access.jobs_of_joint(use.joint)
                if use.joint is not None
                else facts.access.asked_by[use.step or 0]
            )
            waiting[split].append((use.joint, jobs))
    for place, jobs, splits in _waiting_work(facts):
        for split in splits:
            waiting[split].append((place, jobs))
    for one in still_open:
        if here := waiting.get(one.key):
            answer = settle(one, facts.car.facts)
            joints = dict.fromkeys(joint for joint, _ in here if joint is not None)
            stops = {job for _, jobs in here for job in jobs}
            only_looks = len(looks[one.key]) == len(here)
            yield OpenSplit(one, answer.because, tuple(joints), tuple(sorted(stops)), only_looks)


def _goes_back(facts: PlanFacts, fit: FitFacts, ruling: Ruling) -> bool:
    """Whether a position goes back with nothing fetched for it but a spare, and no figure."""
    return (
        ruling.rule is not Rule.RENEW
        and fit.lubricant is None
        and not facts.contents.items[fit.item].kind.threaded
        and fit.key not in facts.contents.tightenings
    )


def _waiting_work(
    facts: PlanFacts,
) -> Iterator[tuple[int | None, tuple[str, ...], Iterable[int]]]:
    """Joints, steps and services that wait for splits: the joint, the jobs, the splits' keys."""
    went = facts.access
    for joint, ways in went.joint_waits.items():
        yield joint, went.jobs_of_joint(joint), {one.split for way in ways for one in way}
    for step, ways in went.step_waits.items():
        yield None, went.asked_by[step], {one.split for way in ways for one in way}
    for job in facts.jobs:
        for service in job.services:
            if service.option is not None:
                yield None, (facts.names.jobs[job.key],), (service.option.split,)


def _taking(facts: PlanFacts, parts: Iterable[JudgedPart], uses: Iterable[JudgedUse]) -> Taking:
    """What has to be taken of what is renewed and used up, packets taken into account."""
    demand: dict[int, int] = defaultdict(int)
    spares: dict[int, int] = defaultdict(int)
    for fate in (fate for part in parts for fate in part.fates):
        if fate.ruling.rule == Rule.RENEW and not fate.stopped:
            demand[fate.item.key] += fate.quantity
        elif fate.ruling.rule == Rule.INSPECT and not fate.stopped:
            spares[fate.item.key] += fate.quantity
    for use in uses:
        if not use.stopped:
            demand[use.item.key] += use.quantity
    items = facts.contents.items
    only_in_packets = {key for key, item in items.items() if not item.sold_singly}
    return cover(demand, facts.contents.packets, only_in_packets, spares)
