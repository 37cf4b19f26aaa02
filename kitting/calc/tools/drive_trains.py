"""Drive trains: can this toolbox undo and tighten a fastener to its figure, and if not, why not?

A train is everything between hand and head: a socket, bit or crowfoot, adaptors and extensions, and
a ratchet, bar or torque wrench. Undoing and every stage of tightening are judged apart.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from kitting.calc.tools.toolkit import ENDS, Answer, Box, Requirement, Tool, Train
from kitting.facts.heads import SQUARE_DRIVES, Head
from kitting.facts.torque_tools import permissible_deviation, usable_range
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
        return Answer(requirement, (), ("no head is stated: nobody can say what turns it",))
    if requirement.task == "torque" and requirement.torque is None:
        return Answer(requirement, (), ("no figure is stated: look it up",))
    trains, misses = _TASKS[requirement.task](requirement, box)
    return Answer(requirement, tuple(trains), () if trains else tuple(dict.fromkeys(misses)))


_Found = tuple[list[Train], list[str]]


def _ends_for(requirement: Requirement, box: Box) -> tuple[list[Tool], list[str]]:
    """Sockets, bits and crowfeet that go on the head where it sits; reasons why others do not."""
    fitting, misses = [], []
    for tool in box.ends.get(str(requirement.head), ()):
        reason = _unfit(tool, requirement)
        if reason is None:
            fitting.append(tool)
        else:
            misses.append(f"{tool.code}: {reason}")
    if not fitting:
        misses += _away(box, *ENDS, head=requirement.head)
        if not misses:
            misses.append(f"nothing in the box turns {requirement.head}")
    return fitting, misses


def _unfit(tool: Tool, requirement: Requirement) -> str | None:
    if requirement.access == "side" and tool.sort != "crowfoot":
        return "something is in the way of a socket; only a crowfoot goes on from the side"
    if requirement.access == "angled" and tool.sort != "crowfoot" and requirement.task != "undo":
        return "no straight way to the head, and a universal joint is never for the final torque"
    if requirement.protrusion and tool.sort == "socket":
        if tool.depth is None:
            return "its depth is not stated, and the stud stands out"
        if tool.depth < requirement.protrusion:
            stands_out = requirement.protrusion / 1000
            return f"{tool.depth / 1000:g} mm deep, the stud stands out {stands_out:g} mm"
    return None


def _chains(box: Box, start: str, goal: str, torque: Decimal) -> Iterator[tuple[Tool, ...]]:
    """Every way from one square to another over at most two adaptors that bears the torque."""
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
    """The torque in N·m that a square drive bears (ISO 6789 limits, from memory)."""
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
) -> tuple[list[tuple[Tool, ...]], str | None]:
    """All ways to join a handle and an end; or none and the reason."""
    if end.takes is None or handle.gives is None:
        return [], f"{end.code} has no square for {handle.code}"
    chains = _least_bought(_chains(box, handle.gives, end.takes, torque))
    if not chains:
        shown = f"{float(torque):.4g} N·m"
        if handle.gives == end.takes:
            return [], f"{end.code}: a {end.takes} in square does not bear {shown}"
        return [], f"no adaptor from {handle.gives} to {end.takes} in that bears {shown}"
    reaches, needed = _reaches(requirement, end, box)
    if not reaches:
        return [], f"{end.code}: no extension of {needed / 1000:g} mm on a {end.takes} in square"
    bends = [()] if _straight(requirement, end) else [(j,) for j in box.joints.get(end.takes, ())]
    if not bends:
        return [], f"{end.code}: no universal joint on a {end.takes} in square"
    ways = ((*chain, *reach, *bend) for chain in chains for reach in reaches for bend in bends)
    return [(handle, *way, end) for way in ways], None


def _straight(requirement: Requirement, end: Tool) -> bool:
    """Whether an end goes on without a universal joint."""
    return requirement.access != "angled" or end.sort == "crowfoot"


def _undoing(requirement: Requirement, box: Box) -> _Found:
    """A hand tool, or a ratchet or bar that bears twice the tightening torque."""
    ends, misses = _ends_for(requirement, box)
    trains, reasons = _turned_by(requirement, box, ends, None)
    if not trains and requirement.head is not None:
        # A socket of the very size that nothing here drives does not stand in the way of another.
        ends = _near_equivalents(requirement, requirement.head, box)
        sizes = " or ".join(dict.fromkeys(str(end.turns and end.turns.size) for end in ends))
        note = f"{sizes} is near enough to undo {requirement.head.size}, never to tighten it"
        trains, more = _turned_by(requirement, box, ends, note)
        reasons += more
    return sorted(trains, key=_simplicity), misses + reasons


def _turned_by(requirement: Requirement, box: Box, ends: list[Tool], note: str | None) -> _Found:
    """Keys by hand; other ends on any ratchet or bar that bears the torque of undoing."""
    torque = (requirement.torque or Decimal(0)) * UNDOING
    keys = [end for end in ends if end.sort == "key" and end.takes is None]
    trains, reasons = [Train((key,), None, note) for key in keys], list[str]()
    for end in [end for end in ends if end not in keys]:
        for handle in box.handles:
            ways, reason = _ways(requirement, box, handle, end, torque)
            trains += [Train(way, None, note) for way in ways]
            reasons += [reason] if reason else []
        if not box.handles:
            reasons += _away(box, "ratchet", "bar") or ["no ratchet or bar in the box"]
    return trains, reasons


def _away(box: Box, *sorts: str, head: Head | None = None) -> list[str]:
    """Why tools of some sorts (that turn a head) cannot be used at the date."""
    missing = [t for t in box.missing if t.sort in sorts and (head is None or t.turns == head)]
    return [f"{tool.code}: {tool.away}" for tool in missing]


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
    misses += [f"{e.code}: a key, no torque wrench drives it" for e in ends if e.sort == "key"]
    for end in [e for e in ends if e.sort != "key"]:
        for wrench in box.wrenches:
            for setting, note in _settings(wrench, end, torque):
                refused = _refused(wrench, setting, torque, requirement, box.policy)
                if refused is not None:
                    misses.append(f"{wrench.code}: {refused}")
                    continue
                ways, reason = _ways(requirement, box, wrench, end, torque)
                misses += [reason] if reason else []
                for way in ways:
                    train = Train(way, setting, note)
                    bought, *rest = _simplicity(train)
                    rank = (bought, note is not None, _off_middle(wrench, setting), *rest)
                    trains.append((rank, train))
    misses += [
        f"{wrench.code}: {wrench.away}"
        for wrench in box.missing
        if wrench.sort == "torque wrench"
        and _refused(wrench, torque, torque, requirement, box.policy) is None
    ]
    if ends and not box.wrenches and not misses:
        misses.append("no torque wrench in the box")
    return [train for _, train in sorted(trains, key=lambda entry: entry[0])], misses


def _settings(wrench: Tool, end: Tool, torque: Decimal) -> list[tuple[Decimal, str | None]]:
    """What the wrench is set to: the torque itself, or corrected for a crowfoot."""
    if end.sort != "crowfoot":
        return [(torque, None)]
    ways: list[tuple[Decimal, str | None]] = [(torque, "crowfoot at 90° to the wrench")]
    if wrench.grip and end.offset:
        inline = crowfoot_setting(torque, wrench.grip, end.offset)
        ways.insert(0, (inline, f"crowfoot straight ahead, set {float(inline):.4g} N·m"))
    return ways


def _refused(
    wrench: Tool, setting: Decimal, torque: Decimal, requirement: Requirement, policy: str
) -> str | None:
    """Why a wrench cannot be used at a setting; None if it can."""
    if wrench.low is None or wrench.high is None:
        return "its range is not stated"
    low, high = usable_range(wrench.low, wrench.high, policy)
    if not low <= setting <= high:
        what = "setting" if setting != torque else "figure"
        scale = f"{float(low):.4g} to {float(high):.4g} N·m"  # a float shows no needless zeros
        return f"{what} {float(setting):.4g} N·m is off its scale ({scale})"
    if requirement.left_hand and wrench.clockwise_only:
        return "left-hand thread, and it measures clockwise only"
    part = wrench.deviation or permissible_deviation(wrench.high)
    if requirement.tolerance is not None and part * torque > requirement.tolerance:
        return (
            f"±{float(part * 100):.3g} % is ±{float(part * torque):.3g} N·m,"
            f" more than the ±{float(requirement.tolerance):.3g} N·m allowed"
        )
    return None


def _off_middle(wrench: Tool, setting: Decimal) -> Decimal:
    """How far from the middle of its scale a wrench would work; the middle is preferred."""
    low, high = wrench.low or Decimal(0), wrench.high or Decimal(1)
    return abs(setting - (low + high) / 2) / (high - low or 1)


def _angle(requirement: Requirement, box: Box) -> _Found:
    """An angle gauge and a bar that reaches the head."""
    ends, misses = _ends_for(requirement, box)
    bars = [tool for tool in box.handles if tool.sort == "bar"]
    if not box.gauges:
        misses += _away(box, "angle gauge") or ["no angle gauge in the box"]
    if not bars:
        misses += _away(box, "bar") or ["no bar in the box"]
    trains = []
    for end in ends:
        for bar in bars if box.gauges else ():
            ways, reason = _ways(requirement, box, bar, end, requirement.torque or Decimal(0))
            misses += [reason] if reason else []
            trains += [Train((gauge, *way)) for way in ways for gauge in box.gauges]
    return sorted(trains, key=_simplicity), misses


_TASKS = {"undo": _undoing, "torque": _torque, "angle": _angle}


def check(requirements: Sequence[Requirement], box: Box) -> tuple[Answer, ...]:
    """An answer for every requirement, in their order."""
    return tuple(search(requirement, box) for requirement in requirements)
