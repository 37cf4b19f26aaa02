"""What a product may spoil near the joints that it comes to, whatever it is put on."""

from __future__ import annotations

from collections.abc import Iterator, Set

from kitting.calc.planning.needs import UseNeed
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import because
from kitting.facts.rubber_media import MEDIA, PLASTIC
from kitting.facts.system_media import NEVER_MIXED
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import ThreadedInto
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.rubber_touching import joints_of_use, touches_rubber


def spoils_nearby(facts: PlanFacts, need: UseNeed, item: ItemFacts) -> Iterator[Doubt]:
    """That a product has to be kept from what is near, or that nobody says what it is.

    Where the medium is not stated that is asked of lubricants, and of kinds that come to rubber.
    """
    asked = need.fit is not None or touches_rubber(item)
    yield from spoils_at(facts, joints_of_use(facts, need.joint, need.step), item, asked=asked)


def spoils_at(
    facts: PlanFacts, joints: Set[int], item: ItemFacts, *, asked: bool = True
) -> Iterator[Doubt]:
    """What a product may spoil near some joints; `asked` says that its medium is asked for."""
    for key in sorted(joints):
        near, joint = _near(facts, key), facts.names.joints[key]
        if item.medium is None:
            if near and asked:
                reason = because(DoubtReason.MAY_SPOIL, item=item.code, things=near, joint=joint)
                yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, reason)
            continue
        yield from _mixed(facts, key, item.code, item.medium)
        medium = MEDIA[item.medium]
        for thing in (thing for thing in medium.spoils if thing in near):
            reason = because(
                DoubtReason.SPOILS, medium=medium.name, item=item.code, thing=thing, joint=joint
            )
            yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, reason)


def _mixed(facts: PlanFacts, joint: int, item: str, medium: str) -> Iterator[Doubt]:
    """That a product must not come to what a joint holds."""
    if medium not in NEVER_MIXED:
        return
    there = facts.contents.joints[joint].media
    for held in sorted(other for other in NEVER_MIXED - {medium} if other in there):
        reason = because(
            DoubtReason.NEVER_MIXED, medium=MEDIA[medium].name, item=item,
            held=MEDIA[held].name, joint=facts.names.joints[joint],
        )  # fmt: skip
        yield Doubt(Verdict.NO, Aspect.RUBBER, reason)


def _near(facts: PlanFacts, joint: int) -> tuple[str, ...]:
    """What is near a joint: what it states, and plastic that anything of it is threaded into."""
    there = (fit.reach.into for fit in facts.contents.fits if fit.joint == joint)
    plastic = (PLASTIC,) if ThreadedInto.PLASTIC in there else ()
    return (*facts.contents.joints[joint].near, *plastic)
