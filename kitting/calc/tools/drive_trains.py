"""Drive trains: can this toolbox undo and tighten a fastener to its figure, and if not, why not?

A train is everything between hand and head: a socket, bit or crowfoot, adaptors and extensions, and
a ratchet, bar or torque wrench. Undoing and every stage of tightening are judged one by one.
What is not recorded never counts as fine: first the trains are sought that can do it for certain;
if there are none, `lenient`, those that could if what is not recorded were so.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from kitting.calc.tools.fitting import End, away, by_hand, ends_for, near_ends, of_tool
from kitting.calc.tools.joining import newton_metres, not_known, ways
from kitting.calc.tools.loads import HAND_FORCE
from kitting.calc.tools.loads import by_hand as hand_torque
from kitting.calc.tools.toolkit import Answer, Box, Requirement, Tool, Train
from kitting.calc.tools.wrenches import judged, off_middle, settings
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import ToolReason, TrainNote
from kitting.facts.tool_words import ToolSort, ToolTask
from kitting.facts.units import Quantity

_Found = tuple[list[Train], list[Reason]]


def search(requirement: Requirement, box: Box) -> Answer:
    """Every kind of train that can meet a requirement, the best first, or the near misses."""
    if requirement.head is None:
        return Answer(requirement, (), (because(ToolReason.NO_HEAD),))
    if requirement.task == ToolTask.TORQUE and requirement.torque is None:
        return Answer(requirement, (), (because(ToolReason.NO_FIGURE),))
    task = _TASKS[requirement.task]
    trains, _ = task(requirement, box, False)
    if trains:
        return Answer(requirement, tuple(trains), ())
    doubtful, misses = task(requirement, box, True)
    reasons = _doubts(doubtful) if doubtful else misses
    return Answer(requirement, (), tuple(dict.fromkeys(reasons)), tuple(doubtful))


def _doubts(trains: Sequence[Train]) -> list[Reason]:
    """What is not known of the trains that lack the least."""
    fewest = min(len(train.doubts) for train in trains)
    return [doubt for train in trains if len(train.doubts) == fewest for doubt in train.doubts]


def _undoing(requirement: Requirement, box: Box, lenient: bool) -> _Found:
    """A hand tool, or a ratchet or bar that bears the torque of undoing."""
    ends, misses = ends_for(requirement, box, lenient)
    trains, reasons = _turned_by(requirement, box, ends, None, lenient)
    if requirement.head is not None and not any(_all_here(train) for train in trains):
        # A socket of the very size that nothing here drives does not rule out another.
        ends = near_ends(requirement, requirement.head, box, lenient)
        sizes = tuple(dict.fromkeys(end.tool.turns.size for end in ends if end.tool.turns))
        note = because(TrainNote.NEAR_ENOUGH, sizes=sizes, size=requirement.head.size)
        near, more = _turned_by(requirement, box, ends, note, lenient)
        trains += near
        reasons += more
    return sorted(trains, key=_simplicity), misses + reasons


def _all_here(train: Train) -> bool:
    return not any(tool.offered for tool in train.tools)


def _turned_by(
    requirement: Requirement, box: Box, ends: Sequence[End], note: Reason | None, lenient: bool
) -> _Found:
    """Keys by hand; other ends on any ratchet or bar that bears the torque of undoing."""
    trains, reasons = list[Train](), list[Reason]()
    for end in ends:
        if by_hand(end.tool):
            doubt = _beyond_a_hand(requirement, end.tool)
            unknown = () if doubt is None else (doubt,)
            if lenient or not unknown:
                trains.append(Train((end.tool,), None, note, (*end.doubts, *unknown)))
            reasons += unknown
            continue
        for handle in box.handles:
            found, reason = ways(requirement, box, handle, end, lenient)
            trains += [Train(way.tools, None, note, way.doubts) for way in found]
            reasons += [reason] if reason else []
        if not box.handles:
            missing = away(box, ToolSort.RATCHET, ToolSort.BAR)
            reasons += missing or [because(ToolReason.NO_RATCHET_OR_BAR)]
    return trains, reasons


def _beyond_a_hand(requirement: Requirement, key: Tool) -> Reason | None:
    """What keeps it from being proven that a hand undoes a fastener with a key or spanner."""
    load = requirement.bears
    if load.most is None:
        return not_known(load)
    if key.length is None:
        return of_tool(key, because(ToolReason.LEVER_NOT_STATED))
    limit = hand_torque(key.length)
    if load.most <= limit:
        return None
    beyond = because(
        ToolReason.MORE_THAN_A_HAND,
        torque=newton_metres(load.most),
        limit=newton_metres(limit),
        length=Quantity(key.length, "mm"),
        force=HAND_FORCE,
    )
    return of_tool(key, beyond)


def _simplicity(train: Train) -> tuple[object, ...]:
    bought = sum(tool.offered for tool in train.tools)
    codes = [tool.code for tool in train.tools]
    return (bought, len(train.doubts), train.note is not None, len(train.tools), codes)


def _torque(requirement: Requirement, box: Box, lenient: bool) -> _Found:
    """A torque wrench with the setting on its valid scale, true enough, turning the right way."""
    torque = requirement.torque or Decimal(0)
    ends, misses = ends_for(requirement, box, lenient)
    trains: list[tuple[tuple[object, ...], Train]] = []
    keys = [end.tool for end in ends if end.tool.sort == ToolSort.KEY]
    misses += [of_tool(key, because(ToolReason.KEY_ONLY)) for key in keys]
    for end in [end for end in ends if end.tool not in keys]:
        for wrench in box.wrenches:
            found, reasons = _wrenched(requirement, box, wrench, end, lenient)
            trains += found
            misses += reasons
    misses += [
        of_tool(wrench, wrench.away)
        for wrench in box.missing
        if wrench.away is not None
        and wrench.sort == ToolSort.TORQUE_WRENCH
        and not any(one.no for one in judged(wrench, torque, requirement, box.policy))
    ]
    if not box.wrenches and not misses:
        misses.append(because(ToolReason.NO_TORQUE_WRENCH))
    return [train for _, train in sorted(trains, key=lambda entry: entry[0])], misses


def _wrenched(
    requirement: Requirement, box: Box, wrench: Tool, end: End, lenient: bool
) -> tuple[list[tuple[tuple[object, ...], Train]], list[Reason]]:
    """Trains of one wrench and one end with their rank, or why there are none."""
    trains: list[tuple[tuple[object, ...], Train]] = []
    misses: list[Reason] = []
    for setting, note in settings(wrench, end.tool, requirement.torque or Decimal(0)):
        found = judged(wrench, setting, requirement, box.policy)
        against = [reason for one in found if (reason := one.against(lenient)) is not None]
        if against:
            misses.append(of_tool(wrench, against[0]))
            continue
        doubts = [of_tool(wrench, one.doubt) for one in found if one.doubt is not None]
        joined, reason = ways(requirement, box, wrench, end, lenient)
        misses += [reason] if reason else []
        for way in joined:
            train = Train(way.tools, setting, note, (*doubts, *way.doubts))
            bought, unsure, noted, *rest = _simplicity(train)
            rank = (bought, unsure, wrench.resolution is None, noted)
            trains.append(((*rank, off_middle(wrench, setting), *rest), train))
    return trains, misses


def _angle(requirement: Requirement, box: Box, lenient: bool) -> _Found:
    """A bar that reaches the head, and an angle gauge on one of the squares between the two."""
    ends, misses = ends_for(requirement, box, lenient)
    bars = [tool for tool in box.handles if tool.sort == ToolSort.BAR]
    if not box.gauges:
        missing = away(box, ToolSort.ANGLE_GAUGE)
        misses += missing or [because(ToolReason.NO_ANGLE_GAUGE)]
    if not bars:
        misses += away(box, ToolSort.BAR) or [because(ToolReason.NO_BAR)]
    trains = []
    for end in ends:
        for bar in bars if box.gauges else ():
            for gauge in box.gauges:
                square = _square(gauge)
                unknown = of_tool(gauge, because(ToolReason.GAUGE_SQUARE_NOT_STATED))
                doubts = (unknown,) if square is None else ()
                if doubts and not lenient:
                    misses += doubts
                    continue
                found, reason = ways(requirement, box, bar, end, lenient, square)
                if reason is not None:
                    fits = reason.code != ToolReason.GAUGE_DOES_NOT_FIT
                    misses.append(reason if fits else of_tool(gauge, reason))
                trains += [
                    Train((gauge, *way.tools), None, None, (*doubts, *way.doubts)) for way in found
                ]
    return sorted(trains, key=_simplicity), misses


def _square(gauge: Tool) -> str | None:
    """The square of an angle gauge, the same on both sides; None where it cannot be told."""
    stated = {side for side in (gauge.takes, gauge.gives) if side is not None}
    return stated.pop() if len(stated) == 1 else None


_TASKS = {ToolTask.UNDO: _undoing, ToolTask.TORQUE: _torque, ToolTask.ANGLE: _angle}
