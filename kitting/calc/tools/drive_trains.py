"""Drive trains: can this toolbox undo and tighten a fastener to its figure, and if not, why not?

A train is everything between hand and head: a socket, bit or crowfoot, adaptors and extensions, and
a ratchet, bar or torque wrench. Undoing and every stage of tightening are judged one by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from decimal import Decimal

from kitting.calc.tools.toolkit import ENDS, Answer, Box, Requirement, Tool, Train
from kitting.facts.heads import SQUARE_DRIVES, Head
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import ToolReason, TrainNote
from kitting.facts.tool_words import RangePolicy, ToolSort, ToolTask
from kitting.facts.torque_tools import permissible_deviation, usable_range
from kitting.facts.units import Quantity, Torque, significant
from kitting.facts.words import FastenerAccess
from kitting.facts.wrench_openings import near_enough_to_undo

# Common practice, no source: breaking loose takes up to twice the tightening torque.
UNDOING = Decimal(2)
# Common practice, no source: room for the hand above the part.
REACH_ABOVE = 10_000


def crowfoot_setting(torque: Decimal, grip: int, offset: int, angle: float = 0.0) -> Decimal:
    """What a wrench is set to when a crowfoot moves the head away from the drive.

    S = T·L/(L + E·cos θ), with θ = 0 straight ahead and 90° needing no correction. Torque in any
    unit, lengths in one unit, angle in degrees.

    >>> round(crowfoot_setting(Decimal(40), 400, 45), 2)
    Decimal('35.96')
    """
    lever = grip + offset * Decimal(math.cos(math.radians(angle))).quantize(Decimal("1e-12"))
    return torque * grip / lever


def search(requirement: Requirement, box: Box) -> Answer:
    """Every kind of train that can meet a requirement, the best first, or the near misses."""
    if requirement.head is None:
        return Answer(requirement, (), (because(ToolReason.NO_HEAD),))
    if requirement.task == ToolTask.TORQUE and requirement.torque is None:
        return Answer(requirement, (), (because(ToolReason.NO_FIGURE),))
    trains, misses = _TASKS[requirement.task](requirement, box)
    return Answer(requirement, tuple(trains), () if trains else tuple(dict.fromkeys(misses)))


_Found = tuple[list[Train], list[Reason]]


def of_tool(tool: Tool, reason: Reason) -> Reason:
    """A reason that is one tool's."""
    return because(ToolReason.OF_TOOL, tool=tool.code, reason=reason)


def _newton_metres(torque: Decimal) -> Torque:
    """A calculated torque, as precise as a scale is read."""
    return Torque(significant(torque, 4), "N·m")


def _ends_for(requirement: Requirement, box: Box) -> tuple[list[Tool], list[Reason]]:
    """Sockets, bits and crowfeet that go on the head where it sits; reasons why others do not."""
    fitting, misses = list[Tool](), list[Reason]()
    for tool in box.ends.get(str(requirement.head), ()):
        reason = _unfit(tool, requirement)
        if reason is None:
            fitting.append(tool)
        else:
            misses.append(of_tool(tool, reason))
    if not fitting:
        misses += _away(box, *ENDS, head=requirement.head)
        if not misses:
            misses.append(because(ToolReason.NOTHING_TURNS_IT, head=str(requirement.head)))
    return fitting, misses


def _unfit(tool: Tool, requirement: Requirement) -> Reason | None:
    """Why a tool that turns the head does not go on where the head sits; None if it does."""
    if tool.sort != ToolSort.CROWFOOT:
        if requirement.access == FastenerAccess.SIDE:
            return because(ToolReason.ONLY_FROM_THE_SIDE)
        if requirement.access == FastenerAccess.ANGLED and requirement.task != ToolTask.UNDO:
            return because(ToolReason.NO_STRAIGHT_WAY)
    if requirement.protrusion and tool.sort == ToolSort.SOCKET:
        if tool.depth is None:
            return because(ToolReason.DEPTH_NOT_STATED)
        if tool.depth < requirement.protrusion:
            return because(
                ToolReason.NOT_DEEP_ENOUGH,
                depth=Quantity(tool.depth, "mm"),
                stands_out=Quantity(requirement.protrusion, "mm"),
            )
    return None


