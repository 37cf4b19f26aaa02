"""What a position is assembled with, and what of it would spoil the rubber there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from kitting.calc.rubber.compatibility import Contact
from kitting.facts.plan_reasons import LubricantReason, StopReason
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.facts.words import ContactAgainst, ContactState
from kitting.services.planning.judged import Draft, JudgedPart
from kitting.services.planning.rubber_check import Clash, RubberCheck
from kitting.views.plan_stops import named_instead

_STOPS: Mapping[ContactAgainst, StopReason] = {
    ContactAgainst.FLUID: StopReason.RUBBER_IN_FLUID,
    ContactAgainst.TEMPERATURE: StopReason.RUBBER_AT_HEAT,
    ContactAgainst.LUBRICANT: StopReason.LUBRICANT_ON_RUBBER,
    ContactAgainst.USE: StopReason.LUBRICANT_ON_RUBBER,
}


def clash_reason(clash: Clash) -> Reason:
    """What spoils a rubber, as the reason why a line is stopped."""
    return because(_STOPS[clash.against], rubber=clash.elastomer, what=clash.what)


def lubricant_of(facts: Draft, part: JudgedPart) -> Reason | None:
    """What a position is assembled with, or what it must not be assembled with."""
    fit = part.fit
    if fit.dry or fit.lubricant is None:
        return because(LubricantReason.DRY) if fit.dry else None
    for check in part.rubbers:
        if (clashing := _lubricant_clash(check)) is not None:
            return clashing
    item = facts.contents.items[fit.lubricant]
    for check in _rubbers_beside(facts, part):
        for contact in check.contacts_with(ContactAgainst.USE, item.code):
            if contact.state is ContactState.CLASH:
                return _not(check, contact)
    return because(
        LubricantReason.PRODUCT,
        name=item.name,
        item=item.code,
        amount=Quantity(fit.lubricant_amount, item.unit),
    )


def _lubricant_clash(check: RubberCheck) -> Reason | None:
    """That a position must not be assembled with its lubricant; None where it may be."""
    for contact in check.contacts:
        lubricant = contact.against is ContactAgainst.LUBRICANT
        if check.touching is None or not lubricant or contact.state is not ContactState.CLASH:
            continue
        if check.touching.goes_dry:
            return because(LubricantReason.DRY)
        return _not(check, contact)
    return None


def _rubbers_beside(facts: Draft, part: JudgedPart) -> Iterator[RubberCheck]:
    for other in facts.every_part:
        if other.fit.joint == part.fit.joint and other.fit.key != part.fit.key:
            yield from other.rubbers


def _not(check: RubberCheck, contact: Contact) -> Reason:
    why = clash_reason(Clash(check.elastomer, contact.what, contact.against))
    found = check.instead_of(contact)
    if not found.certain and not found.perhaps:
        return because(LubricantReason.CLASH_ASK_MAKER, clash=why)
    instead = named_instead(found.certain, found.perhaps)
    return because(LubricantReason.CLASH, clash=why, instead=instead)
