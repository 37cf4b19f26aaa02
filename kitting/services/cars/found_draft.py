"""A draft of a unit from what was found at a car."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, replace

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.errors import FigureError
from kitting.facts.bounds import CODE_SIGNS
from kitting.facts.found_fields import STAGE_SIGN
from kitting.facts.words import ItemFamily
from kitting.files.catalogue.draft import Draft, DraftCar, DraftPart, draft_unit
from kitting.files.catalogue.shapes import CODE
from kitting.services.cars.found_parts import found_parts
from kitting.services.planning.read_car import registration_key
from kitting.tables.vehicles import Model, Vehicle
from kitting.tables.vocabulary import Kind
from kitting.views.cars import FoundPartView

_MODEL = (
    select(Model.code)
    .join(Vehicle, Vehicle.model_id == Model.id)
    .where(Vehicle.registration_key == bindparam("key"))
)
_KINDS = select(Kind.code, Kind.family, Kind.threaded)


def draft_of_found(session: Session, registration: str, unit: str) -> Draft:
    """The draft of a unit (its code) from what was found at a car.

    Raises UnknownNameError where nothing was noted, FigureError for what is no code.
    """
    if not CODE.fullmatch(unit) or len(unit) > CODE_SIGNS:
        raise FigureError(
            f"{unit!r} is no code of a unit: letters, digits and . _ / - only, beginning with a"
            " letter or a digit. Put a dash for a space, such as rear-axle"
        )
    view = found_parts(session, registration)
    model = session.scalar(_MODEL, {"key": registration_key(registration)})
    kinds = {row.code: row for row in session.execute(_KINDS)}
    parts = []
    for one in _by_place(view.found):
        kind = kinds.get(one.kind or "")
        threaded = None if kind is None else kind.threaded
        ring = kind is not None and kind.family is ItemFamily.RING
        parts.append(_part(one, threaded, ring=ring))
    return draft_unit(unit, DraftCar(view.registration, model), parts)


def _by_place(found: Iterable[FoundPartView]) -> Iterable[FoundPartView]:
    """One part for each place: what was noted of it last goes before what was noted earlier."""
    places: dict[tuple[str, str], FoundPartView] = {}
    for one in found:
        place = (_folded(one.joint), _folded(one.position))
        before = places.get(place, one)
        known = {field: value for field, value in asdict(one).items() if value is not None}
        places[place] = replace(
            before, **{**known, "joint": before.joint, "position": before.position}
        )
    return places.values()


def _folded(text: str) -> str:
    return " ".join(text.split()).casefold()


def _part(one: FoundPartView, threaded: bool | None, *, ring: bool) -> DraftPart:
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
    )
