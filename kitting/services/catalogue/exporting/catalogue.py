"""What the database holds of some units as the sections of a catalogue file."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason
from kitting.files.catalogue.document import Catalogue
from kitting.services.catalogue.check import SECTIONS
from kitting.services.catalogue.exporting.cars import (
    car_entries,
    cars_of,
    model_entries,
    models_of,
)
from kitting.services.catalogue.exporting.entries import Entry, Names, entry
from kitting.services.catalogue.exporting.items import item_entries, with_what_they_name
from kitting.services.catalogue.exporting.reach import export_remarks, with_needed
from kitting.services.catalogue.exporting.units import unit_entries
from kitting.services.catalogue.exporting.vocabulary import WORDS, own_words
from kitting.services.catalogue.origins import read_origins
from kitting.services.catalogue.setup import GENERAL, seeds
from kitting.services.catalogue.things import Thing, thing_of
from kitting.services.lookup import lookup
from kitting.tables.items import Item
from kitting.tables.units import Unit
from kitting.views.catalogue import OriginView


def exported(
    session: Session, units: Sequence[str], *, everything: bool = False, cars: bool = False
) -> dict[str, Any]:
    """Some units, all that they name or their work needs, and their models.

    `everything` is every unit and item.
    What comes with the program is left out, and so is the policy of the workshop for its kinds.
    `cars` adds those of the models, without their owners. Where one author wrote all of it, his
    head is `about`. Raises UnknownNameError for a unit.
    """
    names = Names(session)
    chosen = units_written(session, units, everything=everything)
    of_units = list(unit_entries(names, chosen))
    carrying = models_of(names, chosen)
    models = list(model_entries(names, carrying))
    vehicles = list(car_entries(names, cars_of(names, carrying))) if cars else []
    named = set(session.scalars(select(Item.code))) if everything else set()
    named |= set(_named(of_units, ("item",))) | set(_named([*models, *vehicles], ("lubricant",)))
    items = list(item_entries(names, with_what_they_name(names, named & set(names.items.values()))))
    everyone: list[Any] = [*of_units, *items, *models, *vehicles]
    words = own_words(names, _words(names, everyone, everything=everything))
    sections = {**words, "items": items, "units": of_units, "models": models, "vehicles": vehicles}
    written = {section: entries for section, entries in sections.items() if entries}
    head = _one_head(origins_of(session, written))
    return ({"about": entry(**asdict(head))} if head is not None else {}) | written


def origins_of(
    session: Session, sections: Mapping[str, Any]
) -> dict[OriginView | None, list[Thing]]:
    """Who wrote what of some sections that can be shared, by the head of the file it is from."""
    things = [thing_of(section, one) for section in SECTIONS for one in sections.get(section, ())]
    known = read_origins(session, things)
    found: dict[OriginView | None, list[Thing]] = {}
    for thing in things:
        found.setdefault(known.get(thing), []).append(thing)
    return found


def _one_head(heads: Collection[OriginView | None]) -> OriginView | None:
    return next(iter(heads)) if len(heads) == 1 else None


def units_written(session: Session, units: Sequence[str], *, everything: bool) -> list[str]:
    """The units of an export: those that are named and what their work needs, or every one.

    Raises UnknownNameError.
    """
    codes = sorted(session.scalars(select(Unit.code)), key=natural_key)
    if everything:
        return codes
    known = {code: code for code in codes}
    return with_needed(session, [lookup("unit", one, known) for one in units])


def export_remarks_of(session: Session, units: Sequence[str]) -> list[Reason]:
    """What is told of an export of some units, of every one nothing; raises UnknownNameError."""
    if not units:
        return []
    known = {code: code for code in session.scalars(select(Unit.code))}
    named = [lookup("unit", one, known) for one in units]
    return list(export_remarks(session, named, with_needed(session, named)))


def _words(names: Names, entries: Sequence[Entry], *, everything: bool) -> dict[str, set[str]]:
    """The words that some entries use and that did not come so with the program, by section.

    `everything` adds those that came with it and say something else here.
    """
    (general,) = seeds(GENERAL)
    changed = _changed_words(names, general.catalogue)
    keys = {
        "cautions": ("cautions",), "fluids": ("fluids", "fluid"), "systems": ("system", "systems"),
        "licences": ("licence", "licences"), "tools": ("tools",), "kinds": ("kind",),
    }  # fmt: skip
    return {
        section: (used := set(_named(entries, keys[section])))
        - {one.code for one in getattr(general.catalogue, section)}
        | {code for code in changed[section] if everything or code in used}
        for section in WORDS
    }


def _changed_words(names: Names, general: Catalogue) -> dict[str, set[str]]:
    """Words that came with the program and say something else here; of kinds none are told.

    What the workshop decides of a kind is its own policy, and is not written.
    """
    known = {
        section: {one.code: one for one in getattr(general, section)}
        for section in WORDS
        if section != "kinds"
    }
    here = own_words(names, {section: set(known.get(section, ())) for section in WORDS})
    return {
        section: {
            one["code"]
            for one in here[section]
            if (came := known.get(section, {}).get(one["code"])) is not None
            and _in_any_order(one) != _in_any_order(came.model_dump(exclude_defaults=True))
        }
        for section in WORDS
    }


def _in_any_order(word: Mapping[str, Any]) -> dict[str, Any]:
    """What a word says, with its lists in one order."""
    return {
        name: sorted(value) if isinstance(value, list | tuple) else value
        for name, value in word.items()
    }


def _named(node: Any, keys: Sequence[str]) -> Iterator[str]:
    """Every text, or text of a list, that stands under one of some keys."""
    if isinstance(node, dict):
        for key, value in node.items():
            if key in keys and isinstance(value, str):
                yield value
            elif key in keys and isinstance(value, list):
                yield from (one for one in value if isinstance(one, str))
            yield from _named(value, keys)
    elif isinstance(node, list):
        for one in node:
            yield from _named(one, keys)
