"""What is found while a car is stripped: noted part by part, for a catalogue that lacks it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime

from sqlalchemy import Engine, bindparam, func, insert, select, update
from sqlalchemy.orm import Session

from kitting.errors import FigureError, KittingError, UnknownNameError
from kitting.facts.bounds import WORD_SIGNS, one_line
from kitting.facts.found_fields import (
    PLACE,
    FoundField,
    asked_of,
    is_ring_size,
    read_field,
    ring_size,
)
from kitting.facts.names import also_called, nearest
from kitting.facts.words import ItemFamily
from kitting.files.pictures import Picture
from kitting.services.cars.owners import names_owner
from kitting.services.lookup import lookup
from kitting.services.planning.read_car import registration_key
from kitting.store import writing
from kitting.tables.cars import FoundPart
from kitting.tables.photos import Photo
from kitting.tables.vehicles import Vehicle
from kitting.tables.vocabulary import Kind, OtherWord
from kitting.views.cars import FoundPartsView, FoundPartView

_part, _photo = FoundPart.__table__.c, Photo.__table__.c
_WORDS = select(OtherWord.word, Kind.code).join(Kind, OtherWord.kind_id == Kind.id)
_KINDS = select(Kind.code, Kind.family, Kind.threaded)
_FOUND = (
    select(
        _part.id.label("number"),
        *(_part[field.name] for field in fields(FoundPartView) if field.name in _part),
        select(func.max(_photo.id))
        .where(_photo.found_part_id == _part.id)
        .scalar_subquery()
        .label("photo"),
        _part.registration,
    )
    .where(_part.registration_key == bindparam("key"), _part.taken_back.is_(None))
    .order_by(_part.id)
)
_ON_RECORD = select(Vehicle.id, Vehicle.registration).where(
    Vehicle.registration_key == bindparam("key")
)
_NOTED = select(_part.registration).distinct().where(_part.taken_back.is_(None))


def read_found(session: Session, field: FoundField, text: str, kind: str | None = None) -> str:
    """What is noted of one thing of a part, as it is kept; `kind` is the code of its kind.

    Raises UnknownNameError naming near kinds, FigureError for what a catalogue could not take and
    for the size of a ring that is thicker than published ones.
    """
    if field is FoundField.SIZE:
        _refuse_no_ring(session, kind, text)
    if field is not FoundField.KIND:
        return read_field(field, text)
    codes = {code: code for code, _, _ in session.execute(_KINDS)}
    said = read_field(field, text)
    meant = also_called(said, ((word, code) for word, code in session.execute(_WORDS)))
    if said.casefold() not in {code.casefold() for code in codes} and meant:
        raise UnknownNameError(
            "kind {said!r}: unknown name. Did you mean {meant}?",
            said=said,
            meant=" or ".join(meant),
        )
    return lookup("kind", said, codes, "Leave it empty where it is not known")


def still_to_ask(
    session: Session, noted: Mapping[FoundField, str | None]
) -> tuple[FoundField, ...]:
    """What is still to be asked of a part; `noted` has what was answered (None: not known)."""
    asked = asked_of(_kind(session, noted.get(FoundField.KIND)))
    return tuple(
        field
        for field in asked
        if field not in noted
        and (field is not FoundField.SOURCE or noted.get(FoundField.FIGURE) is not None)
    )


def _kind(session: Session, code: str | None) -> tuple[ItemFamily, bool] | None:
    if code is None:
        return None
    row = session.execute(_KINDS.where(Kind.code == code)).first()
    return None if row is None else (row.family, row.threaded)


def note_part(
    engine: Engine,
    registration: str,
    noted: Mapping[FoundField, str],
    at: datetime,
    told_by: str | None = None,
    picture: Picture | None = None,
) -> FoundPartView:
    """Write down a part that was found on a car, which the catalogue need not know yet.

    Its picture is kept as a photo of the note.

    Raises KittingError where its place is lacking, or a figure has no source.
    """
    registration = one_line(registration.strip(), WORD_SIGNS)
    if not registration:
        raise KittingError("which car? Name it by its registration")
    noted = {field: text for field, text in noted.items() if text.strip()}
    if lacking := [field for field in PLACE if field not in noted]:
        raise KittingError("a part needs its place: give {lacking}", lacking=" and ".join(lacking))
    with writing(engine) as session:
        named = noted.get(FoundField.KIND)
        kind = None if named is None else read_found(session, FoundField.KIND, named)
        kept: dict[str, object] = {
            field: read_found(session, field, text, kind) for field, text in noted.items()
        }
        if FoundField.FIGURE in noted and FoundField.SOURCE not in noted:
            raise KittingError(
                "{kept}: a figure needs its source, such as a page of the maker's data. Say where"
                " it was read, or leave the figure out",
                kept=kept[FoundField.FIGURE],
            )
        if FoundField.COUNT in kept:
            kept[FoundField.COUNT] = int(str(kept[FoundField.COUNT]))
        key = registration_key(registration)
        car = session.execute(_ON_RECORD, {"key": key}).first()
        if car is not None and any(names_owner(session, car.id, text) for text in noted.values()):
            raise KittingError(
                "the note names the owner of {registration} or their telephone. Notes stay when"
                " an owner is forgotten: write it without them",
                registration=car.registration,
            )
        row = {
            **dict.fromkeys(map(str, FoundField)),
            **kept,
            "registration": registration if car is None else car.registration,
            "registration_key": key,
            "at": at,
            "told_by": one_line(told_by.strip()) if told_by and told_by.strip() else None,
        }
        number = session.execute(insert(FoundPart).returning(FoundPart.id), [row]).scalar_one()
        photo = None
        if picture is not None:
            taken = {"found_part_id": number, "at": at, "told_by": row["told_by"], **picture.kept}
            photo = session.execute(insert(Photo).returning(Photo.id), [taken]).scalar_one()
        session.commit()
    told = {field.name: row[field.name] for field in fields(FoundPartView) if field.name in row}
    return FoundPartView(number=number, photo=photo, **told)  # type: ignore[arg-type]


def _refuse_no_ring(session: Session, kind: str | None, text: str) -> None:
    """A ring is no thicker than published sizes are: else the two figures are swapped."""
    of_kind, size = _kind(session, kind), ring_size(text)
    if of_kind is None or of_kind[0] is not ItemFamily.RING or size is None or is_ring_size(size):
        return
    raise FigureError(
        "{text}: the section comes after the inside diameter, and no published ring has so thick"
        " a section for its inside. Measure it again, and write the inside first, such as 17 ×"
        " 2.5 mm",
        text=text,
    )


def found_parts(session: Session, registration: str) -> FoundPartsView:
    """What was found on a car and is not taken back; raises UnknownNameError where nothing is."""
    rows = session.execute(_FOUND, {"key": registration_key(registration)}).all()
    if not rows:
        known = list(session.scalars(_NOTED))
        near = nearest(registration, known, loosely=True)
        other = f". Something is noted of {', '.join(near)}" if near else ""
        raise UnknownNameError(
            "nothing is noted of {registration!r}{other}", registration=registration, other=other
        )
    names = [field.name for field in fields(FoundPartView)]
    return FoundPartsView(
        rows[-1].registration,
        tuple(FoundPartView(**{name: getattr(row, name) for name in names}) for row in rows),
    )


def take_back(engine: Engine, registration: str, number: int, at: datetime) -> FoundPartView:
    """Take back what was noted by mistake, by its number; raises UnknownNameError."""
    with writing(engine) as session:
        view = found_parts(session, registration)
        found = {one.number: one for one in view.found}
        if number not in found:
            known = ", ".join(map(str, found))
            raise UnknownNameError(
                "{registration} has no note {number}. It has {known}",
                registration=view.registration,
                number=number,
                known=known,
            )
        session.execute(update(FoundPart).where(FoundPart.id == number).values(taken_back=at))
        session.commit()
    return found[number]