def _chains(box: Box, start: str, goal: str, torque: Decimal) -> Iterator[tuple[Tool, ...]]:
    """Every way from one square to another, over two adaptors at most, rated for the torque."""
    if min(_limit(start), _limit(goal)) < torque:
        return
    if start == goal:
        yield ()
        return
    for first in box.adaptors:
        if first.takes != start:
            continue
        if first.gives == goal:
            yield (first,)
        elif first.gives and _limit(first.gives) >= torque:
            for second in box.adaptors:
                if second.takes == first.gives and second.gives == goal:
                    yield (first, second)


def _limit(square: str) -> Decimal:
    """The torque in N·m that a square drive is rated for (ISO 6789 limits, from memory)."""
    return next((d.standard_limit for d in SQUARE_DRIVES if d.inch == square), Decimal(0))


def _reaches(requirement: Requirement, end: Tool, box: Box) -> tuple[list[tuple[Tool, ...]], int]:
    """The extensions any of which reaches down a recess ([()] where none is needed), and how long
    they must be in thousandths of a mm."""
    needed = requirement.recess + REACH_ABOVE - (end.length or 0) if requirement.recess else 0
    if needed <= 0 or end.takes is None:
        return [()], 0
    long_enough = sorted(
        (e for e in box.extensions.get(end.takes, ()) if (e.length or 0) >= needed),
        key=lambda extension: extension.length or 0,
    )
    owned = [extension for extension in long_enough if not extension.offered]
    return [(extension,) for extension in (owned[:1] or long_enough)], needed


def _least_bought(chains: Iterable[tuple[Tool, ...]]) -> list[tuple[Tool, ...]]:
    """Chains of what is there, if there are any; only else those that take a tool on offer."""
    found = list(chains)
    return [chain for chain in found if not any(tool.offered for tool in chain)] or found


def _ways(
    requirement: Requirement, box: Box, handle: Tool, end: Tool, torque: Decimal
) -> tuple[list[tuple[Tool, ...]], Reason | None]:
    """All ways to join a handle and an end; or none and the reason."""
    if end.takes is None or handle.gives is None:
        return [], because(ToolReason.NO_SQUARE, tool=end.code, handle=handle.code)
    chains = _least_bought(_chains(box, handle.gives, end.takes, torque))
    if not chains:
        return [], _not_joined(handle.gives, end.takes, end, torque)
    reaches, needed = _reaches(requirement, end, box)
    if not reaches:
        lacks = because(ToolReason.NO_EXTENSION, length=Quantity(needed, "mm"), square=end.takes)
        return [], of_tool(end, lacks)
    bends = [()] if _straight(requirement, end) else [(j,) for j in box.joints.get(end.takes, ())]
    if not bends:
        return [], of_tool(end, because(ToolReason.NO_UNIVERSAL_JOINT, square=end.takes))
    ways = ((*chain, *reach, *bend) for chain in chains for reach in reaches for bend in bends)
    return [(handle, *way, end) for way in ways], None


def _not_joined(given: str, taken: str, end: Tool, torque: Decimal) -> Reason:
    """Why no chain joins two squares: too weak themselves, or no adaptor for them."""
    rated = _newton_metres(torque)
    if given == taken:
        return of_tool(end, because(ToolReason.SQUARE_TOO_WEAK, square=taken, torque=rated))
    return because(ToolReason.NO_ADAPTOR, given=given, taken=taken, torque=rated)


def _straight(requirement: Requirement, end: Tool) -> bool:
    """Whether an end goes on without a universal joint."""
    return requirement.access != FastenerAccess.ANGLED or end.sort == ToolSort.CROWFOOT


