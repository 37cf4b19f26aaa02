"""Toolkits: tools, what is asked of them, and a box prepared for searching."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from kitting.facts.heads import Head
from kitting.facts.reasons import Reason
from kitting.facts.tool_words import RangePolicy, ToolSort, ToolTask
from kitting.facts.words import FastenerAccess

ENDS = (ToolSort.SOCKET, ToolSort.BIT, ToolSort.KEY, ToolSort.CROWFOOT)


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool as the search sees it.

    `takes` and `gives` are square drives ("3/8") towards the hand and towards the head. Lengths are
    thousandths of a mm: `length` overall, `depth` inside a socket, `offset` from drive to head of a
    crowfoot, `grip` from drive to hand of a wrench. `low` and `high` bound a scale in N·m, as
    marked in `unit`. `general` names the general tool that it is. `away` says why it cannot be used
    at the date (None: it can); `offered` tools are not there but could be bought.
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
    offset: int | None = None
    grip: int | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    unit: str = "N·m"
    deviation: Decimal | None = None
    clockwise_only: bool = False
    general: str | None = None
    away: Reason | None = None
    offered: bool = False


@dataclass(frozen=True, slots=True)
class Requirement:
    """Something to be done to a fastener: two that are equal ask the same of the tools.

    `torque` in N·m with the stated `tolerance` (N·m); of a task without a torque of its own it is
    the largest of the position. `recess` and `protrusion` are thousandths of a mm. `access` is
    open, side (something is in the way of a socket), or angled (no straight way to the head).
    """

    task: ToolTask
    head: Head | None
    torque: Decimal | None = None
    tolerance: Decimal | None = None
    access: FastenerAccess = FastenerAccess.OPEN
    recess: int = 0
    protrusion: int = 0
    left_hand: bool = False


@dataclass(frozen=True, slots=True)
class Train:
    """Tools from hand to head; `setting` is what the wrench is set to, in N·m."""

    tools: tuple[Tool, ...]
    setting: Decimal | None = None
    note: Reason | None = None

    @property
    def codes(self) -> frozenset[str]:
        """The codes of its tools."""
        return frozenset(tool.code for tool in self.tools)


@dataclass(frozen=True, slots=True)
class Answer:
    """The trains that can do it, the best first; or none, and why each near miss cannot."""

    requirement: Requirement
    trains: tuple[Train, ...]
    near_misses: tuple[Reason, ...]

    @property
    def gap(self) -> bool:
        """Whether nothing in the box can do it."""
        return not self.trains


@dataclass(frozen=True, slots=True)
class Box:
    """A toolbox prepared for searching."""

    ends: dict[str, tuple[Tool, ...]]
    handles: tuple[Tool, ...]
    adaptors: tuple[Tool, ...]
    extensions: dict[str, tuple[Tool, ...]]
    joints: dict[str, tuple[Tool, ...]]
    wrenches: tuple[Tool, ...]
    gauges: tuple[Tool, ...]
    missing: tuple[Tool, ...]
    policy: RangePolicy = RangePolicy.MARKED


def prepare(tools: Iterable[Tool], policy: RangePolicy = RangePolicy.MARKED) -> Box:
    """Sort tools for searching; those that are away are kept separate, for the reasons.

    Of tools that differ in nothing but their code the first stands for all: else the number of
    trains would grow with the product of their numbers.
    """
    ends: dict[str, list[Tool]] = {}
    extensions: dict[str, list[Tool]] = {}
    ordered = sorted(tools, key=lambda t: (t.offered, t.code, t.key))
    here = list({likeness(tool): tool for tool in reversed(ordered) if not tool.away}.values())
    here.reverse()
    for tool in here:
        if tool.sort in ENDS and tool.turns is not None:
            ends.setdefault(str(tool.turns), []).append(tool)
        if tool.sort == ToolSort.EXTENSION and tool.takes and tool.gives in (None, tool.takes):
            extensions.setdefault(tool.takes, []).append(tool)
    bending = [t for t in here if t.sort == ToolSort.UNIVERSAL_JOINT]
    return Box(
        ends={head: tuple(found) for head, found in ends.items()},
        handles=tuple(t for t in here if t.sort in (ToolSort.RATCHET, ToolSort.BAR)),
        adaptors=tuple(t for t in here if t.sort == ToolSort.ADAPTOR),
        extensions={square: tuple(found) for square, found in extensions.items()},
        joints={
            square: tuple(t for t in bending if t.takes == square)
            for square in {t.takes for t in bending if t.takes}
        },
        wrenches=tuple(t for t in here if t.sort == ToolSort.TORQUE_WRENCH),
        gauges=tuple(t for t in here if t.sort == ToolSort.ANGLE_GAUGE),
        missing=tuple(t for t in ordered if t.away),
        policy=policy,
    )


def likeness(tool: Tool) -> Tool:
    """A tool without its names: two of equal likeness do the same."""
    return replace(tool, key=0, code="", name="")
