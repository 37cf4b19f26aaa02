"""What is in doubt of a joint that a plan opens, whatever sits in it."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.calc.planning.needs import JointFacts
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import because
from kitting.facts.rubber_media import MEDIA
from kitting.facts.system_media import MEDIA_OF_SYSTEM
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.services.planning.facts import PlanFacts


def joint_doubts(facts: PlanFacts, joint: int) -> Iterator[Doubt]:
    """That nothing of a joint is described, and that it holds what its system never holds."""
    contents, name = facts.contents, facts.names.joints[joint]
    described = {fit.joint for fit in contents.fits} | {use.joint for use in contents.uses}
    if joint not in described:
        bare = because(DoubtReason.NOT_DESCRIBED, joint=name)
        yield Doubt(Verdict.UNKNOWN, Aspect.CATALOGUE, bare)
    foreign = _of_another_system(contents.joints[joint])
    if foreign:
        system = contents.systems[contents.joints[joint].system].name
        reason = because(
            DoubtReason.FLUID_OF_ANOTHER_SYSTEM, joint=name, system=system, media=foreign
        )
        yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, reason)


def _of_another_system(joint: JointFacts) -> tuple[str, ...]:
    """What a joint holds, where none of it is of its system; nothing where something may be.

    Other fluids may be beyond the seal, so that one of the system is enough.
    """
    known = [medium for medium in joint.media if medium is not None]
    of_system = MEDIA_OF_SYSTEM.get(joint.system)
    if of_system is None or len(known) < len(joint.media) or of_system & {*known}:
        return ()
    return tuple(MEDIA[medium].name for medium in known)
