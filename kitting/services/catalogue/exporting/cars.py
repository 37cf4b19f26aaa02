"""Models and cars as entries."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import select

from kitting.facts.names import natural_key
from kitting.facts.weights import CarWeight
from kitting.services.catalogue.exporting.entries import Entry, Names, entry
from kitting.services.db.sync import chunks
from kitting.tables.vehicles import (
    Equipment,
    Model,
    ModelFluid,
    ModelUnit,
    Removal,
    SettledVariant,
    Vehicle,
    VehicleFluid,
    VehicleUnit,
)


def models_of(names: Names, units: Collection[str]) -> list[str]:
    """The models all of whose units are among some."""
    carried: dict[str, set[str]] = {}
    of_model = select(Model.code, ModelUnit.unit_id).join(ModelUnit, ModelUnit.model_id == Model.id)
    for code, unit in names.session.execute(of_model):
        carried.setdefault(code, set()).add(names.units[unit])
    return [code for code, codes in carried.items() if codes <= set(units)]


def cars_of(names: Names, models: Collection[str]) -> list[str]:
    """The cars of some models, by the key of the registration."""
    cars = select(Vehicle.registration_key, Model.code).join(Model, Vehicle.model_id == Model.id)
    return [key for key, model in names.session.execute(cars) if model in models]


def model_entries(names: Names, codes: Collection[str]) -> Iterator[Entry]:
    """Some models, by code."""
    models = [
        model
        for some in chunks(sorted(codes))
        for model in names.session.scalars(select(Model).where(Model.code.in_(some)))
    ]
    carried = names.rows_of(ModelUnit, "model_id", [one.id for one in models], "seq")
    fluids = names.rows_of(ModelFluid, "model_id", [one.id for one in models])
    for model in sorted(models, key=lambda one: natural_key(one.code)):
        yield entry(
            code=model.code,
            name=model.name,
            fluids=_fluids(names, fluids, model.id),
            units=[names.units[row.unit_id] for row in carried.get(model.id, ())],
        )


def _fluids(names: Names, rows: Mapping[int, Sequence[Any]], key: int) -> list[Entry]:
    found = [
        entry(
            fluid=names.fluids[row.fluid_id],
            medium=row.medium,
            lubricant=None if row.lubricant_id is None else names.items[row.lubricant_id],
            reference=row.reference,
        )
        for row in rows.get(key, ())
    ]
    return sorted(found, key=lambda one: str(one["fluid"]))


def car_entries(names: Names, keys_of: Collection[str]) -> Iterator[Entry]:
    """Some cars, by the key of the registration: what is known, and nothing of their owners."""
    codes = dict(names.session.execute(select(Model.id, Model.code)).all())
    cars = [
        car
        for some in chunks(sorted(keys_of))
        for car in names.session.scalars(
            select(Vehicle)
            .where(Vehicle.registration_key.in_(some))
            .order_by(Vehicle.registration_key)
        )
    ]
    keys = [car.id for car in cars]
    fluids = names.rows_of(VehicleFluid, "vehicle_id", keys)
    equipment = names.rows_of(Equipment, "vehicle_id", keys, "code")
    units = names.rows_of(VehicleUnit, "vehicle_id", keys, "seq")
    settled = names.rows_of(SettledVariant, "vehicle_id", keys)
    history = names.rows_of(Removal, "vehicle_id", keys, "on_date", "joint_id", "position")
    for car in cars:
        weight = None
        if car.weight is not None and car.weight_is is not None:
            weight = str(CarWeight(car.weight, car.weight_is))
        yield entry(
            registration=car.registration,
            model=codes[car.model_id],
            vin=car.vin,
            build_date=car.build_date,
            weight=weight,
            fluids=_fluids(names, fluids, car.id),
            equipment={row.code: row.present for row in equipment.get(car.id, ())},
            units=[names.units[row.unit_id] for row in units.get(car.id, ())],
            settled=dict(sorted(_settled(names, row) for row in settled.get(car.id, ()))),
            history=[
                entry(
                    joint="/".join(names.joints[row.joint_id]),
                    position=row.position,
                    on=row.on_date,
                    outcome=str(row.outcome),
                )
                for row in history.get(car.id, ())
            ],
        )


def _settled(names: Names, row: SettledVariant) -> tuple[str, str]:
    split, _, option = (names.options[row.option_id] or "").partition("/")
    return f"{names.units_of_splits[row.split_id]}/{split}", option