def _undoing(requirement: Requirement, box: Box) -> _Found:
    """A hand tool, or a ratchet or bar rated for twice the tightening torque."""
    ends, misses = _ends_for(requirement, box)
    trains, reasons = _turned_by(requirement, box, ends, None)
    if not trains and requirement.head is not None:
        # A socket of the very size that nothing here drives does not rule out another.
        ends = _near_equivalents(requirement, requirement.head, box)
        sizes = tuple(dict.fromkeys(end.turns.size for end in ends if end.turns))
        note = because(TrainNote.NEAR_ENOUGH, sizes=sizes, size=requirement.head.size)
        trains, more = _turned_by(requirement, box, ends, note)
        reasons += more
    return sorted(trains, key=_simplicity), misses + reasons


def _turned_by(requirement: Requirement, box: Box, ends: list[Tool], note: Reason | None) -> _Found:
    """Keys by hand; other ends on any ratchet or bar rated for the torque of undoing."""
    torque = (requirement.torque or Decimal(0)) * UNDOING
    keys = [end for end in ends if end.sort == ToolSort.KEY and end.takes is None]
    trains, reasons = [Train((key,), None, note) for key in keys], list[Reason]()
    for end in [end for end in ends if end not in keys]:
        for handle in box.handles:
            ways, reason = _ways(requirement, box, handle, end, torque)
            trains += [Train(way, None, note) for way in ways]
            reasons += [reason] if reason else []
        if not box.handles:
            away = _away(box, ToolSort.RATCHET, ToolSort.BAR)
            reasons += away or [because(ToolReason.NO_RATCHET_OR_BAR)]
    return trains, reasons


def _away(box: Box, *sorts: ToolSort, head: Head | None = None) -> list[Reason]:
    """Why tools of some sorts (that turn a head) cannot be used at the date."""
    missing = [t for t in box.missing if t.sort in sorts and (head is None or t.turns == head)]
    return [of_tool(tool, tool.away) for tool in missing if tool.away is not None]


def _near_equivalents(requirement: Requirement, head: Head, box: Box) -> list[Tool]:
    """Hexagon tools of the other measuring system that go on the head well enough to undo it."""
    return [
        tool
        for tools in box.ends.values()
        for tool in tools
        if tool.turns is not None
        and head.profile == tool.turns.profile == "hexagon"
        and near_enough_to_undo(head.size, tool.turns.size)
        and _unfit(tool, requirement) is None
    ]


def _simplicity(train: Train) -> tuple[object, ...]:
    bought = sum(tool.offered for tool in train.tools)
    return (bought, len(train.tools), [tool.code for tool in train.tools])


def _torque(requirement: Requirement, box: Box) -> _Found:
    """A torque wrench with the setting on its valid scale, true enough, turning the right way."""
    torque = requirement.torque or Decimal(0)
    ends, misses = _ends_for(requirement, box)
    trains: list[tuple[tuple[object, ...], Train]] = []
    misses += [of_tool(e, because(ToolReason.KEY_ONLY)) for e in ends if e.sort == ToolSort.KEY]
    for end in [e for e in ends if e.sort != ToolSort.KEY]:
        for wrench in box.wrenches:
            found, reasons = _wrenched(requirement, box, wrench, end)
            trains += found
            misses += reasons
    misses += [
        of_tool(wrench, wrench.away)
        for wrench in box.missing
        if wrench.away is not None
        and wrench.sort == ToolSort.TORQUE_WRENCH
        and _refused(wrench, torque, requirement, box.policy) is None
    ]
    if not box.wrenches and not misses:
        misses.append(because(ToolReason.NO_TORQUE_WRENCH))
    return [train for _, train in sorted(trains, key=lambda entry: entry[0])], misses


