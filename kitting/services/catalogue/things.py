"""The things that catalogue files describe, by section and code."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from kitting.files.catalogue.source import Source
from kitting.services.catalogue.check import SECTIONS
from kitting.services.planning.read_car import registration_key
from kitting.views.catalogue import OriginView

VEHICLES = "vehicles"


class Thing(NamedTuple):
    """A thing by its section; a car by the key of its registration."""

    section: str
    code: str


def thing_of(section: str, entry: Mapping[str, Any]) -> Thing:
    """What an entry of a section describes."""
    if section == VEHICLES:
        return Thing(section, registration_key(entry["registration"]))
    return Thing(section, entry["code"])


def described(sources: Sequence[Source]) -> dict[Thing, OriginView | None]:
    """What some files describe that can be shared, each with the head of its file."""
    found: dict[Thing, OriginView | None] = {}
    for source in sources:
        head = _head(source)
        for section in SECTIONS:
            for one in getattr(source.catalogue, section):
                found[Thing(section, one.code)] = head
    return found


def _head(source: Source) -> OriginView | None:
    about = source.catalogue.about
    if about is None:
        return None
    return OriginView(about.author, about.source, about.version, about.licence)


def cars(sources: Sequence[Source]) -> Iterator[Thing]:
    """The cars that some files describe."""
    for source in sources:
        for car in source.catalogue.vehicles:
            yield Thing(VEHICLES, registration_key(car.registration))
