"""Joining: adaptors, extensions and universal joints between what the hand holds and what turns."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations

from kitting.calc.tools.fitting import REACH_ABOVE, End, of_tool
from kitting.calc.tools.loads import TEST_TORQUE, WRENCH_LIMIT, Load
from kitting.calc.tools.toolkit import Box, Requirement, Tool
from kitting.facts.reasons import Reason, because
from kitting.facts.tool_reasons import ToolReason
from kitting.facts.tool_words import ToolSort
from kitting.facts.units import Quantity, Torque, significant
from kitting.facts.words import FastenerAccess

_NOTHING = Decimal(0)


@dataclass(frozen=True, slots=True)
class Way:
    """Tools from a handle to an end, both among them, and what is not known of them."""

    tools: tuple[Tool, ...]
    doubts: tuple[Reason, ...]

    @property
    def bought(self) -> frozenset[str]:
        """The tools of it that are only on offer."""
        return frozenset(tool.code for tool in self.tools if tool.offered)

    @property
    def rank(self) -> tuple[object, ...]:
        """The fewest tools first."""
        return (len(self.tools), [tool.code for tool in self.tools])


def newton_metres(torque: Decimal) -> Torque:
    """A calculated torque, as precise as a scale is read."""
    return Torque(significant(torque, 4), "N·m")


def ways(
    requirement: Requirement,
    box: Box,
    handle: Tool,
    end: End,
    lenient: bool,
    through: str | None = None,
) -> tuple[list[Way], Reason | None]:
    """The best ways to join a handle and an end, one for each set of tools to be bought.

    At most two adaptors and two extensions, anywhere between the two, and a universal joint at the
    end where no straight way leads to it; a square to go `through` is among those joined. If there
    is none, the reason.
    """
    tool, load = end.tool, requirement.bears
    if tool.takes is None or handle.gives is None:
        return [], because(ToolReason.NO_SQUARE, tool=tool.code, handle=handle.code)
    if load.most is None and not lenient:
        return [], not_known(load)
    bends = _bends(requirement, tool, box)
    if not bends:
        return [], of_tool(tool, because(ToolReason.NO_UNIVERSAL_JOINT, square=tool.takes))
    strong = [
        (bend, chain)
        for bend in bends
        for chain in _chains(box, handle.gives, _goal(tool, bend))
        if _bear(_squares(handle.gives, (*chain, *bend)), handle, load, lenient)
    ]
    if not strong:
        return [], _not_joined(handle.gives, tool, load)
    led = [one for one in strong if through in (None, *_squares(handle.gives, one[1]))]
    if not led:
        fitting = {"square": through, "handle": handle.code, "tool": tool.code}
        return [], because(ToolReason.GAUGE_DOES_NOT_FIT, **fitting)
    needed, unsure = _needed(requirement, tool, lenient)
    found = list[Way]()
    for bend, chain in led:
        squares = _squares(handle.gives, (*chain, *bend))
        doubts = (*end.doubts, *unsure, *_in_doubt(squares, handle, load))
        for reach in _reaches(box, _squares(handle.gives, chain), needed, lenient):
            parts = (handle, *_placed(handle.gives, chain, reach), *bend, tool)
            found.append(Way(parts, (*doubts, *_of_length(requirement, reach))))
    return _undominated(found), None if found else _out_of_reach(requirement, tool, needed)


def _goal(tool: Tool, bend: tuple[Tool, ...]) -> str:
    """The square that a chain has to lead to: the end's, or that of the joint before it."""
    return (bend[0].takes if bend else None) or tool.takes or ""


def not_known(load: Load) -> Reason:
    """That nobody can say what driving parts must bear, and what keeps it from being reckoned."""
    return because(ToolReason.LOAD_NOT_KNOWN, reason=load.basis)


def _bends(requirement: Requirement, tool: Tool, box: Box) -> list[tuple[Tool, ...]]:
    """Nothing where an end goes on straight, else each universal joint that it goes on."""
    if requirement.access != FastenerAccess.ANGLED or tool.sort == ToolSort.CROWFOOT:
        return [()]
    return [(joint,) for joint in box.joints if joint.gives == tool.takes]


def _needed(requirement: Requirement, tool: Tool, lenient: bool) -> tuple[int, tuple[Reason, ...]]:
    """How long extensions must be in thousandths of a mm, and whether that is in doubt.

    A length that is not stated counts as none, or as enough if `lenient`.
    """
    if not requirement.recess:
        return 0, ()
    needed = requirement.recess + REACH_ABOVE - (tool.length or 0)
    if tool.length is None and lenient:
        return 0, (_length_not_stated(requirement, tool),)
    return needed, ()


def _of_length(requirement: Requirement, reach: Iterable[Tool]) -> Iterator[Reason]:
    """What is not known of extensions that are asked to reach."""
    return (_length_not_stated(requirement, one) for one in reach if one.length is None)


def _length_not_stated(requirement: Requirement, tool: Tool) -> Reason:
    recess = Quantity(requirement.recess, "mm")
    return of_tool(tool, because(ToolReason.LENGTH_NOT_STATED, recess=recess))


