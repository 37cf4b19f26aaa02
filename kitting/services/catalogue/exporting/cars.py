"""Models and cars as entries."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import select

from kitting.facts.names import natural_key
from kitting.facts.weights import CarWeight
from kitting.services.catalogue.exporting.entries import Entry, Names, entry
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


def model_entries(names: Names, units: Collection[str]) -> Iterator[Entry]:
    """The models all of whose units are among some."""
    models = names.session.scalars(select(Model)).all()
    carried = names.rows_of(ModelUnit, "model_id", [one.id for one in models], "seq")
    fluids = names.rows_of(ModelFluid, "model_id", [one.id for one in models])
    for model in sorted(models, key=lambda one: natural_key(one.code)):
        codes = [names.units[row.unit_id] for row in carried.get(model.id, ())]
        if codes and set(codes) <= set(units):
            yield entry(
                code=model.code,
                name=model.name,
                fluids=_fluids(names, fluids, model.id),
                units=codes,
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


def car_entries(names: Names, models: Collection[str]) -> Iterator[Entry]:
    """The cars of some models: what is known of them, and nothing of their owners."""
    codes = dict(names.session.execute(select(Model.id, Model.code)).all())
    cars = [
        car
        for car in names.session.scalars(select(Vehicle).order_by(Vehicle.registration_key))
        if codes[car.model_id] in models
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
