"""Tool check: what a plan asks of the hands, and whether these boxes can do it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy.orm import Session

from kitting.calc.tools.drive_trains import search
from kitting.calc.tools.toolkit import Answer, Requirement, Tool, Train, prepare
from kitting.facts.heads import Head
from kitting.facts.names import natural_key
from kitting.facts.threads import parse_thread
from kitting.facts.torque_tools import usable_range
from kitting.facts.units import Torque, show_torque
from kitting.services.planning.draft import draft
from kitting.services.planning.general_tools import general_tools
from kitting.services.planning.judge import Draft, JudgedPart
from kitting.services.planning.request import ToolRequest
from kitting.services.planning.view import plan_view
from kitting.services.tools.inventory import OwnedTools, read_owned
from kitting.views.tools import FigureView, NeedView, ScaleView, ToolCheckView, TrainView

TASKS = ("undo", "torque", "angle", "general")
# How many hand tools are named: any bar undoes, but which wrench is a choice.
_SHOWN = {"undo": 1, "torque": 3, "angle": 1}


@dataclass(frozen=True, slots=True)
class Asked:
    """A requirement with every place that asks the same, the jobs that want it, and its words.

    `unknown` says what is not stated, so that nothing can be proven.
    """

    requirement: Requirement
    what: str
    published: str | None
    places: tuple[str, ...]
    jobs: tuple[str, ...]
    unknown: str | None = None


@dataclass(frozen=True, slots=True)
class AskedGeneral:
    """A general tool that steps or kinds ask for."""

    name: str
    places: tuple[str, ...]
    jobs: tuple[str, ...]


def check_tools(session: Session, request: ToolRequest) -> ToolCheckView:
    """Can these boxes (all if none is named) do the jobs, at the fitting date?

    Undoing and every stage of tightening are judged apart, each with a complete drive train or the
    reason why there is none. Raises UnknownNameError, and FigureError for an unknown policy.
    """
    facts = draft(session, request.plan)
    owned = read_owned(session, request.boxes, request.plan.on)
    return check_draft(facts, owned, request.policy)


def check_draft(facts: Draft, owned: OwnedTools, policy: str) -> ToolCheckView:
    """The tool check of a draft against some tools."""
    plan = plan_view(facts)
    box = prepare(owned.tools, policy)
    answers = [(asked, search(asked.requirement, box)) for asked in requirements(facts)]
    needs = [need_view(asked, answer, owned) for asked, answer in answers]
    needs += [_general_view(asked, owned) for asked in general_asks(facts)]
    return ToolCheckView(
        reference=plan.reference,
        on=plan.on,
        vehicle=plan.vehicle.public_name,
        jobs=tuple(f"{job.code} {job.name}" for job in plan.jobs),
        boxes=owned.boxes,
        policy=policy,
        needs=tuple(sorted(needs, key=lambda need: (need.state != "gap", TASKS.index(need.task)))),
        scales=tuple(_scales(owned)),
        figures=tuple(_figures(answers, box.wrenches, policy)),
        cautions=plan.cautions,
    )


def requirements(facts: Draft) -> list[Asked]:
    """What the fasteners of a plan ask for, the same asked once with all its places."""
    found: dict[tuple[object, ...], Asked] = {}
    fits = {need.fit.key: need for need in (*facts.stopped_parts, *facts.parts)}
    for need in fits.values():
        for asked in asks_of(facts, need):
            same = _sameness(asked.requirement)
            if same in found:
                known = found[same]
                found[same] = Asked(
                    known.requirement,
                    known.what,
                    known.published,
                    tuple(dict.fromkeys((*known.places, *asked.places))),
                    tuple(sorted({*known.jobs, *asked.jobs})),
                    known.unknown,
                )
            else:
                found[same] = asked
    return list(found.values())


def _sameness(requirement: Requirement) -> tuple[object, ...]:
    r = requirement
    return (
        r.task, str(r.head), r.torque, r.tolerance, r.access, r.recess, r.protrusion, r.left_hand,
        r.place if r.head is None else None,
    )  # fmt: skip


def asks_of(facts: Draft, need: JudgedPart) -> Iterable[Asked]:
    """What one position asks for: undoing first, then every stage of tightening in turn."""
    item = need.item
    known = facts.contents.tightenings.get(need.fit.key)
    row, reach = item, need.fit.reach
    head = Head(row.head, row.head_size or "") if row.head else None
    if head is None and not item.kind.threaded:
        return
    place = f"{facts.names.joints[need.fit.joint]}: {need.fit.position}"
    left = row.thread is not None and parse_thread(row.thread).left_hand
    stages = known.stages if known else ()
    torques = [stage.torque for stage in stages if stage.torque is not None]
    largest = max((torque.newton_metres for torque in torques), default=None)

    def asked(
        task: str, what: str, torque: Decimal | None, published: Torque | None = None,
        tolerance: Decimal | None = None, unknown: str | None = None,
    ) -> Asked:  # fmt: skip
        requirement = Requirement(
            need.fit.key, place, task, head, torque, tolerance,
            reach.access, reach.recess, reach.protrusion, left,
        )  # fmt: skip
        told = str(published) if published is not None else None
        return Asked(requirement, what, told, (place,), need.jobs, unknown)

    shown = str(head) if head else "head not stated"
    hand = " left-hand" if left else ""
    headless = "no head is stated: nobody can say what turns it" if head is None else None
    yield asked("undo", f"undo {shown}{hand}", largest, unknown=headless)
    if not stages:
        yield asked(
            "torque", f"tighten {shown}{hand}: no figure", None, unknown="NO FIGURE: LOOK IT UP"
        )
    for stage in stages:
        if stage.torque is None:
            yield asked(stage.task, f"turn {shown}{hand} by angle", largest, unknown=headless)
        else:
            spread = "" if stage.tolerance is None else f" ± {stage.tolerance.normalize():f}"
            yield asked(
                stage.task, f"{stage.torque}{spread} on {shown}{hand}",
                stage.torque.newton_metres, stage.torque, stage.allowed, headless,
            )  # fmt: skip


def general_asks(facts: Draft) -> list[AskedGeneral]:
    """General tools of steps and kinds, by name, each once with its places and jobs."""
    places: dict[str, list[str]] = {}
    jobs: dict[str, set[str]] = {}
    for ask in general_tools(facts):
        places.setdefault(ask.tool, []).append(ask.place)
        jobs.setdefault(ask.tool, set()).update(ask.jobs)
    return [
        AskedGeneral(tool, tuple(dict.fromkeys(places[tool])), tuple(sorted(jobs[tool])))
        for tool in sorted(places, key=natural_key)
    ]


def need_view(asked: Asked, answer: Answer, owned: OwnedTools) -> NeedView:
    """A requirement and its answer in words."""
    state = "have" if answer.trains else "gap"
    reasons = answer.near_misses
    if asked.unknown is not None:
        state, reasons = "unknown", (asked.unknown,)
    return NeedView(
        task=asked.requirement.task,
        what=asked.what,
        places=asked.places,
        state=state,
        trains=tuple(
            _train_view(train, owned)
            for train in _distinct(answer.trains, _SHOWN[asked.requirement.task])
        ),
        reasons=reasons,
    )


def _distinct(trains: Sequence[Train], most: int) -> list[Train]:
    """The best trains, one per hand tool: a second socket for the same wrench is no news."""
    best: dict[int, Train] = {}
    for train in trains:
        best.setdefault(train.tools[0].key, train)
    return list(best.values())[:most]


def _train_view(train: Train, owned: OwnedTools) -> TrainView:
    setting = None
    if train.setting is not None:
        wrench = next(tool for tool in train.tools if tool.sort == "torque wrench")
        setting = show_torque(Torque(train.setting, "N·m"), wrench.unit)
    return TrainView(
        tuple(tool.code for tool in train.tools),
        tuple(dict.fromkeys(owned.box_of.get(tool.key, "on offer") for tool in train.tools)),
        setting,
        train.note,
    )


def _general_view(asked: AskedGeneral, owned: OwnedTools) -> NeedView:
    here = owned.general_here(asked.name)
    trains = tuple(
        TrainView((tool.code,), (owned.box_of[tool.key],), None, None) for tool in here[:1]
    )
    away = tuple(f"{tool.code}: {tool.away}" for tool in owned.general_all(asked.name))
    return NeedView(
        "general", asked.name, asked.places, "have" if here else "gap", trains,
        () if here else away or ("none in the box",),
    )  # fmt: skip


def _scales(owned: OwnedTools) -> Iterable[ScaleView]:
    for tool in owned.tools:
        if tool.sort == "torque wrench" and tool.low is not None and tool.high is not None:
            row = owned.rows[tool.key]
            yield ScaleView(
                tool.code,
                owned.box_of[tool.key],
                float(tool.low),
                float(tool.high),
                f"{(row.low or 0) / 1000:g} to {(row.high or 0) / 1000:g} {tool.unit}",
                row.calibrated_to,
                tool.away,
            )


def _figures(
    answers: Iterable[tuple[Asked, Answer]], wrenches: Sequence[Tool], policy: str
) -> Iterable[FigureView]:
    """Every figure once, at the worst of its states."""
    states: dict[tuple[Decimal, str], set[str]] = {}
    for asked, answer in answers:
        torque = asked.requirement.torque
        if asked.requirement.task == "torque" and asked.published and torque:
            covered = any(_covers(wrench, torque, policy) for wrench in wrenches)
            state = "have" if answer.trains else "wrench" if covered else "gap"
            states.setdefault((torque, asked.published), set()).add(state)
    for (newton_metres, published), found in sorted(states.items()):
        worst = next(state for state in ("gap", "wrench", "have") if state in found)
        yield FigureView(float(newton_metres), published, worst)


def _covers(wrench: Tool, torque: Decimal, policy: str) -> bool:
    if wrench.low is None or wrench.high is None:
        return False
    low, high = usable_range(wrench.low, wrench.high, policy)
    return low <= torque <= high
