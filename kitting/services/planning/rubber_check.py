"""Chemistry of a draft: what touches each rubber, what clashes, and what would do instead."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from kitting.calc.planning.needs import FitFacts
from kitting.calc.planning.renewal import Statement
from kitting.calc.rubber.compatibility import (
    Contact,
    Lubricated,
    MediumWord,
    Touching,
    judge_contacts,
)
from kitting.facts.names import natural_key
from kitting.facts.ring_standards import SAME_INSIDE, SAME_SECTION
from kitting.services.planning.joint_contents import Contents, ItemFacts
from kitting.tables.items import Alternative, Item, ItemMedium
from kitting.tables.vocabulary import KindDry


@dataclass(frozen=True, slots=True)
class Judged:
    """The contacts of one position, the worst first.

    `ring_clash` and `lubricant_clash` say in a few words what stops the item or what it is
    assembled with ("EPDM in engine oil"); `instead` are item codes, by what clashes.
    """

    touching: Touching
    contacts: tuple[Contact, ...]
    instead: Mapping[str, tuple[str, ...]]

    def clash(self, lubricant: bool) -> str | None:
        """What stops the lubricant, or the item itself; None if nothing does."""
        for contact in self.contacts:
            if contact.state == "clash" and (contact.against == "lubricant") == lubricant:
                joined = "on" if lubricant else "in"
                first, second = self.touching.elastomer, contact.what
                return f"{second} {joined} {first}" if lubricant else f"{first} {joined} {second}"
        return None


def judge_chemistry(session: Session, contents: Contents) -> dict[int, Judged]:
    """Every position that holds a rubber, by fit key; in a fixed number of statements."""
    rubbers = [fit for fit in contents.fits if contents.items[fit.item].row.elastomer is not None]
    said = read_media_words(session, {fit.item for fit in rubbers})
    dry = _read_dry(session, {contents.items[fit.item].kind.id for fit in rubbers})
    touching = {fit.key: _touching(contents, fit, said, dry) for fit in rubbers}
    contacts = {key: judge_contacts(facts) for key, facts in touching.items()}
    clashing = [fit for fit in rubbers if any(c.state == "clash" for c in contacts[fit.key])]
    others = _Others(session, contents, clashing)
    return {
        fit.key: Judged(
            touching[fit.key],
            contacts[fit.key],
            others.instead(fit, touching[fit.key], contacts[fit.key]),
        )
        for fit in rubbers
    }


def read_media_words(session: Session, items: Collection[int]) -> dict[int, list[MediumWord]]:
    """What sources say of how items stand media, by item key."""
    found: dict[int, list[MediumWord]] = defaultdict(list)
    for row in session.scalars(
        select(ItemMedium)
        .where(ItemMedium.item_id.in_(items))
        .order_by(ItemMedium.item_id, ItemMedium.medium, ItemMedium.source)
    ):
        # What a maker says of its compound, nobody below may relax.
        words = Statement(row.source, row.rating, f"{row.source}: {row.reference}")
        found[row.item_id].append(MediumWord(row.medium, words))
    return found


def _read_dry(session: Session, kinds: Collection[int]) -> set[tuple[int, str]]:
    rows = session.execute(
        select(KindDry.kind_id, KindDry.elastomer).where(KindDry.kind_id.in_(kinds))
    )
    return {(kind, elastomer) for kind, elastomer in rows}


def _touching(
    contents: Contents,
    fit: FitFacts,
    said: Mapping[int, Sequence[MediumWord]],
    dry: Collection[tuple[int, str]],
) -> Touching:
    item, joint = contents.items[fit.item], contents.joints[fit.joint]
    elastomer = item.row.elastomer or ""
    lubricant = None
    if fit.lubricant is not None:
        product = contents.items[fit.lubricant].row
        word = fit.lubricant_word
        lubricant = Lubricated(
            product.code,
            product.medium,
            word.source if word else None,
            word.reference if word else None,
        )
    return Touching(
        elastomer,
        tuple(
            (contents.fluid_names[code], contents.media[code])
            for code in fit.fluids or joint.fluids
        ),
        lubricant,
        (item.kind.id, elastomer) in dry,
        joint.temperature,
        joint.near,
        tuple(said.get(fit.item, ())),
    )


class _Others:
    """What might do instead of what clashes: listed alternatives, and rings of the same size."""

    def __init__(self, session: Session, contents: Contents, clashing: Sequence[FitFacts]) -> None:
        items = {fit.item for fit in clashing} | {
            fit.lubricant for fit in clashing if fit.lubricant is not None
        }
        self._listed: dict[int, list[Item]] = defaultdict(list)
        for key, item in session.execute(
            select(Alternative.item_id, Item)
            .join(Item, Alternative.other_id == Item.id)
            .where(Alternative.item_id.in_(items))
            .order_by(Alternative.item_id, Alternative.seq)
        ):
            self._listed[key].append(item)
        rings = [contents.items[fit.item] for fit in clashing]
        self._same_size = session.scalars(select(Item).where(or_(*_sizes(rings)))).all()
        every = {item.id for listed in self._listed.values() for item in listed}
        self._said = read_media_words(
            session, every | {item.id for item in self._same_size} | {fit.item for fit in clashing}
        )
        self._items = contents.items

    def instead(
        self, fit: FitFacts, touching: Touching, contacts: Sequence[Contact]
    ) -> dict[str, tuple[str, ...]]:
        """Item codes by what clashes (fluid, lubricant); what goes dry has none."""
        clashes = {contact.against for contact in contacts if contact.state == "clash"}
        found = {}
        if "lubricant" in clashes and not touching.goes_dry:
            found["lubricant"] = tuple(self._lubricants(fit, touching))
        if clashes - {"lubricant"}:
            found["fluid"] = tuple(self._rings(fit, touching))
        return found

    def _lubricants(self, fit: FitFacts, touching: Touching) -> Iterable[str]:
        for item in self._listed.get(fit.lubricant or 0, ()):
            tried = Touching(
                touching.elastomer,
                lubricant=Lubricated(item.code, item.medium),
                near=touching.near,
                said=touching.said,
            )
            if all(contact.state == "suits" for contact in judge_contacts(tried)):
                yield item.code

    def _rings(self, fit: FitFacts, touching: Touching) -> Iterable[str]:
        own = self._items[fit.item].row
        listed = self._listed.get(fit.item, [])
        sized = sorted(
            (item for item in self._same_size if _same_size(item, own)),
            key=lambda item: natural_key(item.code),
        )
        for item in dict.fromkeys((*listed, *sized)):
            if item.id == own.id or item.elastomer is None:
                continue
            tried = Touching(
                item.elastomer, touching.fluids, said=tuple(self._said.get(item.id, ()))
            )
            if all(contact.state == "suits" for contact in judge_contacts(tried)):
                yield item.code


def _sizes(rings: Sequence[ItemFacts]) -> list[ColumnElement[bool]]:
    """A condition per ring size; one that nothing meets where there is none."""
    return [
        Item.ring_inside.between(
            ring.row.ring_inside - SAME_INSIDE, ring.row.ring_inside + SAME_INSIDE
        )
        & Item.ring_section.between(
            ring.row.ring_section - SAME_SECTION, ring.row.ring_section + SAME_SECTION
        )
        for ring in rings
        if ring.row.ring_inside is not None and ring.row.ring_section is not None
    ] or [Item.id.in_(())]


def _same_size(item: Item, own: Item) -> bool:
    if own.ring_inside is None or own.ring_section is None:
        return False
    return (
        abs((item.ring_inside or 0) - own.ring_inside) <= SAME_INSIDE
        and abs((item.ring_section or 0) - own.ring_section) <= SAME_SECTION
    )
