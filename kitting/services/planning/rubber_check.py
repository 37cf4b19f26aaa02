"""Chemistry of a plan: what touches each rubber, what clashes, and what would do instead."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kitting.calc.planning.needs import FitFacts
from kitting.calc.rubber.compatibility import Contact, Lubricated, Touching, judge_contacts
from kitting.facts.names import natural_key
from kitting.facts.words import ContactAgainst, ContactState
from kitting.services.planning.facts import Contents, ItemFacts
from kitting.services.planning.read_alternatives import Candidate

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


def check_rubbers(contents: Contents) -> dict[int, RubberCheck]:
    """Every position that holds a rubber, by fit key; what would do instead is not known yet."""
    found = {}
    for fit in contents.fits:
        elastomer = contents.items[fit.item].elastomer
        if elastomer is not None:
            touching = _touching(contents, fit, elastomer)
            found[fit.key] = RubberCheck(touching, judge_contacts(touching), {})
    return found


def clashing_items(contents: Contents, checks: Mapping[int, RubberCheck]) -> set[int]:
    """Items and lubricants of the positions at which something clashes."""
    fits = [
        fit
        for fit in contents.fits
        if fit.key in checks
        and any(contact.state == ContactState.CLASH for contact in checks[fit.key].contacts)
    ]
    return {fit.item for fit in fits} | {fit.lubricant for fit in fits if fit.lubricant is not None}


def with_alternatives(
    contents: Contents, checks: Mapping[int, RubberCheck], alternatives: Alternatives
) -> Mapping[int, RubberCheck]:
    """The checks with what would do instead of what clashes."""
    if not alternatives:
        return checks
    fits = {fit.key: fit for fit in contents.fits}
    return {
        key: replace(check, instead=_instead(contents, fits[key], check, alternatives))
        for key, check in checks.items()
    }


def _touching(contents: Contents, fit: FitFacts, elastomer: str) -> Touching:
    item, joint = contents.items[fit.item], contents.joints[fit.joint]
    lubricant = None
    if fit.lubricant is not None:
        product, source = contents.items[fit.lubricant], fit.lubricant_source
        lubricant = Lubricated(
            item=product.code,
            medium=product.medium,
            source=source.source if source else None,
            reference=source.reference if source else None,
        )
    fluids = (contents.fluids[code] for code in fit.fluids or joint.fluids)
    return Touching(
        elastomer=elastomer,
        fluids=tuple((fluid.name, fluid.medium) for fluid in fluids),
        lubricant=lubricant,
        goes_dry=(item.kind.key, elastomer) in contents.goes_dry,
        temperature=joint.temperature,
        near=joint.near,
        stated=contents.media.get(fit.item, ()),
    )


def _instead(
    contents: Contents, fit: FitFacts, check: RubberCheck, alternatives: Alternatives
) -> dict[bool, tuple[str, ...]]:
    """What goes on dry has no other lubricant."""
    touching, found = check.touching, {}
    if check.clash(lubricant=True) and not touching.goes_dry:
        listed = _listed(alternatives.get(fit.lubricant or 0, ()))
        found[True] = tuple(_lubricants(touching, listed))
    if check.clash(lubricant=False):
        found[False] = tuple(
            _rings(touching, contents.items[fit.item], alternatives.get(fit.item, ()))
        )
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
