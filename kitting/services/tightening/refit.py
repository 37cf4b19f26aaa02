"""The refit sheet: bags, ring ends, consumables and tightening of a plan, joined by joint."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from kitting.facts.verdicts import Doubt, worst_first
from kitting.facts.words import ItemFamily
from kitting.services.kit.bags import bag_line, kit_view
from kitting.services.kit.caution_places import cautions_at
from kitting.services.kit.left_off import opinions_at_a_glance
from kitting.services.planning.draft import draft
from kitting.services.planning.request import ToolRequest
from kitting.services.planning.view import plan_view
from kitting.services.tightening.doubts_here import is_elsewhere
from kitting.services.tightening.sheet import tightened
from kitting.services.tightening.step_uses import StepUses, step_uses
from kitting.views.kit import Bag, BagLine
from kitting.views.plan import JointView, LineView, PlanView, UseView
from kitting.views.refit import RefitBagView, RefitEndView, RefitView
from kitting.views.tightening import TightenJointView, TightenView


@dataclass(frozen=True, slots=True)
class _Bench:
    """What the blocks of a sheet are put together from."""

    plan: PlanView
    families: Mapping[str, ItemFamily]
    tightening: Mapping[str, TightenJointView]
    steps: StepUses


def refit(session: Session, request: ToolRequest) -> RefitView:
    """What goes in at every joint of a plan and how it is closed, in the order of refitting.

    Wrenches are chosen as for the tightening sheet. Raises UnknownNameError; KittingError when
    every job of the plan is stopped.
    """
    facts = draft(session, request.plan)
    plan, sheet = plan_view(facts), tightened(session, facts, request)
    kit = kit_view(plan)
    bench = _Bench(
        plan=plan,
        families={line.item: line.family for line in plan.lines},
        tightening={joint.joint: joint for joint in sheet.joints},
        steps=step_uses(facts, plan.joints[::-1], _told(sheet)),
    )
    return RefitView(
        reference=plan.reference,
        on=plan.on,
        vehicle=kit.vehicle,
        vehicle_shortened=kit.vehicle_shortened,
        jobs=kit.jobs,
        boxes=sheet.boxes,
        bags=tuple(_blocks(bench, kit.bags)),
        doubts=kit.doubts,
        cautions=plan.cautions,
        put_on=sheet.put_on,
        fillings=bench.steps.fillings,
        step_uses=bench.steps.apart,
    )


def _told(sheet: TightenView) -> set[tuple[str, str]]:
    """What has to set, by place and item: it is told with its times."""
    laid = [*sheet.put_on, *(one for joint in sheet.joints for one in joint.put_on)]
    laid += [one for joint in sheet.joints for row in joint.rows for one in row.put_on]
    return {(one.where, one.item) for one in laid}


def _blocks(bench: _Bench, bags: Sequence[Bag]) -> Iterator[RefitBagView]:
    """The bags, and between them the joints that are closed with nothing to fit."""
    for joint in reversed(bench.plan.joints):
        here = [bag for bag in bags if bag.joint == joint.code]
        for bag in here:
            yield _block(bench, joint, bag)
        if not here:
            yield RefitBagView(
                bag=None,
                code="",
                joint=joint.code,
                joint_name=joint.name,
                times=joint.opened,
                ports=bool(joint.fluids),
                cautions=tuple(cautions_at(bench.plan, joint, ())),
                doubts=tuple(_doubts(bench.plan, joint, ())),
                left_off=tuple(_stopped(bench.plan, joint)),
                step_uses=tuple(bench.steps.at_joints.get(joint.code, ())),
            )


def _block(bench: _Bench, joint: JointView, bag: Bag) -> RefitBagView:
    tightening = bench.tightening.get(bag.joint) if bag.part == 1 else None
    fastened = {row.item for row in tightening.rows} if tightening is not None else set()
    items = [line.content.item for line in bag.lines]
    families = bench.families
    others = [line for line in bag.lines if families.get(line.content.item) is not ItemFamily.RING]
    seals = [line for line in others if families.get(line.content.item) is ItemFamily.SEAL]
    first = bag.part == 1
    return RefitBagView(
        bag=bag.number,
        code=bag.code,
        joint=bag.joint,
        joint_name=bag.joint_name,
        part=bag.part,
        parts_of_joint=bag.parts,
        times=joint.opened,
        ports=first and bool(joint.fluids),
        cautions=tuple(cautions_at(bench.plan, joint, [*items, *(use.item for use in bag.uses)])),
        doubts=tuple(_doubts(bench.plan, joint, items, first=first)),
        left_off=bag.left_off,
        ends=tuple(_ends(bag)),
        seals=tuple(seals),
        uses=bag.uses,
        parts=tuple(
            line for line in others if line not in seals and line.content.item not in fastened
        ),
        tightening=tightening,
        tray=bag.tray,
        step_uses=tuple(bench.steps.at_joints.get(bag.joint, ())) if first else (),
    )


def _ends(bag: Bag) -> Iterator[RefitEndView]:
    """The ends of a bag by the code of their label: like ends of one item share a label."""
    numbers: dict[tuple[object, ...], int] = {}
    for end in bag.ends:
        content = end.content
        rule = (content.rule, content.passed)
        alike = (content.item, rule, end.end, end.lubricant, end.lubricant_sourced)
        yield RefitEndView(f"{bag.code}-{numbers.setdefault(alike, len(numbers) + 1)}", end)


def _stopped(plan: PlanView, joint: JointView) -> Iterator[BagLine]:
    """What belongs to a joint of which nothing may go in yet."""
    for line in plan.lines:
        positions = [one for one in line.positions if one.joint == joint.code]
        if positions and line.stopped_by:
            yield bag_line(line, positions)


def _doubts(
    plan: PlanView, joint: JointView, items: Iterable[str], *, first: bool = True
) -> Iterator[Doubt]:
    """What is not fine of what goes in, the worst first; at the first bag what is of the joint."""
    named = set(items)
    found: list[Doubt] = list(joint.doubts) if first else []
    for entry in plan.entries:
        if entry.stopped_by or not _is_here(entry, joint, named, first):
            continue
        found += (doubt for doubt in entry.doubts if not is_elsewhere(plan, joint, doubt))
    yield from dict.fromkeys(worst_first(opinions_at_a_glance(dict.fromkeys(found))))


def _is_here(entry: LineView | UseView, joint: JointView, items: set[str], first: bool) -> bool:
    if isinstance(entry, LineView):
        return entry.item in items and any(one.joint == joint.code for one in entry.positions)
    return first and any(reason.joint == joint.code for reason in entry.reasons)
