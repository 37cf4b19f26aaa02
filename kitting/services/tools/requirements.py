"""What the fasteners of a plan ask of the tools: undoing first, then every stage of tightening."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from kitting.calc.tools.loads import UNKNOWN, Bolt, Load, tightening, undoing
from kitting.calc.tools.toolkit import Requirement
from kitting.facts.reasons import Reason, because
from kitting.facts.stages import Stage
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import ToolTask
from kitting.facts.words import FastenerAccess
from kitting.services.tools.fasteners import Fastener
from kitting.views.tools import RequirementView


@dataclass(frozen=True, slots=True)
class Asked:
    """A requirement with every place that asks the same, and the jobs that want it.

    `unknown` says what is not stated, so that nothing can be proven; `variants` are open ones that
    decide whether it is asked at all.
    """

    requirement: Requirement
    view: RequirementView
    places: tuple[str, ...]
    jobs: tuple[str, ...]
    unknown: Reason | None = None
    variants: tuple[str, ...] = ()


def requirements(fasteners: Iterable[Fastener]) -> list[Asked]:
    """What the fasteners ask for, the same asked once with all its places.

    Fasteners without a stated head may differ in it, so each of them asks for itself.
    """
    found: dict[tuple[Requirement, str | None, tuple[str, ...]], Asked] = {}
    for fastener in fasteners:
        if fastener.head is fastener.undone.head is None and not fastener.kind.threaded:
            continue
        for asked in asked_of(fastener):
            place = fastener.place if fastener.head is None else None
            key = (asked.requirement, place, fastener.variants)
            known = found.get(key)
            if known is None:
                found[key] = asked
                continue
            found[key] = replace(
                known,
                places=tuple(dict.fromkeys((*known.places, *asked.places))),
                jobs=tuple(sorted({*known.jobs, *asked.jobs})),
            )
    return list(found.values())


def asked_of(fastener: Fastener) -> Iterator[Asked]:
    """What one position asks for; without a figure, a tightening of which nothing is known."""
    old = fastener.undone
    state = fastener.thread_state
    load = undoing(fastener.stages, Bolt(old.thread, old.property_class, state))
    yield _asked(replace(fastener, head=old.head, thread=old.thread), ToolTask.UNDO, load=load)
    if not fastener.stages:
        asked = _asked(fastener, ToolTask.TORQUE)
        yield replace(asked, unknown=because(ToolReason.NO_FIGURE))
    loads = tightening(fastener.stages, Bolt(fastener.thread, fastener.property_class, state))
    for stage, load in zip(fastener.stages, loads, strict=True):
        yield _of_stage(fastener, stage, load)


def _of_stage(fastener: Fastener, stage: Stage, load: Load) -> Asked:
    """A stage without a torque of its own is driven by what it may come to."""
    if stage.torque is None:
        return _asked(fastener, stage.task, load=load)
    asked = _asked(fastener, stage.task, stage.torque.newton_metres, stage.allowed)
    return replace(asked, view=replace(asked.view, torque=stage.torque, tolerance=stage.tolerance))


def _asked(
    fastener: Fastener,
    task: ToolTask,
    torque: Decimal | None = None,
    tolerance: Decimal | None = None,
    load: Load = UNKNOWN,
) -> Asked:
    reach = fastener.reach
    requirement = Requirement(
        task=task,
        head=fastener.head,
        torque=torque,
        tolerance=tolerance,
        load=load,
        access=FastenerAccess(reach.access),
        recess=reach.recess,
        protrusion=reach.protrusion,
        left_hand=fastener.left_hand,
    )
    return Asked(
        requirement=requirement,
        view=RequirementView(task=task, head=fastener.head, left_hand=fastener.left_hand is True),
        places=(fastener.place,),
        jobs=fastener.jobs,
        unknown=because(ToolReason.NO_HEAD) if fastener.head is None else None,
        variants=fastener.variants,
    )
