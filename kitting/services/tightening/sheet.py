"""The tightening sheet: every fastener in refit order, its stages, wrench, setting and pattern."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.tightening.bolting import general_torque
from kitting.calc.tightening.patterns import Pattern, general_pattern, maker_pattern
from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import Box, Train, prepare
from kitting.errors import FigureError
from kitting.facts.plan_reasons import AmountReason
from kitting.facts.reasons import Reason, because
from kitting.facts.threads import parse_thread
from kitting.facts.units import Torque, show_torque
from kitting.services.kit.bags import kit_view
from kitting.services.planning.draft import draft
from kitting.services.planning.facts import ItemFacts, TighteningFacts
from kitting.services.planning.judge import Draft, JudgedPart, JudgedUse
from kitting.services.planning.request import ToolRequest
from kitting.services.planning.uses import use_place
from kitting.services.planning.view import plan_view
from kitting.services.tightening.cure_times import REMARK, put_on, setting_uses
from kitting.services.tools.check import Asked, asks_of
from kitting.services.tools.inventory import OwnedTools, read_owned, read_owned_if_any
from kitting.tables.units import Hole, Joint, JointOrder
from kitting.tables.vocabulary import System
from kitting.views.tools import (
    DrawingView,
    HoleView,
    TightenJointView,
    TightenRowView,
    TightenStageView,
    TightenView,
)

NO_FIGURE = "NO FIGURE: LOOK IT UP"
_BOLT = {"renew": "NEW", "inspect": "AFTER A LOOK", "keep": "OLD"}


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where the holes of the fits are, the makers' orders and fronts by joint."""

    holes: Mapping[int, Sequence[Hole]]
    orders: Mapping[int, Sequence[int]]
    fronts: Mapping[int, str | None]
    no_general: frozenset[str]


def tighten(session: Session, request: ToolRequest) -> TightenView:
    """How every fastener of a plan is tightened, joint by joint in the order of refitting.

    Wrenches are chosen from the boxes named (all of them if none is named) as they are at the
    fitting date. Raises UnknownNameError; KittingError when every job of the plan is stopped.
    """
    facts, boxes, on = draft(session, request.plan), request.boxes, request.plan.on
    owned = read_owned(session, boxes, on) if boxes else read_owned_if_any(session, on)
    plan = plan_view(facts)
    kit = kit_view(plan)
    layout = _read_layout(session, facts)
    box = prepare(owned.tools, request.policy)
    by_joint: dict[int, list[JudgedPart]] = defaultdict(list)
    for need in facts.parts:
        if _threaded(facts, need):
            by_joint[need.fit.joint].append(need)
    keys = {facts.names.joints[key]: key for key in by_joint}
    uses = setting_uses(session, facts)
    elsewhere = [use for use in uses if use.joint not in by_joint]
    return TightenView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.public_name,
        jobs=kit.jobs,
        boxes=owned.boxes,
        joints=tuple(
            TightenJointView(
                bag.number,
                bag.joint,
                bag.joint_name,
                tuple(_row(facts, need, box, owned, layout) for need in by_joint[keys[bag.joint]]),
                _drawing(facts, keys[bag.joint], by_joint[keys[bag.joint]], layout),
                tuple(put_on(facts, use) for use in uses if use.joint == keys[bag.joint]),
            )
            for bag in kit.bags
            if bag.joint in keys and bag.part == 1
        ),
        stopped=kit.stopped,
        cautions=plan.cautions,
        put_on=tuple(_elsewhere(facts, use) for use in elsewhere),
        times_remark=REMARK if uses else None,
    )


def _elsewhere(facts: Draft, use: JudgedUse) -> Reason:
    laid = put_on(facts, use)
    return because(
        AmountReason.PUT_ON,
        place=use_place(facts, use),
        product=laid.product,
        amount=laid.amount,
        times=laid.times,
    )


def _threaded(facts: Draft, need: JudgedPart) -> bool:
    return need.item.kind.threaded or need.fit.key in facts.contents.tightenings


def _read_layout(session: Session, facts: Draft) -> _Layout:
    joints: Collection[int] = list(facts.access.opened)
    fits = [need.fit.key for need in facts.parts]
    holes: dict[int, list[Hole]] = defaultdict(list)
    for hole in session.scalars(
        select(Hole).where(Hole.fit_id.in_(fits)).order_by(Hole.fit_id, Hole.seq)
    ):
        holes[hole.fit_id].append(hole)
    orders: dict[int, list[int]] = defaultdict(list)
    for joint, hole_number in session.execute(
        select(JointOrder.joint_id, JointOrder.hole)
        .where(JointOrder.joint_id.in_(joints))
        .order_by(JointOrder.joint_id, JointOrder.place)
    ):
        orders[joint].append(hole_number)
    fronts = session.execute(select(Joint.id, Joint.front).where(Joint.id.in_(joints))).all()
    barred = session.scalars(select(System.code).where(System.general_torque.is_(False)))
    return _Layout(holes, orders, dict(fronts), frozenset(barred))


