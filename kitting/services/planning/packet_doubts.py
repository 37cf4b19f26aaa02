"""What is in doubt of a packet: it is no better than the worst of what it brings."""

from __future__ import annotations

from collections.abc import Iterator

from kitting.facts.verdicts import Doubt, worst_first
from kitting.facts.words import Rule
from kitting.services.planning.doubts import contact_doubts
from kitting.services.planning.facts import ItemFacts
from kitting.services.planning.judged import Draft
from kitting.services.planning.nearby import spoils_at
from kitting.services.planning.rubber_touching import unpacked


def packet_doubts(facts: Draft, packet: ItemFacts) -> tuple[Doubt, ...]:
    """What is in doubt of all that an item brings; nothing where it is no packet."""
    if packet.key not in facts.contents.packets:
        return ()
    return worst_first((*_of_contents(facts, packet), *_of_the_rest(facts, packet)))


def _of_contents(facts: Draft, packet: ItemFacts) -> Iterator[Doubt]:
    """Of what the plan asks for of its contents, wherever it goes.

    Which of several packets a piece is taken from is only reckoned: whoever fits it may take it
    from any of them.
    """
    inside = {content.key for content in unpacked(facts.contents, packet)}
    for part in facts.every_part:
        if part.item.key in inside and part.ruling.rule is not Rule.KEEP:
            yield from part.doubts
    for use in facts.every_use:
        if use.item.key in inside:
            yield from use.doubts


def _of_the_rest(facts: Draft, packet: ItemFacts) -> Iterator[Doubt]:
    """Of what nobody asks for, as a sachet of grease: at the rubber it comes to, and near it."""
    for part in facts.every_part:
        for check in part.rubbers:
            contacts = [one for one in check.contacts if one.packet == packet.code]
            yield from contact_doubts(check, contacts, part.fit.position, check.item.code)
    for one in facts.brought:
        if one.packet == packet.code:
            yield from spoils_at(facts, one.joints, one.product)
