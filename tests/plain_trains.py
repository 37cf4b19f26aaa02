"""A second route for drive trains: every row of tools that fits together, tried one by one.

Written from the rules as they are told, without any code of the search. Each condition is True,
False, or None where what is recorded does not tell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import combinations, pairwise

from kitting.calc.tools.toolkit import Requirement, Tool
from kitting.facts.heads import Head
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.verdicts import Verdict

Told = bool | None
# N·m, from memory: what driving parts are tested to (ISO 3315), and the largest torque of a torque
# wrench (ISO 6789).
TESTED = {"1/4": 62, "3/8": 202, "1/2": 512}
WRENCH = {"1/4": 30, "3/8": 135, "1/2": 340}
# Inch and millimetre sizes of which the second goes on the first to undo it; common practice, no
# source.
NEAR = {("19 mm", "3/4 in"), ("5/16 in", "8 mm")}
HAND = 10_000
PULL = 400  # N at the end of a key; common practice, no source


def verdict(wanted: Requirement, tools: Iterable[Tool]) -> Verdict:
    """Fine if some row does it for certain, no if none might."""
    found = {told for _, told in rows(wanted, _usable(tools))}
    if True in found:
        return Verdict.FINE
    return Verdict.UNKNOWN if None in found else Verdict.NO


def purchases(wanted: Requirement, tools: Iterable[Tool]) -> set[frozenset[str]]:
    """The sets of offered tools that do it for certain, none of which contains another."""
    found = {
        frozenset(tool.code for tool in row if tool.offered)
        for row, told in rows(wanted, _usable(tools))
        if told
    }
    return {one for one in found if not any(other < one for other in found)}


def rows(wanted: Requirement, tools: Sequence[Tool]) -> Iterator[tuple[tuple[Tool, ...], Told]]:
    """Every row of tools from hand to head that is not ruled out, and whether it is certain."""
    ends = [tool for tool in tools if tool.sort in ("socket", "bit", "key", "crowfoot")]
    joints = [tool for tool in tools if tool.sort == "universal joint"]
    gauges = [tool for tool in tools if tool.sort == "angle gauge"]
    if wanted.task == "angle" and not gauges:
        return
    for end in ends:
        goes_on = every(_turns(end, wanted), *_reached(end, wanted))
        if goes_on is False:
            continue
        if end.sort == "key" and end.takes is None and wanted.task == "undo":
            yield (end,), every(goes_on, _pulled(end, wanted.load.most))
        elif wanted.task != "torque" or end.sort != "key":
            bent = wanted.access == "angled" and end.sort != "crowfoot"
            for handle in tools:
                for row in _joined(handle, end, tools, joints if bent else [None]):
                    told = every(goes_on, _driven(row, wanted), _deep_enough(row, wanted))
                    if told is not False:
                        yield from _counted(row, told, gauges, wanted)


def _counted(
    row: tuple[Tool, ...], told: Told, gauges: Sequence[Tool], wanted: Requirement
) -> Iterator[tuple[tuple[Tool, ...], Told]]:
    """The row itself, or for an angle the row with each gauge that might go on it."""
    if wanted.task != "angle":
        yield row, told
        return
    for gauge in gauges:
        measured = every(told, _measured(gauge, row))
        if measured is not False:
            yield (gauge, *row), measured


def _pulled(key: Tool, load: Decimal | None) -> Told:
    if load is None or key.length is None or load > PULL * Decimal(key.length) / 1_000_000:
        return None
    return True


def _measured(gauge: Tool, row: tuple[Tool, ...]) -> Told:
    sides = {gauge.takes, gauge.gives} - {None}
    return None if len(sides) != 1 else any(part.gives in sides for part in row)


def every(*told: Told) -> Told:
    if False in told:
        return False
    return None if None in told else True


def _usable(tools: Iterable[Tool]) -> list[Tool]:
    return [tool for tool in tools if tool.away is None or _uncertified(tool)]


def _uncertified(tool: Tool) -> bool:
    return tool.away is not None and tool.away.code == ToolReason.CALIBRATION_NOT_STATED


def _turns(end: Tool, wanted: Requirement) -> Told:
    head, turns = wanted.head, end.turns
    if head is None or turns is None:
        return False
    if turns == head or (turns == Head("twelve-point", head.size) and head.profile == "hexagon"):
        return True
    if head.profile == turns.profile == "hexagon":
        return wanted.task == "undo" and (head.size, turns.size) in NEAR
    if head == Head("twelve-point", turns.size) and turns.profile == "hexagon":
        if end.points is None and end.sort != "crowfoot":
            return None
        return end.points == 12
    return False


def _reached(end: Tool, wanted: Requirement) -> Iterator[Told]:
    round_it = wanted.head is not None and wanted.head.profile in ("hexagon", "twelve-point")
    in_hand = end.sort == "key" and end.takes is None
    if wanted.access == "side" and end.sort != "crowfoot":
        yield wanted.task == "undo" and in_hand and round_it
    if wanted.access == "angled" and end.sort != "crowfoot":
        yield wanted.task == "undo"
    if wanted.protrusion and end.sort == "socket":
        yield None if end.depth is None else end.depth >= wanted.protrusion
    if wanted.recess and in_hand and round_it:
        yield None if end.offset is None else end.offset >= wanted.recess
        yield None if end.points is None else True
    if wanted.recess and end.sort == "crowfoot":
        yield False
    if wanted.recess and in_hand and not round_it:
        yield None if end.length is None else end.length >= wanted.recess + HAND


def _joined(
    handle: Tool, end: Tool, tools: Sequence[Tool], joints: Sequence[Tool | None]
) -> Iterator[tuple[Tool, ...]]:
    """A handle, up to two adaptors and two extensions in any order, a joint if asked, the end."""
    if handle.sort not in ("ratchet", "bar", "torque wrench"):
        return
    between = [tool for tool in tools if tool.sort in ("adaptor", "extension")]
    most = {"adaptor": 2, "extension": 2}

    def on(row: tuple[Tool, ...]) -> Iterator[tuple[Tool, ...]]:
        for joint in joints:
            last = (*row, joint, end) if joint else (*row, end)
            if all(_fits(hand, head) for hand, head in pairwise(last)):
                yield last
        for tool in between:
            alike = sum(one.sort == tool.sort for one in row)
            if tool not in row and alike < most[tool.sort] and _fits(row[-1], tool):
                yield from on((*row, tool))

    yield from on((handle,))


def _fits(hand: Tool, head: Tool) -> bool:
    return hand.gives is not None and hand.gives == head.takes


def _driven(row: tuple[Tool, ...], wanted: Requirement) -> Told:
    handle, *_, end = row
    if wanted.task == "torque":
        if handle.sort != "torque wrench" or wanted.torque is None:
            return False
        return every(_set(handle, end, wanted), _strong(row, wanted.torque, wanted.torque))
    if handle.sort == "torque wrench" or (wanted.task == "angle" and handle.sort != "bar"):
        return False
    return _strong(row, wanted.load.least, wanted.load.most)


def _strong(row: tuple[Tool, ...], least: Decimal, most: Decimal | None) -> Told:
    limits = [TESTED[tool.gives] for tool in row if tool.gives]
    if row[0].sort == "torque wrench":
        limits.append(WRENCH[row[0].gives or ""])
    if min(limits) < least:
        return False
    return None if most is None or min(limits) < most else True


def _set(wrench: Tool, end: Tool, wanted: Requirement) -> Told:
    torque = wanted.torque or Decimal(0)
    figures = [torque]
    if end.sort == "crowfoot" and wrench.grip and end.offset:
        figures.append(torque * wrench.grip / (wrench.grip + end.offset))
    scales = [
        every(_on_scale(wrench, figure), _at_mark(wrench, figure, wanted)) for figure in figures
    ]
    scale = True if True in scales else None if None in scales else False
    one_way: Told = {"both": True, "clockwise": False}.get(wrench.direction or "")
    if wanted.left_hand is None and one_way is False:
        one_way = None
    certified = None if _uncertified(wrench) else True
    return every(scale, wanted.left_hand is False or one_way, certified, _true(wrench, wanted))


def _on_scale(wrench: Tool, figure: Decimal) -> Told:
    if wrench.low is None or wrench.high is None:
        return None
    if not wrench.low <= figure <= wrench.high:
        return False
    # From 0 nobody says how far it is off below a fifth (ISO 6789, from memory).
    return True if figure >= (wrench.low or wrench.high / 5) else None


def _at_mark(wrench: Tool, figure: Decimal, wanted: Requirement) -> Told:
    """Whether a mark is near enough; scales are in N·m, and 0.000001 of it is never seen."""
    if wrench.resolution is None or wrench.low is None or wrench.high is None:
        return None
    count = int((wrench.high - wrench.low) / wrench.resolution)
    off = min(abs(wrench.low + n * wrench.resolution - figure) for n in range(count + 1))
    if off < Decimal("0.000001"):
        return True
    if wanted.tolerance is None or wanted.torque is None:
        return None
    off *= wanted.torque / figure
    if off > wanted.tolerance:
        return False
    worst = max(_percents(wrench)) * wanted.torque / 100
    return True if off + worst <= wanted.tolerance else None


def _percents(wrench: Tool) -> set[Decimal]:
    """By how much it may be off: what is stated, else what the standard permits."""
    if wrench.deviation is not None:
        return {wrench.deviation * 100}
    return {Decimal(percent) for percent in _permitted(wrench)}


def _permitted(wrench: Tool) -> set[int]:
    """ISO 6789-1:2017, from memory: 4 % above 10 N·m, else 6 %; a bending beam (I A) always 6 %."""
    if wrench.wrench_class == "I A":
        return {6}
    own = {4, 6} if wrench.high is None else {4 if wrench.high > 10 else 6}
    return own if wrench.wrench_class is not None else own | {6}


def _true(wrench: Tool, wanted: Requirement) -> Told:
    if wanted.torque is None:
        return True
    if wanted.tolerance is None:
        if wrench.deviation is None:
            return None if wrench.wrench_class is None else True
        within = {wrench.deviation * 100 <= percent for percent in _permitted(wrench)}
        return within.pop() if len(within) == 1 else None
    told = {percent * wanted.torque / 100 <= wanted.tolerance for percent in _percents(wrench)}
    if wrench.deviation is None and wrench.wrench_class is None and True in told:
        return None  # it may be off by more than any class
    return told.pop() if len(told) == 1 else None


def _deep_enough(row: tuple[Tool, ...], wanted: Requirement) -> Told:
    end = row[-1]
    if not wanted.recess:
        return True
    long = [tool for tool in (*row, end) if tool.sort == "extension"]
    total = sum(tool.length or 0 for tool in long) + (end.length or 0)
    if total >= wanted.recess + HAND:
        return True
    unsure = [*long, end]
    return None if any(tool.length is None for tool in unsure) else False


def subsets(codes: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Every set of some codes."""
    for count in range(len(codes) + 1):
        yield from combinations(codes, count)