def _drawing(
    facts: Draft, joint: int, needs: Sequence[JudgedPart], layout: _Layout
) -> DrawingView | None:
    """The holes of the fasteners that this car has, numbered as they stand."""
    drilled = [need for need in needs if need.fit.key in layout.holes]
    if not drilled:
        return None
    differ = len({need.fit.item for need in drilled}) > 1
    holes: list[HoleView] = []
    for row, need in enumerate(needs):
        fastener = _short(facts.contents.items[need.fit.item]) if differ else None
        for hole in layout.holes.get(need.fit.key, ()):
            holes.append(HoleView(len(holes) + 1, hole.x / 1000, hole.y / 1000, row, fastener))
    pattern = _pattern(holes, layout.orders.get(joint, ()))
    return DrawingView(tuple(holes), pattern.order, pattern.shape, layout.fronts.get(joint))


def _short(item: ItemFacts) -> str:
    """A bolt as it is told from its neighbours: "M8 × 40 mm"."""
    if item.thread and item.length:
        return f"{item.thread} × {item.length / 1000:g} mm"
    return item.code


def _pattern(holes: Sequence[HoleView], order: Sequence[int]) -> Pattern:
    if order:
        return maker_pattern(order, len(holes))
    return general_pattern([(hole.x, hole.y) for hole in holes])


def _row(
    facts: Draft, need: JudgedPart, box: Box, owned: OwnedTools, layout: _Layout
) -> TightenRowView:
    item = facts.contents.items[need.fit.item]
    known = facts.contents.tightenings.get(need.fit.key)
    thread = parse_thread(item.thread) if item.thread else None
    stage_asks = list(asks_of(facts, need))[1:]
    general = why_not = None
    if known is None or not known.stages:
        general, why_not = _general(facts, need, item, known, layout.no_general)
        stage_asks = []
    return TightenRowView(
        position=need.fit.position,
        item=item.code,
        name=item.name,
        count=need.fit.quantity // 1000,
        thread=item.thread,
        left_hand=thread is not None and thread.left_hand,
        thread_state=known.thread_state if known else "unknown",
        bolt=_BOLT[need.verdict.rule],
        stages=tuple(_stages(known, stage_asks, box, owned)),
        pattern=known.pattern if known else None,
        source=known.source if known else None,
        unknown=None if known and known.stages else "NO FIGURE: LOOK IT UP",
        general=general,
        why_not_general=why_not,
    )


def _stages(
    known: TighteningFacts | None, asks: Sequence[Asked], box: Box, owned: OwnedTools
) -> Iterable[TightenStageView]:
    for stage, asked in zip(known.stages if known else (), asks, strict=False):
        answer = search(asked.requirement, box)
        train = answer.trains[0] if answer.trains else None
        reasons = answer.near_misses if asked.unknown is None else (asked.unknown,)
        if not owned.boxes:
            reasons = ("no toolbox is described",)
        yield TightenStageView(
            stage=stage,
            wrench=None if train is None else _tools(train, owned),
            setting=None if train is None else _setting(train),
            note=None if train is None else train.note,
            reason=None if train is not None else "; ".join(reasons),
        )


def _tools(train: Train, owned: OwnedTools) -> str:
    boxes = dict.fromkeys(owned.box_of[tool.key] for tool in train.tools)
    return f"{' + '.join(tool.code for tool in train.tools)} ({', '.join(boxes)})"


def _setting(train: Train) -> str | None:
    if train.setting is None:
        return None
    wrench = next(tool for tool in train.tools if tool.sort == "torque wrench")
    return show_torque(Torque(train.setting, "N·m"), wrench.unit)


def _general(
    facts: Draft,
    need: JudgedPart,
    item: ItemFacts,
    known: TighteningFacts | None,
    no_general: frozenset[str],
) -> tuple[str | None, str | None]:
    """A figure of the general thread table, or why none may stand in (trade practice)."""
    joint = facts.contents.joints[need.fit.joint]
    into = need.fit.reach.into
    if joint.system in no_general:
        system = facts.contents.systems[joint.system].name
        return None, f"no general figure may stand in: {system}"
    if not item.kind.general_torque:
        return None, f"no general figure may stand in: {item.kind.name}"
    if into is None:
        return None, "no general figure: what the thread is cut into is not stated"
    if into != "steel":
        return None, f"no general figure may stand in: thread in {into}"
    if item.thread is None or item.property_class is None:
        return None, "no general figure: thread or property class is not stated"
    try:
        thread = parse_thread(item.thread)
        state = known.thread_state if known else "unknown"
        torque = general_torque(thread, item.property_class, state)
    except FigureError as error:
        return None, f"no general figure: {error}"
    return f"{float(f'{torque:.2g}'):g} N·m, class {item.property_class}, {state}", None
