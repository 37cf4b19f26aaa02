"""Photos of items, joints and positions: kept, listed, taken out, and found for a plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, bindparam, delete, func, insert, select
from sqlalchemy.orm import Session

from kitting.errors import KittingError, UnknownNameError
from kitting.facts.bounds import one_line
from kitting.files.pictures import Picture
from kitting.services.item_numbers import code_of
from kitting.services.lookup import lookup
from kitting.store import reading, writing
from kitting.tables.cars import FoundPart
from kitting.tables.items import Item
from kitting.tables.photos import Photo
from kitting.tables.units import Fit, Joint, Unit
from kitting.views.photos import NO_PHOTOGRAPHS, Photograph, Photographs, PhotosView, PhotoView
from kitting.views.plan import PlanView

_photo = Photo.__table__.c
_note = FoundPart.__table__.c
_LISTED = (
    select(
        _photo.id.label("number"), _photo.item, _photo.unit, _photo.joint, _photo.position,
        _photo.caption, _photo.told_by, _photo.at, _photo.width, _photo.height, _photo.sha256,
        func.length(_photo.jpeg).label("size"), _note.id.label("note"), _note.registration,
        _note.taken_back,
    )
    .outerjoin_from(Photo, FoundPart, _photo.found_part_id == _note.id)
    .order_by(_photo.id)
)  # fmt: skip
_ITEMS = select(Item.code)
_PLACES = (
    select(Unit.code, Joint.code, Fit.position)
    .join(Joint, Joint.unit_id == Unit.id)
    .outerjoin(Fit, Fit.joint_id == Joint.id)
)
_ANY = select(_photo.id).limit(1)
# The newest picture of a thing is the one that is shown.
_OF_PLAN = (
    select(
        _photo.item, _photo.unit, _photo.joint, _photo.position, _photo.caption, _photo.width,
        _photo.height, _photo.jpeg,
    )
    .where(
        _photo.item.in_(bindparam("items", expanding=True))
        | _photo.unit.in_(bindparam("units", expanding=True))
    )
    .order_by(_photo.id)
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shows:
    """What a photo is of: an item, or a joint (UNIT/JOINT) and perhaps one position of it."""

    item: str | None = None
    joint: str | None = None
    position: str | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What is said of a photo, and by whom."""

    caption: str | None = None
    told_by: str | None = None


def add_photo(
    engine: Engine, picture: Picture, shows: Shows, at: datetime, said: Said | None = None
) -> PhotoView:
    """Keep a picture of something that the catalogue has.

    Raises UnknownNameError for what it has not, KittingError for a picture that is kept already.
    """
    said = said or Said()
    with writing(engine) as session:
        named = _named(session, shows)
        twice = select(_photo.id).where(
            _photo.sha256 == picture.sha256,
            *(_photo[name].is_not_distinct_from(value) for name, value in named.items()),
        )
        if (before := session.scalar(twice)) is not None:
            raise KittingError(
                "that very picture is kept of it already: photo {before}", before=before
            )
        row: dict[str, Any] = {
            **named,
            "caption": _words(said.caption),
            "told_by": _words(said.told_by),
            "at": at,
            **picture.kept,
        }
        number = session.execute(insert(Photo).returning(Photo.id), [row]).scalar_one()
        view = _view(session.execute(_LISTED.where(_photo.id == number)).one(), known=True)
        session.commit()
        return view


def copy_photo(
    engine: Engine, number: int, shows: Shows, at: datetime, said: Said | None = None
) -> PhotoView:
    """Keep a picture that is kept already of something else too, such as what a note became.

    It keeps its caption and who took it where nothing else is said. Raises what add_photo does, and
    UnknownNameError for a number that no photo has.
    """
    said = said or Said()
    kept = select(_photo.jpeg, _photo.width, _photo.height, _photo.caption, _photo.told_by)
    with reading(engine) as session:
        row = session.execute(kept.where(_photo.id == number)).first()
        if row is None:
            raise _no_photo(session, number)
    picture = Picture(bytes(row.jpeg), row.width, row.height)
    told = Said(said.caption or row.caption, said.told_by or row.told_by)
    return add_photo(engine, picture, shows, at, told)


def _words(text: str | None) -> str | None:
    return one_line(text.strip()) if text and text.strip() else None


