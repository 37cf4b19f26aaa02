"""Patterned joints: parts of a kind that no pattern expects there, and what is still unknown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kitting.errors import Problem
from kitting.facts.reasons import Reason, because
from kitting.facts.words import ItemFamily, KindRubber
from kitting.files.catalogue.document import Catalogue, Fit, Joint
from kitting.files.catalogue.item_shapes import Item
from kitting.files.catalogue.lines import Place
from kitting.files.catalogue.patterns import Asked, Role, known_patterns
from kitting.files.catalogue.source import Source
from kitting.files.catalogue.vocabulary_shapes import Kind
from kitting.files.catalogue.work_shapes import Use
from kitting.views.catalogue import LoadRemark


def role_faults(
    source: Source, here: Place, unit: str, joint: Joint, kinds: Mapping[str, str]
) -> Iterator[Problem]:
    """Parts of a pattern that are of another kind than it expects; own kinds go anywhere."""
    parts: tuple[tuple[str, Sequence[Fit | Use]], ...] = (
        ("fits", joint.fits),
        ("uses", joint.uses),
    )
    for key, entries in parts:
        for index, entry in enumerate(entries):
            role = _role(joint, entry)
            kind = kinds.get(entry.item)
            if role is None or kind is None or kind in role.kinds or kind not in _expected():
                continue
            yield source.problem(
                (*here, key, index, "item"),
                f"unit {unit} joint {joint.code}",
                f"{entry.item} is of the kind {kind!r}, and the {entry.role} of {joint.like} is"
                f" one of {', '.join(role.kinds)}",
                "Name another item; or write the joint out in 'fits', without the pattern",
            )


def _role(joint: Joint, entry: Fit | Use) -> Role | None:
    if joint.like is None or entry.role is None:
        return None
    return known_patterns()[joint.like].roles.get(entry.role)


def _expected() -> frozenset[str]:
    """Every kind that some pattern expects somewhere."""
    return frozenset(
        kind
        for pattern in known_patterns().values()
        for role in pattern.roles.values()
        for kind in role.kinds
    )


@dataclass(frozen=True, slots=True)
class Stated:
    """What is stated of an item, in a file or in the database."""

    thread: bool = False
    head: bool = False
    elastomer: bool = False
    sized: bool = False
    of_rubber: bool = False


def stated_of(item: Item, kind: Kind | None) -> Stated:
    """What a file states of an item, of a kind that may be unknown."""
    return Stated(
        thread=item.thread is not None,
        head=item.head is not None,
        elastomer=item.elastomer is not None,
        sized=item.ring_inside is not None,
        **of_kind(kind.family if kind else None, kind.rubber if kind else None),
    )


def of_kind(family: ItemFamily | None, rubber: KindRubber | None) -> dict[str, bool]:
    """Whether the rubber of items of a kind has to be known."""
    ring = family is ItemFamily.RING
    return {"of_rubber": ring if rubber is None else rubber is KindRubber.MADE_OF}


def still_unknown(
    catalogues: Sequence[Catalogue], stated: Mapping[str, Stated]
) -> Iterator[Reason]:
    """What the patterned joints of some files still ask: place by place, in their order."""
    for catalogue in catalogues:
        for unit in catalogue.units:
            for joint in unit.joints:
                if joint.like is None:
                    continue
                yield from _of_joint(f"{unit.code}/{joint.code}", joint, stated)


def _of_joint(place: str, joint: Joint, stated: Mapping[str, Stated]) -> Iterator[Reason]:
    pattern = known_patterns()[joint.like or ""]
    if Asked.FLUIDS in pattern.asks and not joint.fluids:
        yield because(LoadRemark.FLUIDS_UNKNOWN, place=place)
    for fit in joint.fits:
        role = _role(joint, fit)
        if role is None:
            continue
        known = stated.get(fit.item, Stated())
        lacking = tuple(str(one) for one in role.asks if _lacks(one, fit, known))
        if lacking:
            position = fit.all_positions[0]
            yield because(
                LoadRemark.STILL_UNKNOWN, place=f"{place} {position!r}", item=fit.item, what=lacking
            )


def _lacks(asked: Asked, fit: Fit, known: Stated) -> bool:
    figure = fit.tightening is not None and bool(fit.tightening.stages)
    answers = {
        Asked.THREAD: known.thread,
        Asked.HEAD: known.head,
        Asked.FIGURE: figure,
        Asked.SIZE: known.sized,
        Asked.RUBBER: known.elastomer or not known.of_rubber,
        Asked.FLUIDS: True,
    }
    return not answers[asked]
