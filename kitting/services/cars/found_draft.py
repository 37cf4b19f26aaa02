"""A draft of a unit from what was found at a car."""

from __future__ import annotations

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.errors import FigureError, KittingError
from kitting.facts.bounds import CODE_SIGNS
from kitting.facts.found_fields import STAGE_SIGN
from kitting.facts.words import ItemFamily
from kitting.files.catalogue.draft import Draft, DraftCar, DraftPart, Taken, draft_unit
from kitting.files.catalogue.shapes import CODE
from kitting.services.cars.found_parts import found_parts
from kitting.services.cars.found_places import FoundPlace, by_place
from kitting.services.planning.read_car import registration_key
from kitting.tables.items import Item
from kitting.tables.units import Unit
from kitting.tables.vehicles import Model, Vehicle
from kitting.tables.vocabulary import Kind
from kitting.tables.work import Job, Step

_MODEL = (
    select(Model.code)
    .join(Vehicle, Vehicle.model_id == Model.id)
    .where(Vehicle.registration_key == bindparam("key"))
)
_KINDS = select(Kind.code, Kind.family, Kind.threaded)


def draft_of_found(session: Session, registration: str, unit: str) -> Draft:
    """The draft of a unit (its code) from what was found at a car.

    Raises UnknownNameError where nothing was noted, FigureError for what is no code, KittingError
    for the code of a unit that is there: a load would take out what it holds.
    """
    if not CODE.fullmatch(unit) or len(unit) > CODE_SIGNS:
        raise FigureError(
            "{unit!r} is no code of a unit: letters, digits and . _ / - only, beginning with a"
            " letter or a digit. Put a dash for a space, such as rear-axle",
            unit=unit,
        )
    view = found_parts(session, registration)
    there = {code.casefold(): code for code in session.scalars(select(Unit.code))}
    if unit.casefold() in there:
        raise KittingError(
            "unit {there} is in the catalogue already, and a draft of that code would take its"
            " place with all its jobs. Give the draft a code of its own",
            there=there[unit.casefold()],
        )
    model = session.scalar(_MODEL, {"key": registration_key(registration)})
    kinds = {row.code: row for row in session.execute(_KINDS)}
    parts = []
    for place in by_place(view.found):
        one = place.part
        kind = kinds.get(one.kind or "")
        threaded = None if kind is None else kind.threaded
        ring = kind is not None and kind.family is ItemFamily.RING
        parts.append(_part(place, threaded, ring=ring))
    return draft_unit(unit, DraftCar(view.registration, model), parts, _taken(session))


def _taken(session: Session) -> Taken:
    items, steps, jobs = (
        frozenset(code.casefold() for code in session.scalars(select(table.code)))
        for table in (Item, Step, Job)
    )
    return Taken(items, steps, jobs)


def _part(place: FoundPlace, threaded: bool | None, *, ring: bool) -> DraftPart:
    one = place.part
    return DraftPart(
        joint=one.joint,
        position=one.position,
        kind=one.kind,
        count=one.count,
        thread=one.thread,
        head=one.head,
        stages=tuple(part.strip() for part in (one.figure or "").split(STAGE_SIGN) if part.strip()),
        source=one.source,
        size=one.size,
        seen=one.seen,
        threaded=threaded,
        ring=ring,
        photo=one.photo,
        earlier=place.earlier,
        beside=place.beside,
    )
