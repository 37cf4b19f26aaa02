"""What is in doubt of a part or a use: judged is what stands there, not what was asked for."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace

from kitting.calc.planning.needs import FitFacts, UseNeed
from kitting.calc.rubber.compatibility import Contact
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.plan_reasons import ContactReason
from kitting.facts.reasons import ReasonCode, because
from kitting.facts.ring_standards import SAME_INSIDE, SAME_SECTION
from kitting.facts.verdicts import Aspect, Doubt, Verdict, weakest, worst_first
from kitting.facts.words import ContactAgainst, ContactState, Rule
from kitting.services.planning.facts import ItemFacts, PlanFacts
from kitting.services.planning.figure_doubts import turning_doubts
from kitting.services.planning.nearby import spoils_nearby
from kitting.services.planning.question import Question, unknown_of
from kitting.services.planning.rubber_check import Checks, RubberCheck
from kitting.services.planning.rubber_touching import touches_rubber
from kitting.services.planning.stand_ins import StandIn, StandIns
from kitting.views.plan_stops import contact_place

_OF_CONTACT: Mapping[ContactState, Verdict] = {
    ContactState.CLASH: Verdict.NO,
    ContactState.ASK: Verdict.UNKNOWN,
    ContactState.UNKNOWN: Verdict.UNKNOWN,
    ContactState.SUITS: Verdict.FINE,
}
# What would settle how a rubber stands what touches it; the other reasons name their entry.
_SETTLES: Mapping[ReasonCode, ContactReason] = {
    ContactReason.RATED: ContactReason.MEDIA_SETTLE,
    ContactReason.RATED_WITH_NOTE: ContactReason.MEDIA_SETTLE,
    ContactReason.TEMPERATURE: ContactReason.HEAT_SETTLES,
    ContactReason.TEMPERATURE_UNKNOWN: ContactReason.HEAT_SETTLES,
}
# What an item of the joint states of its material, and has to be the same of what stands for it.
_MATERIAL = (
    (
        "property_class", Aspect.FIGURE,
        DoubtReason.ANOTHER_CLASS, DoubtReason.CLASS_NOT_STATED,
    ),
    (
        "hardness", Aspect.RUBBER,
        DoubtReason.ANOTHER_HARDNESS, DoubtReason.HARDNESS_NOT_STATED,
    ),
)  # fmt: skip


def part_doubts(question: Question, stands: StandIns, checks: Checks) -> tuple[Doubt, ...]:
    """What is in doubt at one position, the worst first."""
    return worst_first(_part_doubts(question, stands, checks))


def _part_doubts(question: Question, stands: StandIns, checks: Checks) -> Iterator[Doubt]:
    for code in question.variants:
        yield _variant(code)
    yield from _of_item(question, checks)
    if question.exchanged and question.rule is Rule.INSPECT:
        # What is there now goes back if it passes.
        there = replace(question, stand_in=StandIn(question.asked))
        yield from _of_item(there, checks)
    if question.rule is Rule.KEEP:
        return
    if stands.in_a_ring(question.asked):
        ring = because(DoubtReason.REPLACED_IN_A_RING, item=question.item.code)
        yield Doubt(Verdict.UNKNOWN, Aspect.REPLACEMENT, ring)
    for other in stands.may_come(question.asked):
        instead = replace(question, stand_in=other)
        yield from _if_short(_of_item(instead, checks), other.item.code)


def _of_item(question: Question, checks: Checks) -> Iterator[Doubt]:
    for check in checks.get((question.fit.key, question.item.key), ()):
        yield from _rubber(question, check)
    yield from turning_doubts(question)
    if question.exchanged:
        yield from differs(question)


def _if_short(doubts: Iterable[Doubt], item: str) -> Iterator[Doubt]:
    """What is in doubt of an item that comes if old stock is not enough."""
    for doubt in doubts:
        yield Doubt(
            weakest([doubt.verdict, Verdict.UNKNOWN]),
            doubt.aspect,
            because(DoubtReason.MAY_COME, item=item, why=doubt.because),
        )


def _variant(code: str) -> Doubt:
    reason = because(DoubtReason.VARIANT_OPEN, variant=code)
    return Doubt(Verdict.STOPPED, Aspect.VARIANT, reason)


def _rubber(question: Question, check: RubberCheck) -> Iterator[Doubt]:
    """Everything that touches a rubber, and what is not stated of it."""
    there = {**question.where, "item": check.item.code}
    if check.touching is None:
        yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, because(DoubtReason.NO_RUBBER, **there))
        return
    if not check.touching.fluids:
        yield Doubt(Verdict.UNKNOWN, Aspect.RUBBER, because(DoubtReason.NO_FLUID, **there))
    yield from contact_doubts(check, check.contacts, question.fit.position, check.item.code)
    yield from _lubricant_of_car(question)


def _lubricant_of_car(question: Question) -> Iterator[Doubt]:
    """That the maker of the car names another product for the fluid than the position does."""
    named, own = question.fit.car_lubricant, question.fit.lubricant
    if named is not None and own is not None:
        contents = question.facts.contents
        yield unknown_of(
            Aspect.RUBBER,
            DoubtReason.LUBRICANT_OF_CAR,
            question,
            lubricant=contents.items[named.item].code,
            fluid=contents.fluids[named.fluid].name,
            reference=named.reference,
            asked=contents.items[own].code,
        )


def contact_doubts(
    check: RubberCheck, contacts: Iterable[Contact], position: str, item: str
) -> Iterator[Doubt]:
    for contact in contacts:
        verdict = _OF_CONTACT[contact.state]
        if verdict is Verdict.FINE:
            continue
        settles = _SETTLES.get(contact.because.code)
        why = because(settles, why=contact.because, item=check.item.code) if settles else None
        reason = because(
            contact_place(contact.against),
            rubber=check.elastomer,
            what=contact.what,
            position=position,
            item=item,
            why=contact.because if verdict is Verdict.NO or why is None else why,
        )
        yield Doubt(verdict, Aspect.RUBBER, reason)


def differs(question: Question) -> Iterator[Doubt]:
    """How what stands there differs from what the joint asks for."""
    asked, item = question.asked, question.item
    if asked.thread != item.thread:
        yield unknown_of(
            Aspect.SIZE, DoubtReason.ANOTHER_THREAD, question,
            asked=asked.thread or "?", thread=item.thread or "?",
        )  # fmt: skip
    if (asked.head, asked.head_size) != (item.head, item.head_size):
        yield unknown_of(
            Aspect.HEAD, DoubtReason.ANOTHER_HEAD, question,
            asked=_head(asked), head=_head(item),
        )  # fmt: skip
    if asked.kind.family is not item.kind.family:
        yield unknown_of(Aspect.SIZE, DoubtReason.ANOTHER_KIND, question, asked=asked.code)
        return
    for stated, aspect, other, not_stated in _MATERIAL:
        wanted, there = getattr(asked, stated), getattr(item, stated)
        if wanted is None or there == wanted:
            continue
        if there is None:
            yield unknown_of(aspect, not_stated, question, asked=wanted)
        else:
            yield unknown_of(aspect, other, question, asked=wanted, there=there)
    # Where its rubber is not stated, that is told of the rubber itself.
    if asked.elastomer and item.elastomer and item.elastomer != asked.elastomer:
        yield unknown_of(
            Aspect.RUBBER, DoubtReason.ANOTHER_RUBBER, question,
            asked=asked.elastomer, rubber=item.elastomer,
        )  # fmt: skip
    yield from _other_size(question)


def _other_size(question: Question) -> Iterator[Doubt]:
    """How the size of what stands there differs from the ring that the joint asks for."""
    asked, item = question.asked, question.item
    if asked.ring_inside is None or asked.ring_section is None:
        return
    if item.ring_inside is None or item.ring_section is None:
        yield unknown_of(Aspect.SIZE, DoubtReason.SIZE_NOT_STATED, question)
    elif (
        abs(asked.ring_inside - item.ring_inside) > SAME_INSIDE
        or abs(asked.ring_section - item.ring_section) > SAME_SECTION
    ):
        yield unknown_of(Aspect.SIZE, DoubtReason.ANOTHER_SIZE, question, asked=asked.code)


def _head(item: ItemFacts) -> str:
    return f"{item.head} {item.head_size}" if item.head else "?"


def _another_product(asked: ItemFacts, item: ItemFacts) -> Iterator[Doubt]:
    """That a consumable is of another kind or medium than the one it would stand in for."""
    if (asked.kind.key, asked.medium) == (item.kind.key, item.medium):
        return
    reason = because(
        DoubtReason.ANOTHER_PRODUCT, item=item.code, there=_product(item), asked=asked.code,
        wanted=_product(asked),
    )  # fmt: skip
    yield Doubt(Verdict.UNKNOWN, Aspect.REPLACEMENT, reason)


def _product(item: ItemFacts) -> str:
    return f"{item.kind.name} ({item.medium or 'no medium is stated'})"


def come_to(need: UseNeed, fit: FitFacts) -> ContactAgainst:
    """As what a consumable comes to a position: its own lubricant, or something used there."""
    own = need.fit is not None and need.fit.key == fit.key
    return ContactAgainst.LUBRICANT if own else ContactAgainst.USE


def use_doubts(
    facts: PlanFacts,
    need: UseNeed,
    item: ItemFacts,
    rubbers: Iterable[tuple[FitFacts, RubberCheck]],
    waiting: tuple[tuple[str, ...], bool, Collection[str]],
) -> tuple[Doubt, ...]:
    """What is in doubt of a consumable: what it waits for, and the rubbers that it touches.

    `waiting` are the open variants, whether what replaces it runs in a ring, and the codes of what
    comes if its old stock is not enough.
    """
    variants, in_a_ring, may_come = waiting
    found = [_variant(code) for code in variants]
    for fit, check in rubbers:
        against = come_to(need, fit)
        touches = against is ContactAgainst.LUBRICANT or touches_rubber(item)
        contacts = check.contacts_with(against, item.code)
        found += contact_doubts(check, contacts, fit.position, item.code)
        for other in check.may_come:
            if other.against is against and other.what in may_come:
                found += _if_short(
                    contact_doubts(check, [other], fit.position, other.what), other.what
                )
        if check.touching is None and touches:
            joint = facts.names.joints[fit.joint]
            where = {"joint": joint, "position": fit.position, "item": check.item.code}
            unknown = because(DoubtReason.NO_RUBBER, **where)
            found.append(Doubt(Verdict.UNKNOWN, Aspect.RUBBER, unknown))
    asked = facts.contents.items[need.item]
    found += _another_product(asked, item)
    found += spoils_nearby(facts, need, item)
    for comes in facts.contents.items.values():
        if comes.code in may_come:
            found += _if_short(_another_product(asked, comes), comes.code)
            found += _if_short(spoils_nearby(facts, need, comes), comes.code)
    if in_a_ring:
        reason = because(DoubtReason.REPLACED_IN_A_RING, item=item.code)
        found.append(Doubt(Verdict.UNKNOWN, Aspect.REPLACEMENT, reason))
    return worst_first(found)
