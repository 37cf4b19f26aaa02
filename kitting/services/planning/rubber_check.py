"""Chemistry of a plan: how each rubber stands what touches it.

What would do instead of what clashes is tried by `kitting.services.planning.instead`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from kitting.calc.planning.needs import FitFacts
from kitting.calc.rubber.compatibility import Contact, Touching, judge_contacts
from kitting.facts.conditions import CarFacts
from kitting.facts.words import ContactAgainst, ContactState, NeedRule
from kitting.services.planning.facts import Contents, ItemFacts, PlanFacts
from kitting.services.planning.rubber_touching import Brought, Places, rubbers_in
from kitting.services.planning.stand_ins import StandIns


@dataclass(frozen=True, slots=True)
class Clash:
    """A rubber and what is certain to spoil it."""

    elastomer: str
    what: str
    against: ContactAgainst


@dataclass(frozen=True, slots=True)
class Instead:
    """Codes of items that would do: for certain, or by an opinion of medium certainty."""

    certain: tuple[str, ...] = ()
    perhaps: tuple[str, ...] = ()


_NOTHING = Instead()


@dataclass(frozen=True, slots=True)
class RubberCheck:
    """A rubber at a position and its contacts, the worst first.

    `item` is what stands there, or what of a packet is rubber. `touching` is None where its rubber
    is not stated. `instead` is what would do for each product that clashes, and for the item
    itself (None). `may_come` are contacts with what comes if the old stock of a product is not
    enough.
    """

    item: ItemFacts
    touching: Touching | None
    contacts: tuple[Contact, ...] = ()
    instead: Mapping[str | None, Instead] = field(default_factory=dict)
    may_come: tuple[Contact, ...] = ()

    @property
    def elastomer(self) -> str:
        """The code of its rubber; empty where it is not stated."""
        return self.touching.elastomer if self.touching else ""

    def clash(self) -> Clash | None:
        """What stops the item itself: a fluid, or the heat; None if nothing does."""
        return self._first(contact for contact in self.contacts if not contact.against.on_rubber)

    def clash_with(self, against: ContactAgainst, product: str) -> Clash | None:
        """What stops a product on this rubber; None if nothing does."""
        return self._first(self.contacts_with(against, product))

    def contacts_with(self, against: ContactAgainst, product: str) -> Iterable[Contact]:
        """The contacts with one product."""
        for contact in self.contacts:
            if contact.against is against and contact.what == product:
                yield contact

    def instead_of(self, contact: Contact) -> Instead:
        """What would do instead of a contact that clashes."""
        if contact.state is not ContactState.CLASH:
            return _NOTHING
        return self.instead.get(contact.what if contact.against.on_rubber else None, _NOTHING)

    def _first(self, contacts: Iterable[Contact]) -> Clash | None:
        for contact in contacts:
            if contact.state is ContactState.CLASH:
                return Clash(self.elastomer, contact.what, contact.against)
        return None


Place = tuple[int, int]
"""A fit by key with the key of the item that stands there."""
Checks = Mapping[Place, tuple[RubberCheck, ...]]


def check_rubbers(
    facts: PlanFacts, stands: StandIns, known: CarFacts, brought: tuple[Brought, ...] = ()
) -> Checks:
    """Every rubber that is or may be fitted; what would do instead is not known yet.

    `brought` is what comes in packets without a place of its own.
    """
    places, contents = Places(facts, stands, known, brought), facts.contents
    return {
        (fit.key, item.key): tuple(
            _check(places, fit, rubber) for rubber in rubbers_in(contents, fit, item)
        )
        for fit in contents.fits
        for item in _at(contents, stands, fit)
    }


def _check(places: Places, fit: FitFacts, rubber: ItemFacts) -> RubberCheck:
    if rubber.elastomer is None:
        return RubberCheck(rubber, None)
    touching = places.touching(fit, rubber)
    may_come = judge_contacts(places.may_touch(fit, touching))
    return RubberCheck(rubber, touching, judge_contacts(touching), may_come=may_come)


def _at(contents: Contents, stands: StandIns, fit: FitFacts) -> Iterable[ItemFacts]:
    """What a position asks for, and what stands or may stand there instead."""
    asked = contents.items[fit.item]
    fetched = [one for rule in NeedRule for one in stands.of(asked, rule)]
    others = (one.item for one in (*fetched, *stands.may_come(asked)))
    return dict.fromkeys((asked, *others))


def clashing_items(contents: Contents, checks: Checks) -> set[int]:
    """The items and products of which something clashes: others may do instead of them."""
    keys = {item.code: item.key for item in contents.items.values()}
    return {
        keys[contact.what] if contact.against.on_rubber else check.item.key
        for rubbers in checks.values()
        for check in rubbers
        for contact in check.contacts
        if contact.state is ContactState.CLASH
    }
