"""A car told at the garage: a new one, or more of what is known of one; told, not in a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy import Engine, bindparam, delete, insert, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.car_facts import NO, YES, CarFact
from kitting.facts.control_characters import unwritable
from kitting.facts.vin import read_vin
from kitting.facts.weights import CarWeight, parse_weight
from kitting.services.cars.view import car_view
from kitting.services.lookup import lookup, unknown
from kitting.services.planning.read_car import registration_key
from kitting.store import writing
from kitting.tables.cars import CarTold
from kitting.tables.editions import CatalogueEdition
from kitting.tables.units import SplitOption, Unit
from kitting.tables.vehicles import Equipment, Model, Vehicle, VehicleUnit
from kitting.views.cars import CarView

_LONGEST = 20  # a registration
_Facts = dict[tuple[CarFact, str | None], str]
_CAR = (
    select(
        Vehicle.id, Vehicle.registration, Vehicle.vin, Vehicle.build_date, Model.code,
        Vehicle.weight, Vehicle.weight_is,
    )
    .join(Model, Vehicle.model_id == Model.id)
    .where(Vehicle.registration_key == bindparam("key"))
)  # fmt: skip
_UNITS = (
    select(Unit.code)
    .join(VehicleUnit, VehicleUnit.unit_id == Unit.id)
    .where(VehicleUnit.vehicle_id == bindparam("car"))
    .order_by(VehicleUnit.seq)
)
_EQUIPMENT = select(Equipment.code, Equipment.present).where(
    Equipment.vehicle_id == bindparam("car")
)
_OF_VIN = select(Vehicle.registration).where(
    Vehicle.vin == bindparam("vin"), Vehicle.registration_key != bindparam("key")
)


@dataclass(frozen=True, slots=True)
class CarEntry:
    """What is told of a car: nothing that is not known.

    `units` where it carries others than its model's; `equipment` is what it has or has not, by
    code. `correct` is why what was known before is wrong.
    """

    registration: str
    model: str | None = None
    vin: str | None = None
    build_date: date | None = None
    units: Sequence[str] = ()
    equipment: Mapping[str, bool] = field(default_factory=dict)
    weight: CarWeight | None = None
    told_by: str | None = None
    correct: str | None = None


@dataclass(frozen=True, slots=True)
class Added:
    """A car as it is known now; `new` if it was not before, `changed` if anything was told anew."""

    car: CarView
    new: bool
    changed: bool


def add_car(engine: Engine, entry: CarEntry, at: datetime, *, dry_run: bool = False) -> Added:
    """Record a new car, or what is told of one that is known, all of it or nothing.

    Raises UnknownNameError for a model, unit or equipment that the catalogue does not name,
    FigureError for a VIN that cannot be, and KittingError for a car that is not built yet, and
    where it contradicts what is known and no correction is meant.
    """
    if entry.build_date is not None and entry.build_date > at.date():
        raise KittingError(
            "{registration}: {build_date} is still to come; say when it was built, or leave it out",
            registration=entry.registration.strip(),
            build_date=entry.build_date,
        )
    with writing(engine) as session:
        facts = _told(session, entry)
        key = registration_key(entry.registration)
        row = session.execute(_CAR, {"key": key}).first()
        known = {} if row is None else _known(session, row)
        _refuse_contradiction(entry, facts, known)
        changed = {one: value for one, value in facts.items() if known.get(one) != value}
        if row is None:
            car = _insert(session, entry, facts)
        else:
            car = row.id
            _update(session, car, changed)
        _write_parts(session, car, changed)
        if changed:
            by = {"vehicle_id": car, "at": at, "told_by": entry.told_by, "why": entry.correct}
            rows = [
                {**by, "fact": fact, "code": code, "value": value}
                for (fact, code), value in changed.items()
            ]
            session.execute(insert(CarTold), rows)
            # What open bookings of the car were planned from is no longer all that is known of it.
            session.add(CatalogueEdition(what=f"told: {entry.registration.strip()}"))
        session.flush()
        view = car_view(session, entry.registration)
        if not dry_run:
            session.commit()
        return Added(view, row is None, bool(changed))


def _told(session: Session, entry: CarEntry) -> _Facts:
    """What is told, as text; every name is known to the catalogue."""
    registration = entry.registration.strip()
    sign = unwritable(registration)
    if sign is not None or not registration_key(registration) or len(registration) > _LONGEST:
        raise KittingError(
            "{registration!r} is no registration: one line of 1 to {most} characters",
            registration=registration[:40],
            most=_LONGEST,
        )
    facts: _Facts = {}
    if entry.model is not None:
        models = {code: code for code in session.scalars(select(Model.code))}
        facts[CarFact.MODEL, None] = lookup("model", entry.model, models, "Describe it in a file")
    if entry.vin is not None:
        vin = read_vin(entry.vin)
        _refuse_second(session, registration, vin)
        facts[CarFact.VIN, None] = vin
    if entry.build_date is not None:
        facts[CarFact.BUILD_DATE, None] = entry.build_date.isoformat()
    if entry.weight is not None:
        facts[CarFact.WEIGHT, None] = str(entry.weight)
    if entry.units:
        units = {code: code for code in session.scalars(select(Unit.code))}
        named = [lookup("unit", unit, units, "Describe it in a file") for unit in entry.units]
        facts[CarFact.UNITS, None] = ", ".join(dict.fromkeys(named))
    asked = set(_asked_for(session)) if entry.equipment else set()
    for code, present in entry.equipment.items():
        if code not in asked:
            raise unknown("equipment", code, sorted(asked), "No variant depends on it")
        facts[CarFact.EQUIPMENT, code] = YES if present else NO
    return facts


def _asked_for(session: Session) -> Iterator[str]:
    """The equipment that anything in the catalogue depends on, or that a car is known to have."""
    for column in (SplitOption.equipment, SplitOption.without, Equipment.code):
        found = session.scalars(select(column).where(column.is_not(None)).distinct())
        yield from (code for code in found if code is not None)


def _refuse_second(session: Session, registration: str, vin: str) -> None:
    asked = {"vin": vin, "key": registration_key(registration)}
    other = session.scalar(_OF_VIN, asked)
    if other is not None:
        raise KittingError(
            "{registration}: {other} has VIN {vin} already. One of the two was misread, or the"
            " car has a new registration; compare with the plate, or go on as {other}",
            registration=registration,
            other=other,
            vin=vin,
        )


def _known(session: Session, row: object) -> _Facts:
    """What is known of a car that is there."""
    car, vin, built = row.id, row.vin, row.build_date  # type: ignore[attr-defined]
    facts: _Facts = {(CarFact.MODEL, None): row.code}  # type: ignore[attr-defined]
    if vin is not None:
        facts[CarFact.VIN, None] = vin
    if built is not None:
        facts[CarFact.BUILD_DATE, None] = built.isoformat()
    weight, of = row.weight, row.weight_is  # type: ignore[attr-defined]
    if weight is not None:
        facts[CarFact.WEIGHT, None] = str(CarWeight(weight, of))
    if units := session.scalars(_UNITS, {"car": car}).all():
        facts[CarFact.UNITS, None] = ", ".join(units)
    for code, present in session.execute(_EQUIPMENT, {"car": car}):
        facts[CarFact.EQUIPMENT, code] = YES if present else NO
    return facts


def _refuse_contradiction(entry: CarEntry, facts: _Facts, known: _Facts) -> None:
    if not known and (CarFact.MODEL, None) not in facts:
        raise KittingError(
            "{registration} is not known yet: name its model",
            registration=entry.registration.strip(),
            then=[next_step(Action.ADD_CAR, registration=entry.registration.strip())],
        )
    against = [
        f"{fact if code is None else code} is known as {known[fact, code]}, told is {value}"
        for (fact, code), value in facts.items()
        if known.get((fact, code), value) != value
    ]
    if entry.correct is not None and not entry.correct.strip():
        raise KittingError("a reason is required: say why what was known before is wrong")
    if against and entry.correct is None:
        raise KittingError(
            "{registration}: {against}. Look at the car; if what was known is wrong, say why",
            registration=entry.registration.strip(),
            against="; ".join(against),
            then=[next_step(Action.CORRECT_CAR)],
        )


def _columns(session: Session, facts: _Facts) -> dict[str, object]:
    """The columns of a car that some facts set."""
    found: dict[str, object] = {}
    if (model := facts.get((CarFact.MODEL, None))) is not None:
        found["model_id"] = session.scalars(select(Model.id).where(Model.code == model)).one()
    if (vin := facts.get((CarFact.VIN, None))) is not None:
        found["vin"] = vin
    if (built := facts.get((CarFact.BUILD_DATE, None))) is not None:
        found["build_date"] = date.fromisoformat(built)
    if (told := facts.get((CarFact.WEIGHT, None))) is not None:
        weight = parse_weight(told)
        found |= {"weight": weight.thousandths, "weight_is": weight.of}
    return found


def _insert(session: Session, entry: CarEntry, facts: _Facts) -> int:
    registration = entry.registration.strip()
    named = {"registration": registration, "registration_key": registration_key(registration)}
    made = insert(Vehicle).values(**named, **_columns(session, facts)).returning(Vehicle.id)
    return session.execute(made).scalar_one()


def _update(session: Session, car: int, changed: _Facts) -> None:
    if columns := _columns(session, changed):
        session.execute(update(Vehicle).where(Vehicle.id == car).values(**columns))


def _write_parts(session: Session, car: int, changed: _Facts) -> None:
    """The units and the equipment that some facts set."""
    units = changed.get((CarFact.UNITS, None))
    if units is not None:
        session.execute(delete(VehicleUnit).where(VehicleUnit.vehicle_id == car))
        ids = dict(session.execute(select(Unit.code, Unit.id)).all())
        rows = [
            {"vehicle_id": car, "unit_id": ids[code], "seq": seq}
            for seq, code in enumerate(units.split(", "))
        ]
        session.execute(insert(VehicleUnit), rows)
    for (fact, code), value in changed.items():
        if fact is not CarFact.EQUIPMENT:
            continue
        here = (Equipment.vehicle_id == car) & (Equipment.code == code)
        known = session.scalar(select(Equipment.code).where(here))
        statement = (
            insert(Equipment).values(vehicle_id=car, code=code, present=value == YES)
            if known is None
            else update(Equipment).where(here).values(present=value == YES)
        )
        session.execute(statement)
