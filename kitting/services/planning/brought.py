"""What packets bring beside what is asked for, as sachets of grease, and where it goes."""

from __future__ import annotations

from collections.abc import Iterator, Set

from kitting.facts.words import ItemFamily, Rule
from kitting.services.planning.facts import Contents, ItemFacts
from kitting.services.planning.judged import Draft
from kitting.services.planning.rubber_touching import (
    Brought,
    joints_of_use,
    touches_rubber,
    unpacked,
)
from kitting.services.planning.stand_ins import StandIns


def may_be_brought(contents: Contents) -> bool:
    """Whether any packet brings something that comes to rubber."""
    inside = {key for packet in contents.packets.values() for key in packet}
    return any(_is_sachet(contents.items[key]) for key in inside if key in contents.items)


def brought(facts: Draft, stands: StandIns) -> tuple[Brought, ...]:
    """What the packets of a plan bring that comes to rubber, and to which joints.

    Those are where the rest of the packet goes. What is used or put on something there by the
    catalogue has its place, and is judged at that.
    """
    found = dict.fromkeys((*_for_certain(facts), *_if_short(facts, stands)))
    return tuple(found)


def _for_certain(facts: Draft) -> Iterator[Brought]:
    for packet in sorted(_packets(facts)):
        yield from _sachets(facts, packet, _joints(facts, packet), may_come=False)


def _if_short(facts: Draft, stands: StandIns) -> Iterator[Brought]:
    """What is in packets that come instead of one whose old stock is used up first."""
    for part in facts.parts:
        for other in stands.may_come(part.asked) if part.ruling.rule is not Rule.KEEP else ():
            joints = frozenset({part.fit.joint})
            yield from _sachets(facts, other.item.key, joints, may_come=True)


def _packets(facts: Draft) -> set[int]:
    """The packets that are taken, or brought in case an inspection fails."""
    taken = {key for key, amount in facts.taking.take.items() if amount > 0}
    fates = [fate for part in facts.parts for fate in part.fates if not fate.stopped]
    taken |= {fate.item.key for fate in fates if fate.ruling.rule is Rule.INSPECT}
    return taken & facts.contents.packets.keys()


def _joints(facts: Draft, packet: int) -> frozenset[int]:
    """The joints that a packet itself goes to, or anything that is drawn from it."""
    drawn = {packet}
    for covered in (facts.taking.covered, facts.taking.spares):
        drawn |= {item for item, parts in covered.items() if packet in dict(parts)}
    found = {
        part.fit.joint
        for part in facts.parts
        if part.item.key in drawn and part.ruling.rule is not Rule.KEEP
    }
    for use in facts.uses:
        if use.item.key in drawn:
            found |= joints_of_use(facts, use.joint, use.step)
    return frozenset(found)


def _sachets(facts: Draft, packet: int, joints: Set[int], *, may_come: bool) -> Iterator[Brought]:
    placed = {
        key
        for use in facts.every_use
        if joints & joints_of_use(facts, use.joint, use.step)
        for key in (use.item.key, use.asked.key)
    }
    holder = facts.contents.items[packet]
    for product in unpacked(facts.contents, holder):
        if _is_sachet(product) and product.key not in placed:
            yield Brought(product, holder.code, joints, may_come)


def _is_sachet(item: ItemFacts) -> bool:
    return item.kind.family is ItemFamily.CONSUMABLE and touches_rubber(item)
