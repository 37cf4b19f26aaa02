"""What a plan leaves off its kit, and why."""

from __future__ import annotations

from kitting.actions import Action, next_step
from kitting.facts.reasons import Reason, RefusedError, because
from kitting.views.kit import LeftOff
from kitting.views.plan import PlanView


def going_on(plan: PlanView) -> tuple[str, ...]:
    """The jobs of a plan that are not stopped."""
    return tuple(f"{job.code} {job.name}" for job in plan.jobs if not job.stopped_by)


def left_off(plan: PlanView) -> tuple[Reason, ...]:
    """What is left off, with the check that would let it go on."""
    stopped = (
        because(LeftOff.STOPPED, jobs=split.stops, question=split.question, check=split.check)
        for split in plan.unresolved
    )
    clashes = (because(LeftOff.CLASH, clash=clash.reason) for clash in plan.clashes)
    return (*stopped, *clashes)


def refuse_stopped(plan: PlanView) -> None:
    """Raise RefusedError when every job of a plan is stopped: there is nothing to pick."""
    if not going_on(plan):
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
