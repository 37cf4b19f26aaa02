"""Tool check: what a plan asks of the tools, and whether these boxes can do it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from sqlalchemy.orm import Session

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.fitting import of_tool
from kitting.calc.tools.loads import WRENCH_LIMIT
from kitting.calc.tools.toolkit import Answer, Requirement, Tool, Train, prepare
from kitting.calc.tools.wrenches import nearest_mark
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import LoadReason, ToolReason
from kitting.facts.tool_words import FigureVerdict, RangePolicy, ToolSort, ToolTask, ToolVerdict
from kitting.facts.torque_tools import is_read, usable_range
from kitting.facts.units import Torque, plain
from kitting.facts.verdicts import Verdict
from kitting.services.planning.draft import draft
from kitting.services.planning.judged import Draft
from kitting.services.planning.request import ToolRequest
from kitting.services.planning.view import plan_view
from kitting.services.tools.fasteners import GeneralToolNeed, fasteners, general_tool_needs
from kitting.services.tools.inventory import OwnedTools, read_owned
from kitting.services.tools.laying_out import lay_out
from kitting.services.tools.requirements import Asked, requirements
from kitting.views.tools import (
    FigureView,
    NeedView,
    RequirementView,
    ScaleView,
    ToolCheckView,
    TrainView,
)

# How many hand tools are named: any bar undoes, but which wrench is a choice.
_SHOWN = {ToolTask.UNDO: 1, ToolTask.TORQUE: 3, ToolTask.ANGLE: 1}
_TOLD = {
    Verdict.FINE: ToolVerdict.HAVE,
    Verdict.UNKNOWN: ToolVerdict.UNKNOWN,
    Verdict.NO: ToolVerdict.GAP,
}
_TASKS, _STATES = tuple(ToolTask), tuple(ToolVerdict)


def check_tools(session: Session, request: ToolRequest) -> ToolCheckView:
    """Can these boxes do the jobs, at the fitting date?

    Undoing and every stage of tightening are judged one by one, each with a complete drive train or
    the reason why there is none. Raises UnknownNameError.
    """
    facts = draft(session, request.plan)
    return check_draft(facts, read_owned(session, request.boxes, request.day), request.policy)


def check_draft(facts: Draft, owned: OwnedTools, policy: RangePolicy) -> ToolCheckView:
    """The tool check of a draft against some tools."""
    plan = plan_view(facts)
    box = prepare(owned.tools, policy)
    answers = [
        (asked, search(asked.requirement, box))
        for asked in requirements(fasteners(facts, stopped=True))
    ]
    needs = [_need_view(asked, answer, owned) for asked, answer in answers]
    needs += [_general_view(need, owned) for need in general_tool_needs(facts)]
    needs.sort(key=_gaps_first)
    return ToolCheckView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.whole_name,
        vehicle_shortened=plan.vehicle.public_name,
        jobs=tuple(f"{job.code} {job.name}" for job in plan.jobs),
        boxes=owned.boxes,
        policy=policy,
        needs=tuple(needs),
        scales=tuple(_scales(owned)),
        figures=tuple(_figures(answers, box.wrenches, policy)),
        cautions=plan.cautions,
        stopped=tuple(
            because(DoubtReason.VARIANT_OPEN, variant=split.split)
            for split in plan.unresolved
            if split.stops
        ),
        lay_out=lay_out(needs, owned),
    )


def _gaps_first(need: NeedView) -> tuple[int, int]:
    return _STATES.index(need.state), _TASKS.index(need.what.task)


def _need_view(asked: Asked, answer: Answer, owned: OwnedTools) -> NeedView:
    state, reasons = _TOLD[answer.verdict], answer.near_misses
    if asked.unknown is not None:
        state, reasons = ToolVerdict.UNKNOWN, (asked.unknown,)
    if asked.variants:
        state = ToolVerdict.STOPPED
        reasons = tuple(because(DoubtReason.VARIANT_OPEN, variant=v) for v in asked.variants)
    shown = _distinct(answer.trains or answer.to_check, _SHOWN[asked.requirement.task])
    return NeedView(
        what=asked.view,
        places=asked.places,
        state=state,
        trains=tuple(train_view(train, owned) for train in shown),
        reasons=reasons,
        assumed=_assumed(asked.requirement, shown) if state == ToolVerdict.HAVE else (),
    )


def _assumed(requirement: Requirement, trains: Sequence[Train]) -> tuple[Reason, ...]:
    """What a torque nobody states was reckoned with; squares taken to their test torque."""
    load, found = requirement.bears, list[Reason]()
    if load.basis is not None and load.most is not None:
        found.append(load.basis)
    squares = [tool.takes for train in trains for tool in train.tools if tool.takes]
    if any(load.most is not None and load.most > WRENCH_LIMIT[square] for square in squares):
        found.append(because(LoadReason.TEST_TORQUES))
    return tuple(found)


def _distinct(trains: Sequence[Train], most: int) -> list[Train]:
    """The best trains, one per hand tool: a second socket for the same wrench is no news."""
    best: dict[int, Train] = {}
    for train in trains:
        best.setdefault(train.tools[0].key, train)
    return list(best.values())[:most]


def train_view(train: Train, owned: OwnedTools) -> TrainView:
    """A train of owned tools, its setting in the unit of the wrench."""
    setting, read, steps = None, False, None
    if train.setting is not None:
        wrench = next(tool for tool in train.tools if tool.sort == ToolSort.TORQUE_WRENCH)
        setting = Torque(Decimal(plain(nearest_mark(wrench, train.setting))), wrench.unit)
        steps = _steps(wrench)
        read = is_read(wrench.wrench_class, wrench.low)
    return TrainView(
        tools=tuple(tool.code for tool in train.tools),
        boxes=tuple(dict.fromkeys(owned.box_of[tool.key] for tool in train.tools)),
        setting=setting,
        note=train.note,
        read=read,
        resolution=steps,
    )


def _steps(wrench: Tool) -> Torque | None:
    return None if wrench.resolution is None else Torque(wrench.resolution, wrench.unit)


def _general_view(need: GeneralToolNeed, owned: OwnedTools) -> NeedView:
    here = owned.general_here(need.name)
    away = tuple(
        of_tool(tool, tool.away) for tool in owned.general_all(need.name) if tool.away is not None
    )
    missing = away or (because(ToolReason.NONE_IN_BOX),)
    return NeedView(
        what=RequirementView(ToolTask.GENERAL, tool=need.name),
        places=need.places,
        state=ToolVerdict.HAVE if here else ToolVerdict.GAP,
        trains=tuple(TrainView((tool.code,), (owned.box_of[tool.key],)) for tool in here[:1]),
        reasons=() if here else missing,
    )


def _scales(owned: OwnedTools) -> Iterator[ScaleView]:
    for one in owned.owned:
        tool = one.tool
        if tool.sort == ToolSort.TORQUE_WRENCH and one.scale is not None:
            yield ScaleView(
                code=tool.code,
                box=one.box,
                low=float(one.scale.low.newton_metres),
                high=float(one.scale.high.newton_metres),
                scale=one.scale,
                calibrated_to=one.calibrated_to,
                away=tool.away,
                resolution=_steps(tool),
            )


def _figures(
    answers: Iterable[tuple[Asked, Answer]], wrenches: Sequence[Tool], policy: RangePolicy
) -> Iterator[FigureView]:
    """Every figure once, at the worst of its states."""
    states: dict[Torque, set[FigureVerdict]] = {}
    for asked, answer in answers:
        torque = asked.view.torque
        if torque is None:
            continue
        state = FigureVerdict.HAVE
        if answer.doubtful:
            state = FigureVerdict.UNKNOWN
        elif not answer.trains:
            covered = any(_covers(wrench, torque.newton_metres, policy) for wrench in wrenches)
            state = FigureVerdict.WRENCH if covered else FigureVerdict.GAP
        states.setdefault(torque, set()).add(state)
    for torque in sorted(states, key=lambda torque: (torque.newton_metres, torque.unit)):
        worst = next(state for state in FigureVerdict if state in states[torque])
        yield FigureView(newton_metres=float(torque.newton_metres), published=torque, state=worst)


def _covers(wrench: Tool, torque: Decimal, policy: RangePolicy) -> bool:
    if wrench.low is None or wrench.high is None:
        return False
    low, high = usable_range(wrench.low, wrench.high, policy)
    return low <= torque <= high
