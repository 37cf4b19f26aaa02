"""Fitting: which sockets, bits, crowfeet and keys go on a head where it sits, and why not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kitting.calc.tools.toolkit import ENDS, Box, Requirement, Tool
from kitting.facts.heads import Head, from_outside
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import ToolSort, ToolTask
from kitting.facts.units import Quantity
from kitting.facts.words import FastenerAccess
from kitting.facts.wrench_openings import near_enough_to_undo

# Common practice, no source: room for the hand above the part.
REACH_ABOVE = 10_000
_TWELVE_POINTS = 12


@dataclass(frozen=True, slots=True)
class Judged:
    """Why a tool cannot be used (`no`), or what is not known of it (`doubt`)."""

    no: Reason | None = None
    doubt: Reason | None = None

    def against(self, lenient: bool) -> Reason | None:
        """What keeps it from being used: a doubt counts unless `lenient`."""
        return self.no or (None if lenient else self.doubt)


@dataclass(frozen=True, slots=True)
class End:
    """A tool that goes on the head, with what is not known of that."""

    tool: Tool
    doubts: tuple[Reason, ...] = ()


def of_tool(tool: Tool, reason: Reason) -> Reason:
    """A reason that is one tool's."""
    return because(ToolReason.OF_TOOL, tool=tool.code, reason=reason)


def away(box: Box, *sorts: ToolSort, head: Head | None = None) -> list[Reason]:
    """Why tools of some sorts (that turn a head) cannot be used at the date."""
    missing = [t for t in box.missing if t.sort in sorts and (head is None or t.turns == head)]
    return [of_tool(tool, tool.away) for tool in missing if tool.away is not None]


def ends_for(requirement: Requirement, box: Box, lenient: bool) -> tuple[list[End], list[Reason]]:
    """What goes on the head where it sits; reasons why other tools that turn it do not."""
    fitting, misses = _fitting(box.ends.get(str(requirement.head), ()), requirement, lenient)
    if not fitting:
        misses += away(box, *ENDS, head=requirement.head)
        if not misses:
            misses.append(because(ToolReason.NOTHING_TURNS_IT, head=str(requirement.head)))
    return fitting, misses


def near_ends(requirement: Requirement, head: Head, box: Box, lenient: bool) -> list[End]:
    """Hexagon tools of the other measuring system that go on the head well enough to undo it."""
    near = [
        tool
        for tools in box.ends.values()
        for tool in tools
        if tool.turns is not None
        and tool.turns.profile == head.profile == "hexagon"
        and near_enough_to_undo(head.size, tool.turns.size)
    ]
    return _fitting(dict.fromkeys(near), requirement, lenient)[0]


def _fitting(
    tools: Iterable[Tool], requirement: Requirement, lenient: bool
) -> tuple[list[End], list[Reason]]:
    fitting, misses = list[End](), list[Reason]()
    for tool in tools:
        judged = [judge(tool, requirement) for judge in (_points, _access, _depth, _recess)]
        against = [reason for one in judged if (reason := one.against(lenient)) is not None]
        if against:
            misses.append(of_tool(tool, against[0]))
        else:
            doubts = [of_tool(tool, one.doubt) for one in judged if one.doubt is not None]
            fitting.append(End(tool, tuple(doubts)))
    return fitting, misses


def by_hand(tool: Tool) -> bool:
    """Whether it is a key or spanner that the hand turns, without a square."""
    return tool.sort == ToolSort.KEY and tool.takes is None


def _points(tool: Tool, requirement: Requirement) -> Judged:
    """Twelve points turn a hexagon; six do not turn a head with twelve (common practice)."""
    head = requirement.head
    if head is None or tool.turns is None or head.profile != "twelve-point":
        return Judged()
    if tool.turns.profile == head.profile or tool.points == _TWELVE_POINTS:
        return Judged()
    if tool.points is None and tool.sort != ToolSort.CROWFOOT:
        return Judged(doubt=because(ToolReason.POINTS_NOT_STATED))
    return Judged(no=because(ToolReason.TOO_FEW_POINTS))


def _access(tool: Tool, requirement: Requirement) -> Judged:
    """From the side only a crowfoot goes on, and for undoing a spanner."""
    if tool.sort == ToolSort.CROWFOOT:
        return Judged()
    undoing = requirement.task == ToolTask.UNDO
    if requirement.access == FastenerAccess.SIDE:
        spanner = by_hand(tool) and requirement.head is not None and from_outside(requirement.head)
        if not (undoing and spanner):
            return Judged(no=because(ToolReason.ONLY_FROM_THE_SIDE))
    if requirement.access == FastenerAccess.ANGLED and not undoing:
        return Judged(no=because(ToolReason.NO_STRAIGHT_WAY))
    return Judged()


def _depth(tool: Tool, requirement: Requirement) -> Judged:
    if not requirement.protrusion or tool.sort != ToolSort.SOCKET:
        return Judged()
    if tool.depth is None:
        return Judged(doubt=because(ToolReason.DEPTH_NOT_STATED))
    if tool.depth < requirement.protrusion:
        shallow = because(
            ToolReason.NOT_DEEP_ENOUGH,
            depth=Quantity(tool.depth, "mm"),
            stands_out=Quantity(requirement.protrusion, "mm"),
        )
        return Judged(no=shallow)
    return Judged()


def _recess(tool: Tool, requirement: Requirement) -> Judged:
    """A key reaches as deep as it is long, less the hand; a ring spanner as deep as it is offset.

    A crowfoot stands off its drive, and an open end comes from the side: neither goes down a
    recess. Common practice, no source.
    """
    if not requirement.recess or requirement.head is None:
        return Judged()
    recess = Quantity(requirement.recess, "mm")
    if tool.sort == ToolSort.CROWFOOT:
        return Judged(no=because(ToolReason.CROWFOOT_IN_RECESS, recess=recess))
    if not by_hand(tool):
        return Judged()
    if from_outside(requirement.head):
        if tool.offset is None:
            return Judged(doubt=because(ToolReason.OFFSET_NOT_STATED, recess=recess))
        if tool.offset < requirement.recess:
            return Judged(no=because(ToolReason.NOT_DOWN_A_RECESS, recess=recess))
        if tool.points is None:
            return Judged(doubt=because(ToolReason.PERHAPS_OPEN_ENDED, recess=recess))
    elif tool.length is None:
        return Judged(doubt=because(ToolReason.LENGTH_NOT_STATED, recess=recess))
    elif tool.length < requirement.recess + REACH_ABOVE:
        needed = Quantity(requirement.recess + REACH_ABOVE, "mm")
        long = Quantity(tool.length, "mm")
        return Judged(no=because(ToolReason.NOT_LONG_ENOUGH, length=long, needed=needed))
    return Judged()
