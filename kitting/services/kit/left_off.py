"""What of a plan is left off its kit, or is not fine, and why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from kitting.actions import Action, next_step
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import ContactPlace, ContactReason
from kitting.facts.reasons import Reason, RefusedError, Value, because
from kitting.facts.verdicts import Aspect, Doubt, Verdict, worst_first
from kitting.views.kit import LeftOff
from kitting.views.plan import PlanView


def jobs_of(plan: PlanView) -> tuple[str, ...]:
    """The jobs of a plan by code and name."""
    return tuple(f"{job.code} {job.name}" for job in plan.jobs)


def left_off(plan: PlanView) -> tuple[Reason, ...]:
    """What is left off, with the check that would let it go on."""
    return tuple(doubt.because for doubt in _left_off(plan))


def _left_off(plan: PlanView) -> Iterator[Doubt]:
    for clash in plan.clashes:
        what = clash.what if clash.against.on_rubber else clash.item
        told = because(LeftOff.CLASH, what=what, clash=clash.reason)
        yield Doubt(Verdict.NO, Aspect.RUBBER, told)
    for split in plan.unresolved:
        check = because(
            LeftOff.STOPPED, jobs=split.stops, question=split.question, check=split.check
        )
        yield Doubt(Verdict.STOPPED, Aspect.VARIANT, check)


def kit_doubts(plan: PlanView) -> tuple[Doubt, ...]:
    """What is left off a kit and what of it is not fine, the worst first."""
    rest = (
        doubt
        for doubt in plan.doubts
        if doubt.aspect is not Aspect.VARIANT
        and (doubt.aspect, doubt.verdict) != (Aspect.RUBBER, Verdict.NO)
    )
    return worst_first((*_left_off(plan), *opinions_at_a_glance(rest)))


def _is_opinion(why: Value) -> bool:
    """Whether it is an opinion only: not what is overruled, or not known, or too hot."""
    return isinstance(why, Reason) and why.code in (
        ContactReason.RATED,
        ContactReason.RATED_WITH_NOTE,
        ContactReason.MEDIA_SETTLE,
    )


def opinions_at_a_glance(doubts: Iterable[Doubt]) -> Iterator[Doubt]:
    """Doubts with the opinions of how each rubber stands what touches it as one for each item."""
    opinions: dict[object, dict[str, None]] = defaultdict(dict)
    for doubt in doubts:
        reason = doubt.because
        if doubt.verdict is not Verdict.UNKNOWN or not isinstance(reason.code, ContactPlace):
            yield doubt
        # Of a lubricant the ring that it touches says it already.
        elif reason["item"] != reason["what"]:
            if _is_opinion(reason["why"]):
                opinions[reason["item"]][str(reason["what"])] = None
            else:
                yield doubt
    for item, what in opinions.items():
        glance = because(DoubtReason.OPINIONS, item=str(item), what=tuple(what))
        yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, glance)


def refuse_stopped(plan: PlanView) -> None:
    """Raise RefusedError when everything of a plan is stopped: there is nothing to pick."""
    if plan.unresolved and all(entry.stopped_by for entry in plan.entries):
        raise RefusedError(
            "nothing of this plan can be picked yet",
            left_off(plan),
            then=[
                next_step(
                    Action.SETTLE_VARIANT,
                    registration=f'"{plan.vehicle.registration}"',
                    variant=split.split,
                )
                for split in plan.unresolved
            ],
        )
