"""Chemistry of a plan: what touches each rubber, what clashes, and what would do instead."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kitting.calc.planning.needs import FitFacts
from kitting.calc.rubber.compatibility import Contact, Lubricated, Touching, judge_contacts
from kitting.facts.names import natural_key
from kitting.facts.words import ContactAgainst, ContactState, NeedRule
from kitting.services.planning.facts import Contents, ItemFacts
from kitting.services.planning.read_alternatives import Candidate
from kitting.services.planning.stand_ins import StandIns

_SUITS = ContactState.SUITS
Alternatives = Mapping[int, Sequence[Candidate]]


@dataclass(frozen=True, slots=True)
class Clash:
    """A rubber and what is certain to spoil it, `lubricant` if it is assembled with that."""

    elastomer: str
    what: str
    lubricant: bool


@dataclass(frozen=True, slots=True)
class RubberCheck:
    """The contacts of one position, the worst first.

    `instead` are the codes of items that would do, by whether a lubricant clashes.
    """

    touching: Touching
    contacts: tuple[Contact, ...]
    instead: Mapping[bool, tuple[str, ...]]

    def clash(self, *, lubricant: bool) -> Clash | None:
        """What stops the lubricant, or the item itself; None if nothing does."""
        for contact in self.contacts:
            against_it = contact.against == ContactAgainst.LUBRICANT
            if contact.state == ContactState.CLASH and against_it == lubricant:
                return Clash(self.touching.elastomer, contact.what, lubricant)
        return None


Place = tuple[int, int]
"""A fit by key with the key of the item that stands there."""


def check_rubbers(contents: Contents, stands: StandIns) -> dict[Place, RubberCheck]:
    """Every rubber that is or may be fitted; what would do instead is not known yet."""
    found = {}
    for fit in contents.fits:
        for item in _at(contents, stands, fit):
            if item.elastomer is not None:
                touching = _touching(contents, stands, fit, item)
                found[fit.key, item.key] = RubberCheck(touching, judge_contacts(touching), {})
    return found


def _at(contents: Contents, stands: StandIns, fit: FitFacts) -> Iterable[ItemFacts]:
    """What a position asks for, and what stands or may stand there instead."""
    asked = contents.items[fit.item]
    fetched = [one for rule in NeedRule for one in stands.of(asked, rule)]
    others = (one.item for one in (*fetched, *stands.may_come(asked)))
    return dict.fromkeys((asked, *others))


def clashing_items(contents: Contents, checks: Mapping[Place, RubberCheck]) -> set[int]:
    """Items and lubricants of the positions at which something clashes."""
    lubricants = {fit.key: fit.lubricant for fit in contents.fits}
    found: set[int | None] = set()
    for (fit, item), check in checks.items():
        if any(contact.state == ContactState.CLASH for contact in check.contacts):
            found |= {item, lubricants[fit]}
    return {item for item in found if item is not None}


def with_alternatives(
    contents: Contents, checks: Mapping[Place, RubberCheck], alternatives: Alternatives
) -> Mapping[Place, RubberCheck]:
    """The checks with what would do instead of what clashes."""
    if not alternatives:
        return checks
    fits, items = {fit.key: fit for fit in contents.fits}, contents.items
    return {
        (fit, item): replace(check, instead=_instead(fits[fit], items[item], check, alternatives))
        for (fit, item), check in checks.items()
    }


def _touching(contents: Contents, stands: StandIns, fit: FitFacts, item: ItemFacts) -> Touching:
    joint, lubricant = contents.joints[fit.joint], None
    if fit.lubricant is not None:
        asked, source = contents.items[fit.lubricant], fit.lubricant_source
        product = stands.of(asked, NeedRule.USE)[0].item
        # Who names one product for a position has not named what replaces it.
        named = source if product.key == asked.key else None
        lubricant = Lubricated(
            item=product.code,
            medium=product.medium,
            source=named.source if named else None,
            reference=named.reference if named else None,
        )
    fluids = (contents.fluids[code] for code in fit.fluids or joint.fluids)
    return Touching(
        elastomer=item.elastomer or "",
        fluids=tuple((fluid.name, fluid.medium) for fluid in fluids),
        lubricant=lubricant,
        goes_dry=(item.kind.key, item.elastomer or "") in contents.goes_dry,
        temperature=joint.temperature,
        near=joint.near,
        stated=contents.media.get(item.key, ()),
    )


def _instead(
    fit: FitFacts, item: ItemFacts, check: RubberCheck, alternatives: Alternatives
) -> dict[bool, tuple[str, ...]]:
    """What goes on dry has no other lubricant."""
    touching, found = check.touching, {}
    if check.clash(lubricant=True) and not touching.goes_dry:
        listed = _listed(alternatives.get(fit.lubricant or 0, ()))
        found[True] = tuple(_lubricants(touching, listed))
    if check.clash(lubricant=False):
        found[False] = tuple(_rings(touching, item, alternatives.get(item.key, ())))
    return found


def _listed(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Those that are listed as alternatives, in their order of preference."""
    listed = [(one.place, one) for one in candidates if one.place is not None]
    return [one for _, one in sorted(listed, key=lambda pair: pair[0])]


def _lubricants(touching: Touching, candidates: Iterable[Candidate]) -> Iterable[str]:
    for candidate in candidates:
        tried = Touching(
            elastomer=touching.elastomer,
            lubricant=Lubricated(candidate.code, candidate.medium),
            near=touching.near,
            stated=touching.stated,
        )
        if _suits(tried):
            yield candidate.code


def _rings(touching: Touching, own: ItemFacts, candidates: Collection[Candidate]) -> Iterable[str]:
    """Listed rings, then others of the same size, that stand everything that this one does not."""
    sized = sorted(
        (one for one in candidates if one.place is None), key=lambda one: natural_key(one.code)
    )
    by_key = {one.key: one for one in (*_listed(candidates), *sized)}
    for candidate in by_key.values():
        if candidate.key == own.key or candidate.elastomer is None:
            continue
        tried = Touching(
            elastomer=candidate.elastomer, fluids=touching.fluids, stated=candidate.stated
        )
        if _suits(tried):
            yield candidate.code


def _suits(touching: Touching) -> bool:
    return all(contact.state == _SUITS for contact in judge_contacts(touching))
