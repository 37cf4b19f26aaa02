"""Packets: what a part brings with it, and which packet to take for what is not sold singly."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Taking:
    """What has to be taken: per item the amount, and which packets cover how much of it.

    `take` counts what comes from the shelf or a supplier; `covered` is (packet, amount) per item;
    `added` the packets that are there only for their contents.
    """

    take: Mapping[int, int]
    covered: Mapping[int, tuple[tuple[int, int], ...]]
    added: Mapping[int, int]


def cover(
    demand: Mapping[int, int],
    contents: Mapping[int, Mapping[int, int]],
    only_in_packets: Set[int],
) -> Taking:
    """Take packets into account: nothing is ordered that a packet already brings.

    A packet on the plan in its own right (a cooler with its rings) brings its contents. Items
    that are not sold singly come in the fewest packets that hold enough (one axle kit for two
    calipers). Which of several sufficient packets is cheapest is for buying to say.

    Amounts are thousandths: one packet is 1000 of itself; `contents` gives amounts per packet.
    """
    taken = dict(demand)
    covered: dict[int, list[tuple[int, int]]] = {}
    added: dict[int, int] = {}

    def unpack(packet: int, pieces: int) -> None:
        for item, each in sorted(contents[packet].items()):
            brought = min(taken.get(item, 0), each * pieces)
            if brought:
                taken[item] -= brought
                covered.setdefault(item, []).append((packet, brought))

    for packet in sorted(demand.keys() & contents.keys()):
        unpack(packet, demand[packet] // 1000)
    held = only_in_packets & {item for inside in contents.values() for item in inside}
    while open_items := sorted(i for i in held if taken.get(i, 0) > 0):
        holding = sorted(p for p in contents if open_items[0] in contents[p])
        packet = max(holding, key=lambda p: (len(contents[p].keys() & set(open_items)), -p))
        pieces = max(
            -(-taken[item] // contents[packet][item])
            for item in open_items
            if item in contents[packet]
        )
        added[packet] = added.get(packet, 0) + pieces * 1000
        unpack(packet, pieces)
    for packet, amount in added.items():
        taken[packet] = taken.get(packet, 0) + amount
    return Taking(
        take=taken,
        covered={item: tuple(parts) for item, parts in covered.items()},
        added=added,
    )