def _wrenched(
    requirement: Requirement, box: Box, wrench: Tool, end: Tool
) -> tuple[list[tuple[tuple[object, ...], Train]], list[Reason]]:
    """Trains of one wrench and one end with their rank, or why there are none."""
    trains: list[tuple[tuple[object, ...], Train]] = []
    misses: list[Reason] = []
    torque = requirement.torque or Decimal(0)
    for setting, note in _settings(wrench, end, torque):
        refused = _refused(wrench, setting, requirement, box.policy)
        if refused is not None:
            misses.append(of_tool(wrench, refused))
            continue
        ways, reason = _ways(requirement, box, wrench, end, torque)
        misses += [reason] if reason else []
        for way in ways:
            train = Train(way, setting, note)
            bought, *rest = _simplicity(train)
            rank = (bought, note is not None, _off_middle(wrench, setting), *rest)
            trains.append((rank, train))
    return trains, misses


def _settings(wrench: Tool, end: Tool, torque: Decimal) -> list[tuple[Decimal, Reason | None]]:
    """What the wrench is set to: the torque itself, or corrected for a crowfoot."""
    if end.sort != ToolSort.CROWFOOT:
        return [(torque, None)]
    ways: list[tuple[Decimal, Reason | None]] = [(torque, because(TrainNote.CROWFOOT_SQUARE))]
    if wrench.grip and end.offset:
        inline = crowfoot_setting(torque, wrench.grip, end.offset)
        note = because(TrainNote.CROWFOOT_STRAIGHT, setting=_newton_metres(inline))
        ways.insert(0, (inline, note))
    return ways


def _refused(
    wrench: Tool, setting: Decimal, requirement: Requirement, policy: RangePolicy
) -> Reason | None:
    """Why a wrench cannot be used at a setting; None if it can."""
    if wrench.low is None or wrench.high is None:
        return because(ToolReason.RANGE_NOT_STATED)
    torque = requirement.torque or Decimal(0)
    low, high = usable_range(wrench.low, wrench.high, policy)
    if not low <= setting <= high:
        own = setting == torque
        return because(
            ToolReason.FIGURE_OFF_SCALE if own else ToolReason.SETTING_OFF_SCALE,
            setting=_newton_metres(setting),
            low=significant(low, 4),
            high=significant(high, 4),
        )
    if requirement.left_hand and wrench.clockwise_only:
        return because(ToolReason.CLOCKWISE_ONLY)
    part = wrench.deviation or permissible_deviation(wrench.high)
    if requirement.tolerance is not None and part * torque > requirement.tolerance:
        return because(
            ToolReason.NOT_TRUE_ENOUGH,
            percent=part * 100,
            spread=_newton_metres(part * torque),
            allowed=_newton_metres(requirement.tolerance),
        )
    return None


def _off_middle(wrench: Tool, setting: Decimal) -> Decimal:
    """How far from the middle of its scale a wrench would work; the middle is preferred."""
    low, high = wrench.low or Decimal(0), wrench.high or Decimal(1)
    return abs(setting - (low + high) / 2) / (high - low or 1)


def _angle(requirement: Requirement, box: Box) -> _Found:
    """An angle gauge and a bar that reaches the head."""
    ends, misses = _ends_for(requirement, box)
    bars = [tool for tool in box.handles if tool.sort == ToolSort.BAR]
    if not box.gauges:
        misses += _away(box, ToolSort.ANGLE_GAUGE) or [because(ToolReason.NO_ANGLE_GAUGE)]
    if not bars:
        misses += _away(box, ToolSort.BAR) or [because(ToolReason.NO_BAR)]
    trains = []
    for end in ends:
        for bar in bars if box.gauges else ():
            ways, reason = _ways(requirement, box, bar, end, requirement.torque or Decimal(0))
            misses += [reason] if reason else []
            trains += [Train((gauge, *way)) for way in ways for gauge in box.gauges]
    return sorted(trains, key=_simplicity), misses


_TASKS = {ToolTask.UNDO: _undoing, ToolTask.TORQUE: _torque, ToolTask.ANGLE: _angle}
