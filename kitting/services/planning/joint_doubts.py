"""What is in doubt of the joints that a plan opens, whatever sits in them."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import because
from kitting.facts.rubber_media import MEDIA
from kitting.facts.system_media import MEDIA_OF_SYSTEM
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.services.planning.facts import PlanFacts


def joint_doubts(facts: PlanFacts) -> Iterator[Doubt]:
    """Joints of which nothing is described, and those that hold what their system never holds."""
    yield from _not_described(facts)
    yield from _of_another_system(facts)


def _not_described(facts: PlanFacts) -> Iterator[Doubt]:
    described = {fit.joint for fit in facts.contents.fits}
    described |= {use.joint for use in facts.contents.uses if use.joint is not None}
    for joint in facts.access.opened:
        if joint not in described:
            reason = because(DoubtReason.NOT_DESCRIBED, joint=facts.names.joints[joint])
            yield Doubt(Verdict.UNKNOWN, Aspect.CATALOGUE, reason)


def _of_another_system(facts: PlanFacts) -> Iterator[Doubt]:
    """Other fluids may be beyond the seal, but one at least has to be of the system."""
    for key in facts.access.opened:
        joint = facts.contents.joints[key]
        held = MEDIA_OF_SYSTEM.get(joint.system)
        media = [medium for medium in joint.media if medium is not None]
        if held is None or not media or len(media) < len(joint.media) or held & {*media}:
            continue
        reason = because(
            DoubtReason.FLUID_OF_ANOTHER_SYSTEM,
            joint=facts.names.joints[key],
            system=facts.contents.systems[joint.system].name,
            media=tuple(MEDIA[medium].name for medium in media),
        )
        yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, reason)
