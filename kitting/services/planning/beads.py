"""What has to set: whether its beads can be laid in time, and whether its cure time is known."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass

from kitting.calc.planning.needs import UseNeed
from kitting.calc.tightening.cure import laying
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason, Value, because
from kitting.facts.tightening_reasons import LayingRemark
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.services.planning.facts import ItemFacts, PlanFacts

# Laid by bead, film or drops: it has to set before the car may be used.
_LAID = (AmountReason.BEAD, AmountReason.FILM, AmountReason.DROPS)


@dataclass(frozen=True, slots=True)
class Bead:
    """A bead of a product at a joint or a step; `length` in thousandths of a millimetre."""

    item: int
    joint: int | None
    step: int | None
    length: int


def laid_together(facts: PlanFacts, one: Bead, beads: Iterable[Bead]) -> int:
    """The length of all beads of a product that are laid before what one of them closes is closed.

    Those at one joint, those of a step that opens it too, and those of one step.
    """
    here = joints_laid(facts, one.joint, one.step)
    return sum(
        other.length
        for other in beads
        if other.item == one.item
        and (
            here & joints_laid(facts, other.joint, other.step)
            or (other.joint, other.step) == (None, one.step)
        )
    )


def joints_laid(facts: PlanFacts, joint: int | None, step: int | None) -> Set[int]:
    """The joints that are closed with what is used: its own, or those that its step opens."""
    if joint is not None:
        return {joint}
    return {key for key, by in facts.access.opened_by.items() if step in by}


def setting_doubts(
    facts: PlanFacts, need: UseNeed, item: ItemFacts, beads: Iterable[Bead]
) -> Iterator[Doubt]:
    """What of laying and setting a product at one place is not fine, or not known.

    `beads` are all of the plan.
    """
    late = _bead_not_in_time(facts, need, item, beads)
    if late is not None:
        yield late
    if _laid(need.how) and item.cure_minutes is None:
        reason = because(
            DoubtReason.CURE_TIME_NOT_STATED, item=item.code, place=_place(facts, need)
        )
        yield Doubt(Verdict.UNKNOWN, Aspect.FIGURE, reason)


def _laid(how: Value) -> bool:
    """Whether an amount is one that is laid, however often and with whatever note."""
    if not isinstance(how, Reason):
        return False
    return how.code in _LAID or any(_laid(part) for _, part in how.values)


def _place(facts: PlanFacts, need: UseNeed) -> str:
    if need.joint is not None:
        return facts.names.joints[need.joint]
    return facts.names.steps[need.step or 0]


def _bead_not_in_time(
    facts: PlanFacts, need: UseNeed, item: ItemFacts, beads: Iterable[Bead]
) -> Doubt | None:
    """That a bead takes longer than its product stays open, or that nobody can tell."""
    if need.bead is None or need.fit is not None:
        return None
    together = laid_together(facts, Bead(item.key, need.joint, need.step, need.bead), beads)
    told = laying(max(together, need.bead), item.laying_speed, item.open_minutes)
    if told.code is LayingRemark.IN_TIME:
        return None
    too_long = told.code is LayingRemark.TOO_LONG
    code = DoubtReason.BEAD_TOO_LONG if too_long else DoubtReason.BEAD_TIME_NOT_STATED
    reason = because(code, item=item.code, place=_place(facts, need), why=told)
    return Doubt(Verdict.UNKNOWN, Aspect.FIGURE, reason)
