"""Toolkits: tools, what is asked of them, and a box prepared for searching."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from kitting.calc.tools.loads import UNKNOWN, Load, stated
from kitting.facts.heads import Head
from kitting.facts.reasons import Reason
from kitting.facts.scale_reasons import ScaleReason
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import (
    RangePolicy,
    ToolSort,
    ToolTask,
    WrenchClass,
    WrenchDirection,
)
from kitting.facts.verdicts import Verdict
from kitting.facts.words import FastenerAccess

ENDS = (ToolSort.SOCKET, ToolSort.BIT, ToolSort.KEY, ToolSort.CROWFOOT)
# Heads that a tool with twelve points turns alike (common practice, no source).
_TWELVE, _SIX = "twelve-point", "hexagon"


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool as the search sees it.

    `takes` and `gives` are square drives ("3/8") towards the hand and towards the head. Lengths are
    thousandths of a mm: `length` overall, `depth` inside a socket, `offset` from drive to head of a
    crowfoot or across a spanner, `grip` from drive to hand of a wrench. `low` and `high` bound a
    scale in N·m, as marked in `unit`; `resolution` is from one mark of it to the next, in that unit
    (None: not stated). `general` names the general tool that it is. `away` says why
    it cannot be used at the date (None: it can); `offered` tools are not there but could be bought.
    """

    key: int
    code: str
    name: str
    sort: ToolSort
    turns: Head | None = None
    takes: str | None = None
    gives: str | None = None
    length: int | None = None
    depth: int | None = None
    points: int | None = None
    offset: int | None = None
    grip: int | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    unit: str = "N·m"
    resolution: Decimal | None = None
    deviation: Decimal | None = None
    wrench_class: WrenchClass | None = None
    direction: WrenchDirection | None = None
    general: str | None = None
    away: Reason | None = None
    offered: bool = False

    @property
    def unproven(self) -> bool:
        """Whether it is there, and only something not recorded keeps it from being used."""
        return self.away is not None and self.away.code == ToolReason.CALIBRATION_NOT_STATED


@dataclass(frozen=True, slots=True)
class Requirement:
    """Something to be done to a fastener: two that are equal ask the same of the tools.

    `torque` in N·m with the stated `tolerance` (N·m) is what a stage tightens to; of other tasks
    `load` is what the driving parts must bear. `recess` and `protrusion` are thousandths of a mm.
    `access` is open, side (something is in the way of a socket), or angled (no straight way to the
    head). `left_hand` is None where no thread is stated.
    """

    task: ToolTask
    head: Head | None
    torque: Decimal | None = None
    tolerance: Decimal | None = None
    load: Load = UNKNOWN
    access: FastenerAccess = FastenerAccess.OPEN
    recess: int = 0
    protrusion: int = 0
    left_hand: bool | None = False

    @property
    def bears(self) -> Load:
        """What the driving parts must bear."""
        return self.load if self.torque is None else stated(self.torque)


@dataclass(frozen=True, slots=True)
class Train:
    """Tools from hand to head; `setting` is what the wrench is set to, in N·m.

    `doubts` say what of it cannot be proven.
    """

    tools: tuple[Tool, ...]
    setting: Decimal | None = None
    note: Reason | None = None
    doubts: tuple[Reason, ...] = ()

    @property
    def codes(self) -> frozenset[str]:
        """The codes of its tools."""
        return frozenset(tool.code for tool in self.tools)

    @property
    def lacks_steps_only(self) -> bool:
        """Whether only the steps of its wrench's scale, which nobody states, are in doubt."""
        return bool(self.doubts) and all(map(_about_steps, self.doubts))


def _about_steps(doubt: Reason) -> bool:
    return (
        doubt.code is ToolReason.OF_TOOL
        and isinstance(of_it := doubt["reason"], Reason)
        and of_it.code is ScaleReason.STEPS_NOT_STATED
    )


