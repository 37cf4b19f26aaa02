"""Chemistry of a plan: how each rubber stands what touches it, and what would do instead."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from kitting.calc.planning.needs import FitFacts
from kitting.calc.rubber.compatibility import (
    Contact,
    Lubricated,
    Touching,
    Used,
    judge_contacts,
)
from kitting.facts.conditions import CarFacts
from kitting.facts.names import natural_key
from kitting.facts.words import Certainty, ContactAgainst, ContactState, NeedRule, Rating
from kitting.services.planning.facts import Contents, ItemFacts, PlanFacts
from kitting.services.planning.read_alternatives import Candidate
from kitting.services.planning.rubber_touching import Brought, Places, rubbers_in
from kitting.services.planning.stand_ins import StandIns

Alternatives = Mapping[int, Sequence[Candidate]]


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
    lubricants = {fit.key: fit.lubricant for fit in contents.fits}
    found: set[int | None] = set()
    for (fit, _), rubbers in checks.items():
        for check in rubbers:
            for contact in check.contacts:
                if contact.state is not ContactState.CLASH:
                    continue
                if contact.against is ContactAgainst.LUBRICANT:
                    found.add(lubricants[fit])
                elif contact.against is ContactAgainst.USE:
                    found.add(keys[contact.what])
                else:
                    found.add(check.item.key)
    return {item for item in found if item is not None}


def with_alternatives(contents: Contents, checks: Checks, alternatives: Alternatives) -> Checks:
    """The checks with what would do instead of what clashes."""
    if not alternatives:
        return checks
    trials = _Trials(contents, checks, alternatives)
    return {
        (fit, item): tuple(
            replace(check, instead=trials.instead(fit, check)) if check.contacts else check
            for check in rubbers
        )
        for (fit, item), rubbers in checks.items()
    }


@dataclass(frozen=True, slots=True)
class _Trials:
    """Candidates tried against everything that touches the place."""

    contents: Contents
    checks: Checks
    alternatives: Alternatives

    def instead(self, fit_key: int, check: RubberCheck) -> dict[str | None, Instead]:
        """What would do for each product that clashes, and for the item itself (None)."""
        touching, found = check.touching, dict[str | None, Instead]()
        if touching is None:
            return found
        fit = next(fit for fit in self.contents.fits if fit.key == fit_key)
        if check.clash():
            found[None] = self._rings(touching, check.item)
        for contact in check.contacts:
            if contact.state is not ContactState.CLASH:
                continue
            if contact.against is ContactAgainst.USE:
                found[contact.what] = self._products(fit, contact.what)
            # What goes on dry has no other lubricant.
            elif contact.against is ContactAgainst.LUBRICANT and not touching.goes_dry:
                found[contact.what] = self._lubricants(fit, contact.what)
        return found

    def _lubricants(self, fit: FitFacts, product: str) -> Instead:
        return self._tried_at(fit, product, fit.lubricant or 0)

    def _products(self, fit: FitFacts, product: str) -> Instead:
        key = next(item.key for item in self.contents.items.values() if item.code == product)
        return self._tried_at(fit, product, key)

    def _tried_at(self, fit: FitFacts, product: str, key: int) -> Instead:
        """What is listed instead of a product, on every rubber that it comes to at the joint."""
        in_joint = {other.key for other in self.contents.fits if other.joint == fit.joint}
        touched = [
            (check.touching, against)
            for (place, _), rubbers in self.checks.items()
            if place in in_joint
            for check in rubbers
            for against in (ContactAgainst.USE, ContactAgainst.LUBRICANT)
            if check.touching is not None and any(check.contacts_with(against, product))
        ]
        return _graded(
            (one.code, [_with_product(touching, one, against) for touching, against in touched])
            for one in _listed(self.alternatives.get(key, ()))
        )

    def _rings(self, touching: Touching, own: ItemFacts) -> Instead:
        """Listed rings, then others of the same size."""
        candidates = self.alternatives.get(own.key, ())
        sized = sorted(
            (one for one in candidates if one.place is None),
            key=lambda one: natural_key(one.code),
        )
        by_key = {one.key: one for one in (*_listed(candidates), *sized)}
        return _graded(
            (one.code, [self._tried(touching, own, one)])
            for one in by_key.values()
            if one.key != own.key and one.elastomer is not None
        )

    def _tried(self, touching: Touching, own: ItemFacts, candidate: Candidate) -> Touching:
        """Another ring in the same place; who names a lubricant has not named it for that ring."""
        return replace(
            touching,
            elastomer=candidate.elastomer or "",
            stated=candidate.stated,
            lubricants=tuple(Lubricated(one.item, one.medium) for one in touching.lubricants),
            goes_dry=(own.kind.key, candidate.elastomer or "") in self.contents.goes_dry,
        )


def _with_product(touching: Touching, one: Candidate, against: ContactAgainst) -> Touching:
    """A rubber with one product alone, as its lubricant or as something used at its joint."""
    if against is ContactAgainst.LUBRICANT:
        return _only(touching, lubricants=(Lubricated(one.code, one.medium),))
    return _only(touching, used=(Used(one.code, one.medium),))


def _only(
    touching: Touching, lubricants: tuple[Lubricated, ...] = (), used: tuple[Used, ...] = ()
) -> Touching:
    """A rubber with one product alone: what else touches it stays as it is."""
    return replace(
        touching, fluids=(), temperature=None, goes_dry=False, lubricants=lubricants, used=used
    )


def _listed(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Those that are listed as alternatives, in their order of preference."""
    listed = [(one.place, one) for one in candidates if one.place is not None]
    return [one for _, one in sorted(listed, key=lambda pair: pair[0])]


def _graded(tried: Iterable[tuple[str, Collection[Touching]]]) -> Instead:
    """Those that suit everywhere for certain, and those that do by opinions of medium certainty."""
    certain, perhaps = list[str](), list[str]()
    for code, places in tried:
        contacts = [judge_contacts(place) for place in places]
        found = [contact for here in contacts for contact in here]
        if not contacts or not all(contacts) or not all(map(_may_do, found)):
            continue
        suits = all(contact.state is ContactState.SUITS for contact in found)
        (certain if suits else perhaps).append(code)
    return Instead(tuple(certain), tuple(perhaps))


def _may_do(contact: Contact) -> bool:
    """Whether it suits, or is rated suitable with medium certainty."""
    return contact.state is ContactState.SUITS or (
        contact.state is ContactState.ASK
        and (contact.rating, contact.certainty) == (Rating.SUITABLE, Certainty.MEDIUM)
    )
