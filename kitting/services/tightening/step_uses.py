"""What steps use up by themselves: told where the step is put back together, or filled in last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from kitting.facts.strip_down import PORT_CLOSERS
from kitting.facts.units import Quantity
from kitting.services.planning.judged import Draft, JudgedUse
from kitting.services.planning.uses import sourced, use_place
from kitting.views.plan import JointView
from kitting.views.refit import StepUseView


@dataclass(frozen=True, slots=True)
class StepUses:
    """What steps use, in the order of refitting.

    `at_joints` is by joint as the plan calls it; `fillings` are the fluids that opened joints hold
    back; `apart` is of steps that open no joint.
    """

    at_joints: dict[str, list[StepUseView]]
    fillings: tuple[StepUseView, ...]
    apart: tuple[StepUseView, ...]


def step_uses(
    facts: Draft, joints: Sequence[JointView], told: Collection[tuple[str, str]]
) -> StepUses:
    """What the steps of a draft use; `joints` in the order of refitting.

    Left out are caps and plugs, which come off, and what a sheet has `told` (place, item).
    """
    held = {
        facts.contents.fluids[fluid].medium
        for joint in facts.access.opened
        for fluid in facts.contents.joints[joint].fluids
    } - {None}
    at_joints: dict[str, list[StepUseView]] = defaultdict(list)
    fillings, apart = [], []
    for use, view in _views(facts, told):
        opened = next((joint.code for joint in joints if view.step in joint.opened_by), None)
        if use.bead is None and use.item.medium in held:
            fillings.append(view)
        elif opened is None:
            apart.append(view)
        else:
            at_joints[opened].append(view)
    return StepUses(at_joints, tuple(fillings), tuple(apart))


def _views(
    facts: Draft, told: Collection[tuple[str, str]]
) -> Iterator[tuple[JudgedUse, StepUseView]]:
    by_step: dict[int, list[JudgedUse]] = defaultdict(list)
    for use in facts.every_use:
        if use.step is not None and use.asked.kind.code not in PORT_CLOSERS:
            by_step[use.step].append(use)
    for step in reversed(facts.access.order):
        for use in by_step.get(step, ()):
            if (use_place(facts, use), use.item.code) in told:
                continue
            yield (
                use,
                StepUseView(
                    step=facts.names.steps[step],
                    step_name=facts.work.steps[step].name,
                    item=use.item.code,
                    name=use.item.name,
                    amount=Quantity(use.quantity, use.item.unit),
                    how=use.how,
                    sourced=sourced(facts, use),
                    left_off=use.stopped,
                    doubts=() if use.stopped else use.doubts,
                ),
            )
