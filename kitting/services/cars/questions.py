"""What is asked of a new car before it is written down: what the catalogue depends on of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.conditions import CarFacts
from kitting.services.cars.view import equipment_of
from kitting.services.lookup import lookup
from kitting.services.planning.read_car import read_model, registration_key
from kitting.tables.vehicles import Model, Vehicle

_IS_KNOWN = select(Vehicle.id).where(Vehicle.registration_key == bindparam("key"))


def is_known(session: Session, registration: str) -> bool:
    """Whether a car with a registration is on record."""
    key = registration_key(registration)
    return session.scalar(_IS_KNOWN, {"key": key}) is not None


def model_codes(session: Session) -> tuple[str, ...]:
    """The models of the catalogue, by code."""
    return tuple(session.scalars(select(Model.code).order_by(Model.code)))


def known_model(session: Session, code: str) -> str:
    """The code of a model as the catalogue writes it; raises UnknownNameError."""
    codes = {one: one for one in model_codes(session)}
    return lookup("model", code, codes, "Describe it in a file")


def equipment_asked(session: Session, model: str, built: date | None) -> tuple[str, ...]:
    """The equipment that variants of a model, built then, still depend on, by code."""
    car = read_model(session, model)
    car = replace(car, facts=CarFacts(build_date=built, equipment={}, settled={}))
    return tuple(one.code for one in equipment_of(car))
