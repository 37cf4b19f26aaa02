"""What the fasteners of a plan ask of a toolbox, to be laid out before work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kitting.calc.tools.loads import NOT_STATED, Bolt, smallest_square
from kitting.facts.heads import Head, driver
from kitting.facts.names import natural_key
from kitting.facts.stages import Stage
from kitting.facts.tool_words import ToolAskSort

_ORDER = {sort: place for place, sort in enumerate(ToolAskSort)}


@dataclass(frozen=True, slots=True)
class Fastener:
    """One position to turn: its head (if it has one to name) and its stages.

    `side` means that something is in the way of a socket; `old` is what is undone.
    """

    place: str
    head: Head | None
    side: bool = False
    stages: tuple[Stage, ...] = ()
    bolt: Bolt = NOT_STATED
    old: Bolt = NOT_STATED


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing that the toolbox needs, and the places that need it."""

    sort: ToolAskSort
    tool: str
    wanted_for: tuple[str, ...]


def asks(fasteners: Iterable[Fastener], general: Iterable[tuple[str, str]]) -> list[Ask]:
    """Sockets and bits by head, square drives and figures by torque, gauges, and general tools.

    `general` is (tool, place). The square drive is the smallest that bears undoing and every stage
    of the position, as the check of a toolbox reckons it (see kitting.calc.tools.loads).
    """
    wanted: dict[tuple[ToolAskSort, str], dict[str, None]] = {}
    for fastener in fasteners:
        for sort, tool in _asked_of(fastener):
            wanted.setdefault((sort, tool), {})[fastener.place] = None
    for tool, place in general:
        wanted.setdefault((ToolAskSort.GENERAL, tool), {})[place] = None
    return [
        Ask(sort, tool, tuple(places))
        for (sort, tool), places in sorted(
            wanted.items(), key=lambda entry: (_ORDER[entry[0][0]], natural_key(entry[0][1]))
        )
    ]


def _asked_of(fastener: Fastener) -> Iterable[tuple[ToolAskSort, str]]:
    if fastener.head is not None:
        yield ToolAskSort.TURN, driver(fastener.head, fastener.side)
    for stage in fastener.stages:
        if stage.torque is not None:
            yield ToolAskSort.TORQUE, str(stage.torque)
        else:
            yield ToolAskSort.ANGLE, stage.instrument.value
    if fastener.stages:
        square, known = smallest_square(fastener.stages, fastener.bolt, fastener.old)
        more = "" if known else ", as far as it is known"
        yield ToolAskSort.DRIVE, f"square drive {square} in or larger{more}"
