"""Which cautions of a plan stand at a place: one answer for labels, strip sheet and refit sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kitting.views.plan import CautionView, JointView, PlanView, StepView


def caution_codes(steps: Iterable[StepView], joints: Iterable[JointView]) -> tuple[str, ...]:
    """The cautions of steps, and of joints with their systems and what they hold back."""
    carriers: tuple[StepView | JointView, ...] = (*steps, *joints)
    return tuple(dict.fromkeys(code for carrier in carriers for code in carrier.cautions))


def cautions_at(plan: PlanView, joint: JointView, items: Iterable[str]) -> Iterator[CautionView]:
    """What warns of a joint: of itself, of the steps that open it, of the items that go in."""
    steps = (step for step in plan.steps if step.code in joint.opened_by)
    codes, named = caution_codes(steps, [joint]), set(items)
    for caution in plan.cautions:
        if caution.code in codes or named.intersection(caution.applies_to):
            yield caution
