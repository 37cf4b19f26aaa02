"""Which doubts of a plan are of one joint: an item may be in doubt at another one only."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.facts.reasons import Reason
from kitting.facts.verdicts import Doubt
from kitting.views.plan import JointView, PlanView

_JOINT, _POSITION = ("joint", "place"), "position"


def is_elsewhere(plan: PlanView, joint: JointView, doubt: Doubt) -> bool:
    """Whether a doubt names another joint of the plan, or a position that only others have."""
    return any(_is_elsewhere(plan, joint, reason) for reason in _with_inner(doubt.because))


def _with_inner(reason: Reason) -> Iterator[Reason]:
    yield reason
    for _name, value in reason.values:
        if isinstance(value, Reason):
            yield from _with_inner(value)


def _is_elsewhere(plan: PlanView, joint: JointView, reason: Reason) -> bool:
    values = dict(reason.values)
    others = {name for one in plan.joints if one != joint for name in (one.code, one.name)}
    named = [values[name] for name in _JOINT if name in values]
    if any(name in others - {joint.code, joint.name} for name in named):
        return True
    placed = [position for line in plan.lines for position in line.positions]
    here = {one.position for one in placed if one.joint == joint.code}
    elsewhere = {one.position for one in placed} - here
    return values.get(_POSITION) in elsewhere
