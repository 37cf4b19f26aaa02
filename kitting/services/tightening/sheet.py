"""The tightening sheet: every fastener in refit order, its stages, wrench, setting and pattern."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy.orm import Session

from kitting.calc.tightening.bolting import general_torque
from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import Box, prepare
from kitting.facts.reasons import Reason, because
from kitting.facts.threads import parse_thread
from kitting.facts.tightening_reasons import GeneralTorqueReason
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.units import Torque, significant
from kitting.facts.verdicts import Verdict
from kitting.facts.words import ThreadedInto
from kitting.services.kit.bags import kit_view
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.services.planning.lubricants import lubricant_of
from kitting.services.planning.request import ToolRequest
from kitting.services.planning.view import plan_view
from kitting.services.tightening.drawing import drawing
from kitting.services.tightening.laid import Laid, laid_where
from kitting.services.tightening.layout import Layout, read_layout
from kitting.services.tools.check import train_view
from kitting.services.tools.fasteners import Fastener, fasteners
from kitting.services.tools.inventory import OwnedTools, read_owned
from kitting.services.tools.requirements import Asked, asked_of
from kitting.views.kit import Bag, KitView
from kitting.views.tightening import (
    BareBagView,
    GeneralTorqueView,
    TightenJointView,
    TightenRowView,
    TightenStageView,
    TightenView,
)


@dataclass(frozen=True, slots=True)
class _Bench:
    """What the rows of a sheet are chosen and drawn from."""

    facts: Draft
    parts: Mapping[int, JudgedPart]
    laid: Laid
    owned: OwnedTools
    box: Box
    layout: Layout
    system_names: Mapping[str, str]


def tighten(session: Session, request: ToolRequest) -> TightenView:
    """How every fastener of a plan is tightened, joint by joint in the order of refitting.

    Wrenches are chosen from the boxes named (all of them if none is named) as they are at the
    fitting date. Raises UnknownNameError; KittingError when every job of the plan is stopped.
    """
    return tightened(session, draft(session, request.plan), request)


def tightened(session: Session, facts: Draft, request: ToolRequest) -> TightenView:
    """The tightening sheet of a draft; raises as `tighten`."""
    owned = read_owned(session, request.boxes, request.day, allow_none=not request.boxes)
    plan = plan_view(facts)
    kit = kit_view(plan)
    fitted: dict[str, list[Fastener]] = defaultdict(list)
    for fastener in fasteners(facts):
        fitted[fastener.joint].append(fastener)
    by_joint = {
        joint: here
        for joint, here in fitted.items()
        if any(fastener.tightened for fastener in here)
    }
    bench = _Bench(
        facts=facts,
        parts={part.fit.key: part for part in facts.parts},
        laid=laid_where(session, facts, by_joint),
        owned=owned,
        box=prepare(owned.tools, request.policy),
        layout=read_layout(session, facts.access.opened, [need.fit.key for need in facts.parts]),
        system_names={code: system.name for code, system in facts.contents.systems.items()},
    )
    return TightenView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.whole_name,
        vehicle_shortened=plan.vehicle.public_name,
        jobs=kit.jobs,
        boxes=owned.boxes,
        joints=tuple(
            _joint(bag, by_joint[bag.joint], bench)
            for bag in _first_bags(kit)
            if bag.joint in by_joint
        ),
        doubts=kit.doubts,
        cautions=plan.cautions,
        put_on=tuple(bench.laid.elsewhere),
        bare=tuple(_bare(kit, by_joint)),
    )


def _first_bags(kit: KitView) -> Iterator[Bag]:
    """One bag of every joint, in the order of refitting."""
    return (bag for bag in kit.bags if bag.part == 1)


def _bare(kit: KitView, by_joint: Mapping[str, Sequence[Fastener]]) -> Iterator[BareBagView]:
    """The bags at whose joint nothing is tightened, and what else than the first bag of one is."""
    for bag in kit.bags:
        if bag.part > 1 or bag.joint not in by_joint:
            yield BareBagView(bag.number, bag.joint_name)


def _joint(bag: Bag, fitted: Sequence[Fastener], bench: _Bench) -> TightenJointView:
    return TightenJointView(
        bag=bag.number,
        joint=bag.joint,
        joint_name=bag.joint_name,
        rows=tuple(_row(fastener, bench) for fastener in fitted if fastener.tightened),
        drawing=drawing(fitted, bench.layout),
        put_on=tuple(bench.laid.joints.get(bag.joint, ())),
    )


def _row(fastener: Fastener, bench: _Bench) -> TightenRowView:
    general = why_not = None
    if not fastener.stages:
        found = _general(fastener, bench)
        general, why_not = (None, found) if isinstance(found, Reason) else (found, None)
    _, *asked = asked_of(fastener)
    part = bench.parts[fastener.fit]
    return TightenRowView(
        position=fastener.position,
        item=fastener.item,
        name=fastener.name,
        count=fastener.count,
        thread=fastener.thread,
        left_hand=fastener.left_hand is True,
        thread_state=fastener.thread_state,
        rule=fastener.rule,
        times=fastener.opened,
        renewed=fastener.renewed,
        new_first=fastener.new_first,
        passed=part.ruling.passed,
        failed=None if part.ruling.failed is None else part.ruling.failed // 1000,
        stages=tuple(_stages(fastener, asked, bench)),
        pattern=fastener.pattern,
        stage_order=fastener.stage_order,
        source=fastener.source,
        general=general,
        why_not_general=why_not,
        remarks=fastener.remarks,
        put_on=tuple(bench.laid.fits.get(fastener.fit, ())),
        lubricant=lubricant_of(bench.facts, part),
        lubricant_sourced=part.fit.lubricant is None or bench.facts.lubricant_sourced(part.fit),
    )


def _stages(
    fastener: Fastener, found: Iterable[Asked], bench: _Bench
) -> Iterator[TightenStageView]:
    for stage, asked in zip(fastener.stages, found, strict=False):
        answer = search(asked.requirement, bench.box)
        reasons = answer.near_misses if asked.unknown is None else (asked.unknown,)
        verdict = answer.verdict if asked.unknown is None else Verdict.UNKNOWN
        if not bench.owned.boxes:
            reasons = (because(ToolReason.NO_TOOLBOX),)
        trains = answer.trains or answer.to_check
        yield TightenStageView(
            stage=stage,
            train=train_view(trains[0], bench.owned) if trains else None,
            reasons=() if verdict is Verdict.FINE else reasons,
            verdict=verdict,
        )


def _general(fastener: Fastener, bench: _Bench) -> GeneralTorqueView | Reason:
    """A figure of the general thread table, or why none may stand in (common practice)."""
    refused = _no_general(fastener, bench)
    if refused is not None:
        return refused
    if fastener.thread is None or fastener.property_class is None:
        return because(GeneralTorqueReason.THREAD_NOT_STATED)
    found = general_torque(
        parse_thread(fastener.thread), fastener.property_class, fastener.thread_state
    )
    if isinstance(found, Reason):
        return found
    torque = Torque(significant(Decimal(found), 2), "N·m")
    return GeneralTorqueView(
        torque=torque,
        property_class=fastener.property_class,
        thread_state=fastener.thread_state,
    )


def _no_general(fastener: Fastener, bench: _Bench) -> Reason | None:
    """Why nobody may take a general figure here: system, kind of fastener, material."""
    if fastener.system in bench.layout.no_general:
        name = bench.system_names[fastener.system]
        return because(GeneralTorqueReason.SYSTEM, system=name)
    if not fastener.kind.general_torque:
        return because(GeneralTorqueReason.KIND, kind=fastener.kind.name)
    if fastener.reach.into is None:
        return because(GeneralTorqueReason.INTO_NOT_STATED)
    if fastener.reach.into != ThreadedInto.STEEL:
        return because(GeneralTorqueReason.INTO, material=fastener.reach.into)
    return None
