"""Packets: what a part brings with it, and which packets to take for what is not sold singly."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Set
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
    things in them, whatever they cost. `spares`,
    what may be needed after an inspection, takes only what packets bring beside all that.

    Amounts are thousandths: one packet is 1000 of itself; `contents` gives amounts per packet.
    Raises KittingError for a packet that holds itself.
    """
    whole = _outermost_first(contents)
    plain = _Unpacking(whole, dict(demand))
    plain.unpack({})
    if not _holding(whole, plain.lacking, only_in_packets):
        return _taking(plain, demand, plain.lacking, spares)
    taken = _fewest(whole, demand, only_in_packets)
    unpacking = _Unpacking(whole, {i: max(0, need - taken.get(i, 0)) for i, need in demand.items()})
    unpacking.unpack(taken)
    return _taking(unpacking, demand, {**unpacking.lacking, **taken}, spares)


def _taking(
    unpacking: _Unpacking,
    demand: Mapping[int, int],
    take: Mapping[int, int],
    spares: Mapping[int, int] | None,
) -> Taking:
    more = {packet: take.get(packet, 0) - demand.get(packet, 0) for packet in unpacking.contents}
    return Taking(
        take=take,
        covered={item: tuple(parts) for item, parts in unpacking.covered.items()},
        spares=unpacking.draw(spares or {}),
        added={packet: amount for packet, amount in more.items() if amount > 0},
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
    """What is still lacking while packets are unpacked, and what they brought too much."""

    contents: Mapping[int, Mapping[int, int]]
    lacking: dict[int, int]
    covered: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    left: dict[int, list[tuple[int, int]]] = field(default_factory=lambda: defaultdict(list))

    def unpack(self, taken: Mapping[int, int]) -> None:
        """Unpack each packet, the outermost first: those taken, or as many as are lacking of it."""
        for packet, inside in self.contents.items():
            pieces = taken.get(packet, self.lacking.get(packet, 0)) // PIECE
            for item, each in inside.items() if pieces else ():
                brought = min(self.lacking.get(item, 0), each * pieces)
                if brought:
                    self.lacking[item] -= brought
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


def _holding(
    contents: Contents, lacking: Mapping[int, int], only_in_packets: Set[int]
) -> dict[int, list[int]]:
    """The packets that hold what is lacking of what is not sold singly, by item.

    Those count that can be had by themselves; where none can, all.
    """
    holding: dict[int, list[int]] = {}
    for item in sorted(only_in_packets):
        if lacking.get(item, 0) > 0 and (
            packets := sorted(p for p, inside in contents.items() if item in inside)
        ):
            holding[item] = [p for p in packets if p not in only_in_packets] or packets
    return holding


def _fewest(
    contents: Contents, demand: Mapping[int, int], only_in_packets: Set[int]
) -> dict[int, int]:
    """How much to take of each packet: the fewest that hold what is not sold singly.

    Packets on the plan in their own right are among them: one that lies in another serves as well,
    but is counted once.
    """
    asked = {p for p in contents if demand.get(p, 0) > 0}
    held = {item for inside in contents.values() for item in inside}
    own = {p for p in asked if p not in only_in_packets or p not in held}
    holding = _holding(contents, demand, only_in_packets)
    packets = sorted({*own, *(p for some in holding.values() for p in some)})
    # What can be held at all has to be: what is not sold singly, and packets on the plan.
    inside = {item for p in packets for item in contents[p]}
    needed = {i: n for i, n in demand.items() if i in own or (i in only_in_packets & inside)}
    bring = {
        item: [(p, each) for p in packets if (each := _brings(contents, p, item))]
        for item in needed
    }
    most = dict.fromkeys(packets, 0)
    for item, some in bring.items():
        for packet, each in some:
            most[packet] = max(most[packet], -(-needed[item] // each))
    if all(len(some) == 1 for some in bring.values()):
        return {packet: count * PIECE for packet, count in most.items()}
    kinds = {packet: len(contents[packet]) for packet in packets}
    first = 1 + sum(kinds[packet] * count for packet, count in most.items())
    model = new_model()
    pieces = {packet: model.addIntegral(lb=0, ub=count) for packet, count in most.items()}
    for item, some in bring.items():
        model.addConstr(total([pieces[p] * each for p, each in some]) >= needed[item])
    model.minimize(total([pieces[packet] * (first + kinds[packet]) for packet in packets]))
    if not prove(model, "the fewest packets"):  # pragma: no cover - every item has a packet
        raise KittingError("no packets hold what is asked for")
    return {packet: round(model.val(count)) * PIECE for packet, count in pieces.items()}


def _brings(contents: Contents, packet: int, item: int) -> int:
    """How much of an item a packet brings: itself, or what is in it."""
    return PIECE if packet == item else contents[packet].get(item, 0)
