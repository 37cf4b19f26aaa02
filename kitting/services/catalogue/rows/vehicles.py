"""Rows of models and cars: units, equipment, settled variants, earlier removals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from kitting.facts.car_facts import YES, CarFact
from kitting.facts.weights import parse_weight
from kitting.files.catalogue.vehicle_shapes import CarFluid, Vehicle
from kitting.services.catalogue.rows.book import Book
from kitting.services.db.sync import Row
from kitting.services.planning.read_car import registration_key


def model_units(book: Book) -> Iterator[Row]:
    """What models carry."""
    for model in book.each("models"):
        for seq, code in enumerate(dict.fromkeys(model.units)):
            yield {
                "model_id": book.id("model", model.code),
                "unit_id": book.id("unit", code),
                "seq": seq,
            }


def vehicles(book: Book) -> Iterator[Row]:
    """Cars; what was told of one and no file states stays."""
    for car in book.each("vehicles"):
        told = book.told.get(registration_key(car.registration), {})
        built = told.get((CarFact.BUILD_DATE, None))
        said = told.get((CarFact.WEIGHT, None))
        weight = car.weight if said is None else parse_weight(said)
        yield {
            "registration_key": registration_key(car.registration),
            "registration": car.registration,
            "model_id": book.id("model", car.model),
            "vin": told.get((CarFact.VIN, None), car.vin),
            "build_date": car.build_date if built is None else date.fromisoformat(built),
            "weight": None if weight is None else weight.thousandths,
            "weight_is": None if weight is None else weight.of,
        }


def each_car(book: Book) -> Iterator[tuple[Vehicle, int]]:
    """Every car with its id."""
    for car in book.each("vehicles"):
        yield car, book.id("vehicle", registration_key(car.registration))


def vehicle_units(book: Book) -> Iterator[Row]:
    """Units that cars carry instead of their model's."""
    for car, vehicle_id in each_car(book):
        told = book.told.get(registration_key(car.registration), {})
        units = told.get((CarFact.UNITS, None))
        carried = car.units if units is None else tuple(units.split(", "))
        for seq, code in enumerate(dict.fromkeys(carried)):
            yield {"vehicle_id": vehicle_id, "unit_id": book.id("unit", code), "seq": seq}


def model_fluids(book: Book) -> Iterator[Row]:
    """What fluids are on models."""
    for model in book.each("models"):
        yield from _fluids(book, "model_id", book.id("model", model.code), model.fluids)


def vehicle_fluids(book: Book) -> Iterator[Row]:
    """What fluids are on single cars."""
    for car, vehicle_id in each_car(book):
        yield from _fluids(book, "vehicle_id", vehicle_id, car.fluids)


def _fluids(book: Book, owner: str, owner_id: int, fluids: Sequence[CarFluid]) -> Iterator[Row]:
    for entry in fluids:
        yield {
            owner: owner_id,
            "fluid_id": book.id("fluid", entry.fluid),
            "medium": entry.medium,
            "lubricant_id": book.maybe("item", entry.lubricant),
            "reference": entry.reference,
        }


def equipment(book: Book) -> Iterator[Row]:
    """What cars are known to have or not."""
    for car, vehicle_id in each_car(book):
        for code, present in car.equipment.items():
            yield {"vehicle_id": vehicle_id, "code": code, "present": present}
        for (fact, told), value in book.told.get(registration_key(car.registration), {}).items():
            if fact is CarFact.EQUIPMENT:
                yield {"vehicle_id": vehicle_id, "code": told, "present": value == YES}


def settled(book: Book) -> Iterator[Row]:
    """Splits that were settled at the car."""
    for car, vehicle_id in each_car(book):
        for split, option in car.settled.items():
            unit, _, code = split.partition("/")
            split_id = book.id("split", book.id("unit", unit), code)
            yield {
                "vehicle_id": vehicle_id,
                "split_id": split_id,
                "option_id": book.id("split_option", split_id, option),
            }


def removals(book: Book) -> Iterator[Row]:
    """What happened to positions at earlier visits."""
    for car, vehicle_id in each_car(book):
        for removal in car.history:
            unit, _, joint = removal.joint.partition("/")
            yield {
                "vehicle_id": vehicle_id,
                "joint_id": book.id("joint", book.id("unit", unit), joint),
                "position": removal.position,
                "on_date": removal.on,
                "outcome": removal.outcome,
            }
