"""Where what has to set is told: at the fastener whose thread it is for, at its joint, or apart."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy.orm import Session

from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason
from kitting.facts.words import ThreadState
from kitting.services.planning.beads import joints_laid
from kitting.services.planning.judged import Draft, JudgedUse
from kitting.services.tightening.cure_times import put_on, setting_uses
from kitting.services.tools.fasteners import Fastener
from kitting.views.tightening import PutOnView


@dataclass(frozen=True, slots=True)
class Laid:
    """What has to set, by fit, by joint as the plan calls it, and where nothing is tightened."""

    fits: Mapping[int, list[PutOnView]] = field(default_factory=lambda: defaultdict(list))
    joints: Mapping[str, list[PutOnView]] = field(default_factory=lambda: defaultdict(list))
    elsewhere: list[PutOnView] = field(default_factory=list)


def laid_where(session: Session, facts: Draft, by_joint: Mapping[str, Sequence[Fastener]]) -> Laid:
    """What has to set of a plan; `by_joint` has the fasteners of joints where one is tightened."""
    laid = Laid()
    for use in setting_uses(session, facts):
        at = joints_laid(facts, use.joint, use.step)
        joint = facts.names.joints[min(at)] if len(at) == 1 else None
        if joint is None or joint not in by_joint:
            laid.elsewhere.append(put_on(facts, use))
            continue
        own = _for_threads(use, by_joint[joint])
        for fastener in own:
            laid.fits[fastener.fit].append(put_on(facts, use))
        if not own:
            laid.joints[joint].append(put_on(facts, use))
    return laid


def _for_threads(use: JudgedUse, fitted: Iterable[Fastener]) -> list[Fastener]:
    """The fasteners of a joint that a product is for; none where it is not told of which.

    A position's own; else what is measured by the drop goes on the locked threads of its size, and
    what locks threads on all that are locked, if there are any.
    """
    tightened = [fastener for fastener in fitted if fastener.tightened]
    if use.fit is not None:
        return [fastener for fastener in tightened if fastener.fit == use.fit.key]
    locked = [one for one in tightened if one.thread_state is ThreadState.LOCKED]
    how = use.how["how"] if use.how.code is AmountReason.NOTED else use.how
    if isinstance(how, Reason) and how.code is AmountReason.DROPS:
        sized = [one for one in locked if one.thread == how["thread"]]
        # More threads than are locked: some of it is for others, nobody says which.
        drawn = sum(one.count for one in sized)
        return sized if isinstance(how["threads"], int) and how["threads"] <= drawn else []
    return locked if use.item.kind.locks_threads else []
