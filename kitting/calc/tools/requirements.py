"""Tooling: what the fasteners of a plan ask of a toolbox."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from kitting.facts.heads import Head, driver, smallest_drive
from kitting.facts.names import natural_key

SORTS = ("turn", "drive", "torque", "angle", "general")


@dataclass(frozen=True, slots=True)
class Fastener:
    """One position to turn: its head (if it has one to name) and its stages.

    `side` means that something is in the way of a socket.
    `torques` are (as published, in N·m) in order; `turned_by_angle` if any stage is an angle.
    """

    place: str
    head: Head | None
    side: bool = False
    torques: tuple[tuple[str, Decimal], ...] = ()
    turned_by_angle: bool = False


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing the toolbox must hold, and the places that want it."""

    sort: str
    tool: str
    wanted_for: tuple[str, ...]


def asks(fasteners: Iterable[Fastener], general: Iterable[tuple[str, str]]) -> list[Ask]:
    """Sockets and bits by head, square drives and figures by torque, and general tools.

    `general` is (tool, place). The square drive is the smallest whose practical limit holds the
    largest torque of the position (limits from memory, see kitting.facts.heads).
    """
    wanted: dict[tuple[str, str], list[str]] = {}

    def ask(sort: str, tool: str, place: str) -> None:
        places = wanted.setdefault((sort, tool), [])
        if place not in places:
            places.append(place)

    for fastener in fasteners:
        if fastener.head is not None:
            ask("turn", driver(fastener.head, fastener.side), fastener.place)
        for published, _ in fastener.torques:
            ask("torque", published, fastener.place)
        if fastener.torques:
            largest = max(newton_metres for _, newton_metres in fastener.torques)
            ask("drive", f"square drive {smallest_drive(largest)} in or larger", fastener.place)
        if fastener.turned_by_angle:
            ask("angle", "angle gauge", fastener.place)
    for tool, place in general:
        ask("general", tool, place)
    return [
        Ask(sort, tool, tuple(places))
        for (sort, tool), places in sorted(
            wanted.items(), key=lambda entry: (SORTS.index(entry[0][0]), natural_key(entry[0][1]))
        )
    ]