def _chains(box: Box, start: str, goal: str) -> tuple[tuple[Tool, ...], ...]:
    """Every way from one square to another over two adaptors at most."""
    if (start, goal) not in box.chains:
        box.chains[start, goal] = tuple(_find_chains(box, start, goal))
    return box.chains[start, goal]


def _find_chains(box: Box, start: str, goal: str) -> Iterator[tuple[Tool, ...]]:
    if start == goal:
        yield ()
    for first in box.adaptors:
        if first.takes != start or first.gives is None:
            continue
        if first.gives == goal:
            yield (first,)
        for second in box.adaptors:
            if second is not first and second.takes == first.gives and second.gives == goal:
                yield (first, second)


def _squares(start: str, parts: Iterable[Tool]) -> tuple[str, ...]:
    """The squares from hand to head."""
    return (start, *(part.gives for part in parts if part.gives is not None))


def _limit(place: int, square: str, handle: Tool) -> Decimal:
    """What a square bears in N·m; the first is the handle's own."""
    tested = TEST_TORQUE.get(square, _NOTHING)
    if place == 0 and handle.sort == ToolSort.TORQUE_WRENCH:
        return min(tested, WRENCH_LIMIT.get(square, _NOTHING))
    return tested


def _bear(squares: tuple[str, ...], handle: Tool, load: Load, lenient: bool) -> bool:
    wanted = load.least if lenient or load.most is None else load.most
    return all(_limit(place, square, handle) >= wanted for place, square in enumerate(squares))


def _in_doubt(squares: tuple[str, ...], handle: Tool, load: Load) -> tuple[Reason, ...]:
    """What is not known of the strength of some squares."""
    if load.most is None:
        return (not_known(load),)
    limits = [(_limit(place, square, handle), square) for place, square in enumerate(squares)]
    limit, square = min(limits)
    if limit >= load.most:
        return ()
    perhaps = because(
        ToolReason.PERHAPS_TOO_WEAK,
        square=square,
        limit=newton_metres(limit),
        torque=newton_metres(load.most),
    )
    return (perhaps,)


def _reaches(
    box: Box, squares: tuple[str, ...], needed: int, lenient: bool
) -> list[tuple[Tool, ...]]:
    """The fewest extensions on some squares that are long enough; [()] where none is needed.

    If some that are there reach, only those; else one choice for each that could be bought. If
    `lenient`, and none reaches, one of which nobody states the length.
    """
    if needed <= 0:
        return [()]
    there = [e for square in dict.fromkeys(squares) for e in box.extensions.get(square, ())]
    owned = sorted((e for e in there if not e.offered), key=_length)
    mine = _with_owned((), owned, needed)
    if mine is not None:
        return [mine]
    found, short = list[tuple[Tool, ...]](), list[Tool]()
    for offered in (e for e in there if e.offered):
        reach = _with_owned((offered,), owned, needed)
        if reach is None:
            short.append(offered)
        else:
            found.append(reach)
    found += [pair for pair in combinations(short, 2) if sum(map(_length, pair)) >= needed]
    if not found and lenient:
        found += [(e,) for e in there if e.length is None][:1]
    return found


def _with_owned(
    chosen: tuple[Tool, ...], owned: list[Tool], needed: int
) -> tuple[Tool, ...] | None:
    """Up to two extensions that reach, with the shortest of `owned` that make up the rest."""
    rest = needed - sum(map(_length, chosen))
    if rest <= 0:
        return chosen
    place = bisect_left(owned, rest, key=_length)
    if place < len(owned):
        return (*chosen, owned[place])
    if chosen or len(owned) < 2:
        return None
    *shorter, longest = owned
    place = bisect_left(shorter, rest - _length(longest), key=_length)
    return (longest, shorter[place]) if place < len(shorter) else None


def _length(extension: Tool) -> int:
    return extension.length or 0


def _placed(start: str, chain: tuple[Tool, ...], reach: tuple[Tool, ...]) -> list[Tool]:
    """The parts from hand to head, each extension on the last of its squares."""
    squares = _squares(start, chain)
    last = {square: place for place, square in enumerate(squares)}
    parts = list[Tool]()
    for place in range(len(squares)):
        parts += chain[place - 1 : place] if place else ()
        parts += [e for e in reach if e.takes is not None and last.get(e.takes) == place]
    return parts


def _undominated(found: Iterable[Way]) -> list[Way]:
    """One way for each set of tools to be bought that contains no other."""
    kept: list[Way] = []
    for way in sorted(found, key=lambda way: (len(way.bought), way.rank)):
        if not any(other.bought <= way.bought for other in kept):
            kept.append(way)
    return kept


def _not_joined(given: str, tool: Tool, load: Load) -> Reason:
    """Why no chain joins two squares: too weak themselves, or no adaptor for them."""
    rated = newton_metres(load.most if load.most is not None else load.least)
    if given == tool.takes:
        return of_tool(tool, because(ToolReason.SQUARE_TOO_WEAK, square=given, torque=rated))
    return because(ToolReason.NO_ADAPTOR, given=given, taken=tool.takes, torque=rated)


def _out_of_reach(requirement: Requirement, tool: Tool, needed: int) -> Reason:
    if tool.length is None:
        return _length_not_stated(requirement, tool)
    lacks = because(ToolReason.NO_EXTENSION, length=Quantity(needed, "mm"), square=tool.takes)
    return of_tool(tool, lacks)
