"""Owners of cars: personal data, read and written here and nowhere else.

Local data protection rules apply: only who has to call them reads it, and it goes when it is to be
forgotten; what was done to the car stays.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Engine, bindparam, delete, insert, select, update
from sqlalchemy import text as sql
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.control_characters import unwritable
from kitting.services.planning.read_car import read_car
from kitting.store import reading, writing
from kitting.tables.cars import CarNote, CarOwner
from kitting.views.cars import ForgottenView, OwnerView

_OWNER = select(CarOwner.name, CarOwner.telephone, CarOwner.at).where(
    CarOwner.vehicle_id == bindparam("car")
)
_NOTES = select(CarNote.text).where(CarNote.vehicle_id == bindparam("car"))
_MAY_READ = sql("SELECT has_table_privilege('car_owner', 'SELECT')")
_LONGEST = 200


def set_owner(
    engine: Engine, registration: str, name: str, telephone: str | None, at: datetime
) -> OwnerView:
    """Write down whose car it is and how to call them, instead of who was there before.

    Raises UnknownNameError, and KittingError for a name that is none.
    """
    name, called = name.strip(), (telephone or "").strip() or None
    for text in (name, called or name):
        if not text or len(text) > _LONGEST or unwritable(text) is not None:
            raise KittingError(
                "write name and telephone as one line of at most {most} signs", most=_LONGEST
            )
    with writing(engine) as session:
        car = read_car(session, registration, date.max)
        values = {"name": name, "telephone": called, "at": at}
        if session.execute(_OWNER, {"car": car.key}).first() is None:
            session.execute(insert(CarOwner).values(vehicle_id=car.key, **values))
        else:
            _leave_nothing(session)
            here = CarOwner.vehicle_id == car.key
            session.execute(update(CarOwner).where(here).values(**values))
        session.commit()
    _empty_log(engine)
    return OwnerView(car.registration, name, called, at)


def owner_of(session: Session, registration: str) -> OwnerView:
    """Whose car it is. Raises UnknownNameError, and KittingError where nobody is written down."""
    car = read_car(session, registration, date.max)
    row = session.execute(_OWNER, {"car": car.key}).first()
    if row is None:
        raise _nobody(car.registration)
    return OwnerView(car.registration, row.name, row.telephone, row.at)


def show_owner(engine: Engine, registration: str) -> OwnerView:
    """As `owner_of`."""
    with reading(engine) as session:
        return owner_of(session, registration)


def forget_owner(engine: Engine, registration: str) -> ForgottenView:
    """Remove the owner of a car; its own history stays. Raises as `owner_of`.

    In a SQLite file the bytes are overwritten, in its log too. Backups of before still have them.
    """
    with writing(engine) as session:
        car = read_car(session, registration, date.max)
        row = session.execute(_OWNER, {"car": car.key}).first()
        if row is None:
            raise _nobody(car.registration)
        texts = session.scalars(_NOTES, {"car": car.key}).all()
        notes = sum(_names(text, (row.name, row.telephone)) for text in texts)
        _leave_nothing(session)
        session.execute(delete(CarOwner).where(CarOwner.vehicle_id == car.key))
        session.commit()
    _empty_log(engine)
    return ForgottenView(car.registration, notes)


def names_owner(session: Session, car: int, text: str) -> bool:
    """Whether a text names the owner of a car or their telephone, as far as the login may know."""
    lite = session.get_bind().dialect.name == "sqlite"
    if not lite and not session.scalar(_MAY_READ):
        return False
    row = session.execute(_OWNER, {"car": car}).first()
    return row is not None and _names(text, (row.name, row.telephone))


def _names(text: str, words: tuple[str | None, ...]) -> bool:
    folded = "".join(text.split()).casefold()
    return any(word and "".join(word.split()).casefold() in folded for word in words)


def _nobody(registration: str) -> KittingError:
    return KittingError(
        "nobody is written down as the owner of {registration}",
        registration=registration,
        then=[next_step(Action.SET_OWNER, registration=registration)],
    )


def _leave_nothing(session: Session) -> None:
    """In a SQLite file what is removed is overwritten."""
    if session.get_bind().dialect.name == "sqlite":
        session.execute(sql("PRAGMA secure_delete = ON"))


def _empty_log(engine: Engine) -> None:
    """What was removed stands in the log of a SQLite file until that is written into the file."""
    if engine.dialect.name == "sqlite":
        with engine.connect() as connection:
            connection.execute(sql("PRAGMA wal_checkpoint(TRUNCATE)"))
