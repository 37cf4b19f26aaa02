"""Whether the beads of a sealant at one place can be laid within its open time."""

from __future__ import annotations

from kitting.calc.planning.needs import UseNeed
from kitting.calc.tightening.cure import laying
from kitting.facts.conditions import CarFacts, hold
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import because
from kitting.facts.tightening_reasons import LayingRemark
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.services.planning.facts import ItemFacts, PlanFacts


def bead_not_in_time(
    facts: PlanFacts, need: UseNeed, item: ItemFacts, known: CarFacts
) -> Doubt | None:
    """That a bead takes longer than its product stays open, or that nobody can tell.

    All beads of a place are one.
    """
    if need.bead is None or need.fit is not None:
        return None
    here = (need.item, need.joint, need.step)
    together = sum(
        use.measured.bead or 0
        for use in facts.contents.uses
        if (use.item, use.joint, use.step) == here and hold(use.conditions, known)
    )
    told = laying(max(together, need.bead), item.laying_speed, item.open_minutes)
    if told.code is LayingRemark.IN_TIME:
        return None
    names = facts.names
    place = names.joints[need.joint] if need.joint is not None else names.steps[need.step or 0]
    too_long = told.code is LayingRemark.TOO_LONG
    code = DoubtReason.BEAD_TOO_LONG if too_long else DoubtReason.BEAD_TIME_NOT_STATED
    reason = because(code, item=item.code, place=place, why=told)
    return Doubt(Verdict.UNKNOWN, Aspect.FIGURE, reason)