def _named(session: Session, shows: Shows) -> dict[str, str | None]:
    """What a photo is of, as the catalogue writes it."""
    if (shows.item is None) == (shows.joint is None):
        raise KittingError("a photo is of an item or of a joint: name one of them")
    found: dict[str, str | None] = dict.fromkeys(("item", "unit", "joint", "position"))
    if shows.item is not None:
        if shows.position is not None:
            raise KittingError("a position is one of a joint: name the joint, not an item")
        codes = {code: code for code in session.scalars(_ITEMS)}
        return found | {"item": lookup("item", code_of(session, shows.item), codes)}
    places = _positions(session)
    names = {f"{unit}/{joint}": (unit, joint) for unit, joint in places}
    unit, joint = lookup("joint", shows.joint or "", names, "Say UNIT/JOINT")
    found |= {"unit": unit, "joint": joint}
    if shows.position is not None:
        there = {name: name for name in places[unit, joint]}
        found["position"] = lookup(f"position of {unit}/{joint}", shows.position, there)
    return found


_Positions = dict[tuple[str, str], set[str]]


def _positions(session: Session) -> _Positions:
    """The positions of every joint, by unit and joint."""
    found: _Positions = {}
    for unit, joint, position in session.execute(_PLACES):
        there = found.setdefault((unit, joint), set())
        if position is not None:
            there.add(position)
    return found


def list_photos(session: Session, shows: Shows | None = None) -> PhotosView:
    """All photos, or those of an item or of a joint and its positions."""
    shows = shows or Shows()
    wanted = None if shows.item is None else code_of(session, shows.item)
    items, places = set(session.scalars(_ITEMS)), _positions(session)
    return PhotosView(
        tuple(
            view
            for row in session.execute(_LISTED)
            for view in [_view(row, known=_known(row, items, places))]
            if wanted in (None, view.item)
            and shows.joint in (None, view.joint)
            and shows.position in (None, view.position)
        )
    )


def _known(row: Any, items: set[str], places: _Positions) -> bool:
    if row.note is not None:
        return row.taken_back is None
    if row.item is not None:
        return row.item in items
    there = places.get((row.unit, row.joint))
    return there is not None and (row.position is None or row.position in there)


def _view(row: Any, *, known: bool) -> PhotoView:
    return PhotoView(
        number=row.number,
        item=row.item,
        joint=None if row.joint is None else f"{row.unit}/{row.joint}",
        position=row.position,
        note=row.note,
        registration=row.registration,
        caption=row.caption,
        told_by=row.told_by,
        at=row.at,
        width=row.width,
        height=row.height,
        size=row.size,
        sha256=row.sha256,
        known=known,
    )


def photo_bytes(session: Session, number: int) -> bytes:
    """The picture of a photo as JPEG; raises UnknownNameError."""
    found = session.scalar(select(_photo.jpeg).where(_photo.id == number))
    if found is None:
        raise _no_photo(session, number)
    return bytes(found)


def remove_photo(engine: Engine, number: int) -> PhotoView:
    """Take a photo out for good; raises UnknownNameError."""
    with writing(engine) as session:
        row = session.execute(_LISTED.where(_photo.id == number)).first()
        if row is None:
            raise _no_photo(session, number)
        session.execute(delete(Photo).where(Photo.id == number))
        session.commit()
    return _view(row, known=True)


def _no_photo(session: Session, number: int) -> UnknownNameError:
    known = session.scalars(select(_photo.id).order_by(_photo.id)).all()
    listed = ", ".join(map(str, known[-8:])) or "none"
    return UnknownNameError(
        "there is no photo {number}. Known: {listed}", number=number, listed=listed
    )


def any_photo(session: Session) -> bool:
    """Whether any photo is kept."""
    return session.scalar(_ANY) is not None


def photographs_of(session: Session, plan: PlanView) -> Photographs:
    """The newest picture of each item, joint and position of a plan, by the plan's names."""
    if not any_photo(session):
        return NO_PHOTOGRAPHS
    units = {joint.code: joint.unit for joint in plan.joints}
    asked = {
        "items": sorted({entry.item for entry in plan.entries}),
        "units": sorted(set(units.values())),
    }
    items: dict[str, Photograph] = {}
    places: dict[tuple[str, str | None], Photograph] = {}
    for row in session.execute(_OF_PLAN, asked):
        picture = Photograph(bytes(row.jpeg), row.width, row.height, _caption(row))
        if row.item is not None:
            items[row.item] = picture
            continue
        for name in (row.joint, f"{row.unit}/{row.joint}"):
            if units.get(name) == row.unit:
                places[name, row.position] = picture
    return Photographs(items, places)


def _caption(row: Any) -> str:
    told: Iterable[str | None] = (row.position or row.item, row.caption)
    return ": ".join(text for text in told if text)
