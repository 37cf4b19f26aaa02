"""How files differ from the database: the same things as entries, before and after a load."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from kitting.files.catalogue.source import Source
from kitting.services.catalogue.check_faults import one_of_section
from kitting.services.catalogue.differences import parts_of
from kitting.services.catalogue.exporting.entries import Entry
from kitting.services.catalogue.exporting.named import entries_of
from kitting.services.catalogue.origins import read_origins
from kitting.services.catalogue.things import VEHICLES, Thing, cars, described
from kitting.views.catalogue import ChangeOfThing, CompareView, OriginView, ThingView

# What is written of each sort of terms of trade, which are no part of an export.
_TERMS: Mapping[str, frozenset[str]] = {
    "branches": frozenset({"branch", "branch_licence", "branch_tax"}),
    "suppliers": frozenset({"supplier", "supplier_cutoff", "supplier_closing", "supplier_tax"}),
}


@dataclass(frozen=True, slots=True)
class State:
    """All that some files describe as it is at one moment, and who wrote it."""

    things: tuple[Thing, ...]
    entries: Mapping[Thing, Entry]
    origins: Mapping[Thing, OriginView]


def all_of(session: Session, sources: Sequence[Source]) -> State:
    """What the database has of all that some files describe."""
    things = tuple(dict.fromkeys((*described(sources), *cars(sources))))
    return State(things, entries_of(session, things), read_origins(session, things))


def compared(before: State, after: State, tables: Collection[str]) -> CompareView:
    """What differs between two states; `tables` are those that were written in between."""
    things = tuple(_things(before, after))
    terms = tuple(section for section, of in _TERMS.items() if of & set(tables))
    others = set(tables).difference(*_TERMS.values())
    # Where nothing above shows what was written, it is named by its table: no change goes untold.
    return CompareView(things, terms if things else (*terms, *sorted(others)))


def _things(before: State, after: State) -> Iterator[ThingView]:
    for thing in before.things:
        old, new = before.entries.get(thing), after.entries[thing]
        was, now = before.origins.get(thing), after.origins.get(thing)
        if old is None:
            change = ChangeOfThing.ADDED
        elif old != new:
            change = ChangeOfThing.CHANGED
        elif was != now:
            change = ChangeOfThing.ORIGIN
        else:
            continue
        code = new["registration"] if thing.section == VEHICLES else thing.code
        parts = () if old is None else parts_of(old, new)
        yield ThingView(one_of_section(thing.section), code, change, parts, was, now)
