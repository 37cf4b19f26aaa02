"""Notes on the history of a car: dated, signed, added and never altered."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Engine, insert

from kitting.errors import KittingError
from kitting.facts.control_characters import unwritable
from kitting.services.cars.owners import names_owner
from kitting.services.planning.read_car import read_car
from kitting.store import writing
from kitting.tables.cars import CarNote
from kitting.views.cars import NoteView


def note_car(engine: Engine, registration: str, text: str, told_by: str, at: datetime) -> NoteView:
    """Write a note on a car. Raises UnknownNameError, and KittingError for a note without words.

    A note stays when the owner is forgotten: it may not name them.
    """
    text, told_by = text.strip(), told_by.strip()
    if not text or not told_by:
        raise KittingError("a note needs its words and who says so")
    sign = unwritable(text, lines=True) or unwritable(told_by)
    if sign is not None:
        raise KittingError(
            "the note holds the sign {sign}, which text may not; take it out", sign=sign
        )
    with writing(engine) as session:
        car = read_car(session, registration, date.max)
        if names_owner(session, car.key, text):
            raise KittingError(
                "the note names the owner of {registration} or their telephone. Notes stay when"
                " an owner is forgotten: write it without them",
                registration=car.registration,
            )
        row = {"vehicle_id": car.key, "at": at, "told_by": told_by, "text": text}
        session.execute(insert(CarNote), [row])
        session.commit()
    return NoteView(at, told_by, text)
