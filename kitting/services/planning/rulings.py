"""What becomes of each position: what sources say, what a job is there for, what was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from kitting.calc.planning.needs import FitFacts, PartNeed, judge
from kitting.calc.planning.renewal import Ruling
from kitting.facts.plan_reasons import RuleReason
from kitting.facts.reasons import because
from kitting.facts.units import Quantity
from kitting.facts.words import Rule, Source
from kitting.services.planning.facts import PlanFacts
from kitting.services.planning.stand_ins import StandIns


def rulings_of(facts: PlanFacts, stands: StandIns) -> dict[int, Ruling]:
    """The ruling on every position of the opened joints, by fit key."""
    failed = _failed(facts, stands)
    passed = stands.kit.passed if stands.kit is not None else frozenset()
    names = facts.names.joints
    return {
        fit.key: _ruling(facts, failed, fit, passed=(names[fit.joint], fit.position) in passed)
        for fit in facts.contents.fits
    }


def hanging_renewals(facts: PlanFacts, rulings: Mapping[int, Ruling]) -> dict[int, set[int]]:
    """Positions that go back but for a job which opens them under open options only.

    By fit key, with the keys of the splits that it hangs on.
    """
    found: dict[int, set[int]] = {}
    for fit in facts.contents.fits:
        if rulings[fit.key].source is Source.JOB:
            waits = [facts.access.job_waits.get((job, fit.joint)) for job in _renewing(facts, fit)]
            if waits and None not in waits:
                found[fit.key] = {
                    one.split for ways in waits if ways for way in ways for one in way
                }
    return found


def renewed_once(need: PartNeed) -> PartNeed:
    """What failed, or a job renews, is renewed once; more often only by its limit."""
    refits, source = need.ruling.refits, need.ruling.source
    if source is Source.FINDING:
        times = refits.renewed_if_failed(need.opened)
        failed = need.ruling.failed
        if failed is not None:
            there = need.fit.quantity
            some = refits.renewed_if_some_failed(need.opened, failed, there)
            return replace(need, quantity=some)
    elif source is Source.JOB:
        times = refits.renewed_at_first(need.opened)
    else:
        return need
    return replace(need, quantity=need.fit.quantity * times)


@dataclass(frozen=True, slots=True)
class _Failure:
    """Where it was seen that something failed; `some` is how much, where that is not all."""

    position: str
    some: int | None = None


def _ruling(
    facts: PlanFacts, failed: Mapping[int, _Failure], fit: FitFacts, *, passed: bool
) -> Ruling:
    """The rule of one position; what failed its inspection is renewed."""
    contents = facts.contents
    ruling = judge(
        fit,
        contents.joints[fit.joint],
        contents.kind_rules.get(contents.items[fit.item].kind.key, ()),
        contents.item_rules.get(fit.item, ()),
        facts.car.refits.get((fit.joint, fit.position), 0),
    )
    ruling = ruling.renewed_by_jobs(jobs) if (jobs := _renewing(facts, fit)) else ruling
    seen = failed.get(fit.key)
    if seen is None or ruling.rule is Rule.RENEW:
        return replace(ruling, passed=True) if passed and ruling.rule is Rule.INSPECT else ruling
    if seen.some is None:
        found = because(RuleReason.FOUND_FAILED, position=seen.position)
    else:
        unit = contents.items[fit.item].unit
        found = because(
            RuleReason.FOUND_SOME_FAILED,
            failed=Quantity(seen.some, unit), all=Quantity(fit.quantity, unit),
            position=seen.position,
        )  # fmt: skip
    return replace(ruling, rule=Rule.RENEW, source=Source.FINDING, said_by=found, failed=seen.some)


def _renewing(facts: PlanFacts, fit: FitFacts) -> tuple[str, ...]:
    """The jobs that open a position and are there to renew it, as they are called."""
    opening = facts.access.jobs_of_joint(fit.joint)
    kind = facts.contents.items[fit.item].kind.key
    return tuple(
        name
        for job in facts.jobs
        if (name := facts.names.jobs[job.key]) in opening
        and any(one.names(fit, kind) for one in job.renews)
    )


def _failed(facts: PlanFacts, stands: StandIns) -> dict[int, _Failure]:
    """The fits that failed, and those that are renewed with them, by fit key.

    Of a group all is renewed, however many pieces failed.
    """
    if stands.kit is None or not stands.kit.failed:
        return {}
    fits, names = facts.contents.fits, facts.names.joints
    seen = [fit for fit in fits if (names[fit.joint], fit.position) in stands.kit.failed]
    with_it = {group: fit.position for fit in seen if (group := facts.group_of(fit))}
    found = {
        fit.key: _Failure(with_it[group])
        for fit in fits
        if (group := facts.group_of(fit)) is not None and group in with_it
    }
    for fit in seen:
        some = stands.kit.failed[names[fit.joint], fit.position]
        in_part = some is not None and some < fit.quantity and facts.group_of(fit) is None
        found[fit.key] = _Failure(fit.position, some if in_part else None)
    return found
