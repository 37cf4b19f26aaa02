"""Named things as entries, each for itself: what a file and the database are compared by."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from sqlalchemy.orm import Session

from kitting.services.catalogue.check import SECTIONS
from kitting.services.catalogue.exporting.cars import car_entries, model_entries
from kitting.services.catalogue.exporting.entries import Entry, Names
from kitting.services.catalogue.exporting.items import item_entries
from kitting.services.catalogue.exporting.units import unit_entries
from kitting.services.catalogue.exporting.vocabulary import WORDS, own_words
from kitting.services.catalogue.things import VEHICLES, Thing, thing_of


def entries_of(session: Session, things: Collection[Thing]) -> dict[Thing, Entry]:
    """Those of some things that the database has, each as an entry."""
    names = Names(session)
    asked = {
        section: {one.code for one in things if one.section == section}
        for section in (*SECTIONS, VEHICLES)
    }
    units = asked["units"] & set(names.units.values())
    found: dict[str, Iterable[Entry]] = {
        **own_words(names, {section: asked[section] for section in WORDS}),
        "items": item_entries(names, asked["items"]),
        "units": unit_entries(names, sorted(units)),
        "models": model_entries(names, asked["models"]),
        VEHICLES: car_entries(names, asked[VEHICLES]),
    }
    made = {thing_of(section, one): one for section, some in found.items() for one in some}
    return {one: made[one] for one in things if one in made}
