"""Packets: what a part brings with it, and which packets to take for what is not sold singly."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter

from kitting.calc.solver import new_model, prove, total
from kitting.errors import KittingError

PIECE = 1000

# By item: so much of it from each packet.
Covered = Mapping[int, tuple[tuple[int, int], ...]]
Contents = Mapping[int, Mapping[int, int]]


@dataclass(frozen=True, slots=True)
class Taking:
    """What has to be taken: per item the amount, and which packets cover how much of it.

    `take` counts what comes from the shelf or a supplier; `covered` is (packet, amount) per item,
    `spares` the same of what is brought only in case an inspection fails; `added` are the packets
    that are there only for their contents.
    """

    take: Mapping[int, int]
    covered: Covered
    spares: Covered
    added: Mapping[int, int]


def cover(
    demand: Mapping[int, int],
    contents: Contents,
    only_in_packets: Set[int],
    spares: Mapping[int, int] | None = None,
) -> Taking:
    """Take packets into account: nothing is ordered that a packet already brings.

    A packet on the plan in its own right (a cooler with its rings) brings its contents, and what
    the packets among them hold. Items that are not sold singly come in the fewest packets that hold
    enough (one axle kit for two calipers), proven; of as few, those with the fewest different
    things in them. Which of several sufficient packets is cheapest is for buying to say. `spares`,
    what may be needed after an inspection, takes only what packets bring beside all that.

    Amounts are thousandths: one packet is 1000 of itself; `contents` gives amounts per packet.
    Raises KittingError for a packet that holds itself.
    """
    unpacking = _Unpacking(_outermost_first(contents), dict(demand))
    unpacking.unpack()
    added = _fewest(unpacking, only_in_packets)
    for packet, pieces in added.items():
        unpacking.taken[packet] = unpacking.taken.get(packet, 0) + pieces * PIECE
    unpacking.unpack()
    for packet, pieces in added.items():
        # Brought by another packet after all, such as the small kit in the big one.
        added[packet] = min(pieces, unpacking.taken[packet] // PIECE)
    return Taking(
        take=unpacking.taken,
        covered={item: tuple(parts) for item, parts in unpacking.covered.items()},
        spares=unpacking.draw(spares or {}),
        added={packet: pieces * PIECE for packet, pieces in added.items() if pieces},
    )


def _outermost_first(contents: Contents) -> dict[int, dict[int, int]]:
    """All that each packet holds, packets in it unpacked too; what holds another comes first."""
    held = {packet: inside.keys() & contents.keys() for packet, inside in contents.items()}
    try:
        order = list(TopologicalSorter(held).static_order())
    except CycleError as error:
        raise KittingError("a packet holds itself. Correct the contents of packets") from error
    whole: dict[int, dict[int, int]] = {}
    for packet in order:
        found = Counter(contents[packet])
        for inner in held[packet]:
            for item, amount in whole[inner].items():
                found[item] += amount * contents[packet][inner] // PIECE
        whole[packet] = dict(sorted(found.items()))
    return {packet: whole[packet] for packet in reversed(order)}


@dataclass(frozen=True, slots=True)
class _Unpacking:
    """What is still to be taken while packets are unpacked, and what they brought too much."""

    contents: Mapping[int, Mapping[int, int]]
    taken: dict[int, int]
    covered: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    left: dict[int, list[tuple[int, int]]] = field(default_factory=lambda: defaultdict(list))
    opened: Counter[int] = field(default_factory=Counter)

    def unpack(self) -> None:
        """Unpack every packet that is taken and was not yet; the outermost first."""
        for packet, inside in self.contents.items():
            pieces = self.taken.get(packet, 0) // PIECE - self.opened[packet]
            if pieces <= 0:
                continue
            self.opened[packet] += pieces
            for item, each in inside.items():
                brought = min(self.taken.get(item, 0), each * pieces)
                if brought:
                    self.taken[item] -= brought
                    self.covered.setdefault(item, []).append((packet, brought))
                if each * pieces > brought:
                    self.left[item].append((packet, each * pieces - brought))

    def draw(self, spares: Mapping[int, int]) -> Covered:
        """What of the spares lies in packets beside what is needed."""
        found: dict[int, tuple[tuple[int, int], ...]] = {}
        for item, amount in spares.items():
            parts, open_amount = [], amount
            for packet, free in self.left[item]:
                if used := min(open_amount, free):
                    parts.append((packet, used))
                    open_amount -= used
            if parts:
                found[item] = tuple(parts)
        return found


def _fewest(unpacking: _Unpacking, only_in_packets: Set[int]) -> dict[int, int]:
    """The fewest packets, in pieces, that hold what is open of what is not sold singly.

    Of the packets that hold it those count that can be had by themselves; where none can, all.
    """
    holding: dict[int, list[int]] = {}
    for item in sorted(only_in_packets):
        if unpacking.taken.get(item, 0) <= 0:
            continue
        packets = sorted(p for p, inside in unpacking.contents.items() if item in inside)
        if packets:
            holding[item] = [p for p in packets if p not in only_in_packets] or packets
    if all(len(packets) == 1 for packets in holding.values()):
        return _each_its_own(unpacking, holding)
    return _solve(unpacking, holding)


def _pieces(unpacking: _Unpacking, item: int, packet: int) -> int:
    return -(-unpacking.taken[item] // unpacking.contents[packet][item])


def _each_its_own(unpacking: _Unpacking, holding: Mapping[int, Sequence[int]]) -> dict[int, int]:
    found: dict[int, int] = {}
    for item, (packet,) in holding.items():
        found[packet] = max(found.get(packet, 0), _pieces(unpacking, item, packet))
    return found


def _solve(unpacking: _Unpacking, holding: Mapping[int, Sequence[int]]) -> dict[int, int]:
    most = dict.fromkeys(sorted({p for packets in holding.values() for p in packets}), 0)
    for item, packets in holding.items():
        for packet in packets:
            most[packet] = max(most[packet], _pieces(unpacking, item, packet))
    kinds = {packet: len(unpacking.contents[packet]) for packet in most}
    first = 1 + sum(kinds[packet] * count for packet, count in most.items())
    model = new_model()
    pieces = {packet: model.addIntegral(lb=0, ub=count) for packet, count in most.items()}
    for item, packets in holding.items():
        held = [pieces[p] * unpacking.contents[p][item] for p in packets]
        model.addConstr(total(held) >= unpacking.taken[item])
    model.minimize(total([pieces[packet] * (first + kinds[packet]) for packet in most]))
    if not prove(model, "the fewest packets"):  # pragma: no cover - every item has a packet
        raise KittingError("no packets hold what is asked for")
    return {packet: round(model.val(count)) for packet, count in pieces.items()}