@dataclass(frozen=True, slots=True)
class Answer:
    """The trains that can do it for certain, the best first; or none, and why not.

    `doubtful` are those that might: then `near_misses` say what is not known of them.
    """

    requirement: Requirement
    trains: tuple[Train, ...]
    near_misses: tuple[Reason, ...]
    doubtful: tuple[Train, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """Fine, no, or cannot be proven."""
        if self.trains:
            return Verdict.FINE
        return Verdict.UNKNOWN if self.doubtful else Verdict.NO

    @property
    def gap(self) -> bool:
        """Whether nothing in the box can do it, whatever is not recorded."""
        return self.verdict is Verdict.NO

    @property
    def to_check(self) -> tuple[Train, ...]:
        """The trains that do it if the scale of the wrench has the mark: a look at it tells."""
        return tuple(train for train in self.doubtful if train.lacks_steps_only)


@dataclass(frozen=True, slots=True)
class Box:
    """A toolbox prepared for searching; `chains` is filled as squares are joined."""

    ends: Mapping[str, tuple[Tool, ...]]
    handles: tuple[Tool, ...]
    adaptors: tuple[Tool, ...]
    extensions: Mapping[str, tuple[Tool, ...]]
    joints: tuple[Tool, ...]
    wrenches: tuple[Tool, ...]
    gauges: tuple[Tool, ...]
    missing: tuple[Tool, ...]
    policy: RangePolicy = RangePolicy.MARKED
    chains: dict[tuple[str, str], tuple[tuple[Tool, ...], ...]] = field(
        default_factory=dict, compare=False
    )


def prepare(tools: Iterable[Tool], policy: RangePolicy = RangePolicy.MARKED) -> Box:
    """Sort tools for searching; those that are away are kept separate, for the reasons.

    Of tools that differ in nothing but their code the first stands for all, and a tool on offer is
    left out where the like is here: else the number of trains would grow with the product of their
    numbers. Of extensions two alike may be joined.
    """
    ends: dict[str, list[Tool]] = {}
    extensions: dict[str, list[Tool]] = {}
    ordered = sorted(tools, key=lambda t: (t.offered, t.code, t.key))
    usable = [tool for tool in ordered if tool.away is None or tool.unproven]
    here = _first_of_each(usable)
    for tool in here:
        if tool.sort in ENDS and tool.turns is not None:
            for head in _turned(tool):
                ends.setdefault(str(head), []).append(tool)
        if tool.sort == ToolSort.EXTENSION and tool.takes and tool.gives in (None, tool.takes):
            extensions.setdefault(tool.takes, []).append(tool)
    return Box(
        ends={head: tuple(found) for head, found in ends.items()},
        handles=tuple(t for t in here if t.sort in (ToolSort.RATCHET, ToolSort.BAR)),
        adaptors=tuple(t for t in here if t.sort == ToolSort.ADAPTOR),
        extensions={
            square: tuple(sorted(found, key=lambda one: one.length or 0))
            for square, found in extensions.items()
        },
        joints=tuple(t for t in here if t.sort == ToolSort.UNIVERSAL_JOINT),
        wrenches=tuple(t for t in here if t.sort == ToolSort.TORQUE_WRENCH),
        gauges=tuple(t for t in here if t.sort == ToolSort.ANGLE_GAUGE),
        missing=tuple(t for t in ordered if t.away is not None and not t.unproven),
        policy=policy,
    )


def _turned(tool: Tool) -> tuple[Head, ...]:
    """The heads that a tool may turn: twelve points, or points not stated, turn two."""
    head = tool.turns
    if head is None:
        return ()
    if head.profile == _TWELVE:
        return (head, Head(_SIX, head.size))
    if head.profile == _SIX and tool.sort != ToolSort.BIT:
        return (head, Head(_TWELVE, head.size))
    return (head,)


def most_alike(tool: Tool) -> int:
    """How many tools like this one are of use in a train: two extensions, else one."""
    return 2 if tool.sort == ToolSort.EXTENSION else 1


def _first_of_each(tools: Iterable[Tool]) -> list[Tool]:
    """Of tools that are alike the first that are of use, those here before those on offer."""
    count: dict[Tool, int] = {}
    found = []
    for tool in tools:
        like = replace(likeness(tool), offered=False)
        count[like] = count.get(like, 0) + 1
        if count[like] <= most_alike(like):
            found.append(tool)
    return found


def likeness(tool: Tool) -> Tool:
    """A tool without its names: two of equal likeness do the same."""
    return replace(tool, key=0, code="", name="")
