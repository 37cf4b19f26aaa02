"""What was told of cars at the garage: it stays when a file that does not state it is loaded."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import TypeAlias

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.errors import StoreError
from kitting.facts.car_facts import NO, YES, CarFact
from kitting.facts.reasons import Reason, because
from kitting.files.catalogue.vehicle_shapes import Vehicle as CarShape
from kitting.services.catalogue.rows.book import Book
from kitting.services.db.sync import chunks
from kitting.services.planning.read_car import registration_key
from kitting.tables.cars import CarTold
from kitting.tables.vehicles import Vehicle
from kitting.views.catalogue import LoadRemark

Facts: TypeAlias = Mapping[tuple[CarFact, str | None], str]
"""Facts of a car as text; the code is of equipment."""

_TOLD = (
    select(Vehicle.registration_key, CarTold.fact, CarTold.code, CarTold.value)
    .join(Vehicle, CarTold.vehicle_id == Vehicle.id)
    .where(Vehicle.registration_key.in_(bindparam("keys", expanding=True)))
    .order_by(CarTold.id)
)
_OF_VIN = select(Vehicle.vin, Vehicle.registration, Vehicle.registration_key).where(
    Vehicle.vin.in_(bindparam("vins", expanding=True))
)


def read_told(session: Session, keys: Collection[str]) -> dict[str, Facts]:
    """The newest word of every fact that was told, by the key of the registration."""
    found: dict[str, dict[tuple[CarFact, str | None], str]] = {}
    for some in chunks(sorted(keys)):
        for key, fact, code, value in session.execute(_TOLD, {"keys": list(some)}):
            found.setdefault(key, {})[fact, code] = value
    return dict(found)


def stated(car: CarShape) -> Facts:
    """What an entry of a file states of its car."""
    facts: dict[tuple[CarFact, str | None], str] = {(CarFact.MODEL, None): car.model}
    if car.vin is not None:
        facts[CarFact.VIN, None] = car.vin
    if car.build_date is not None:
        facts[CarFact.BUILD_DATE, None] = car.build_date.isoformat()
    if car.weight is not None:
        facts[CarFact.WEIGHT, None] = str(car.weight)
    if car.units:
        facts[CarFact.UNITS, None] = ", ".join(dict.fromkeys(car.units))
    for code, present in car.equipment.items():
        facts[CarFact.EQUIPMENT, code] = YES if present else NO
    return facts


def learn_told(session: Session, book: Book) -> None:
    """Let the book of a load know what was told of its cars.

    Raises StoreError where a car of another registration has the VIN of one of them.
    """
    cars = {registration_key(car.registration): car for car in book.each("vehicles")}
    book.told = {
        key: {one: value for one, value in told.items() if one not in stated(cars[key])}
        for key, told in read_told(session, cars).items()
    }
    vins = {car.vin: car for car in cars.values() if car.vin is not None}
    for some in chunks(sorted(vins)):
        for vin, registration, key in session.execute(_OF_VIN, {"vins": list(some)}):
            if key not in cars and registration_key(vins[vin].registration) != key:
                raise StoreError(
                    "vehicle {registration}: {known_registration} has VIN {vin} already. One of"
                    " the two registrations is wrong, or the car has a new one; nothing was"
                    " changed. Write it as it is known",
                    registration=vins[vin].registration,
                    known_registration=registration,
                    vin=vin,
                )


def contradictions(session: Session, book: Book) -> Iterator[Reason]:
    """What files state otherwise than it was told: the file's word holds, and both are named."""
    cars = {registration_key(car.registration): car for car in book.each("vehicles")}
    for key, told in read_told(session, cars).items():
        facts = stated(cars[key])
        for (fact, code), value in told.items():
            states = facts.get((fact, code), value)
            if states != value:
                yield because(
                    LoadRemark.TOLD_OTHERWISE,
                    car=cars[key].registration,
                    fact=fact if code is None else code,
                    told=value,
                    states=states,
                )
