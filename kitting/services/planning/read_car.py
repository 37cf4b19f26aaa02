"""Reading one car: what it is, what it carries, and everything that is known of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from sqlalchemy import (
    Connection,
    Date,
    Integer,
    String,
    Text,
    bindparam,
    cast,
    null,
    select,
    union_all,
)
from sqlalchemy.orm import Session

from kitting.calc.planning.variants import OptionFacts, SplitFacts
from kitting.errors import UnknownNameError
from kitting.facts.conditions import COLUMNS, CarFacts, conditions_of_row
from kitting.facts.names import natural_key, nearest
from kitting.facts.words import RefitOutcome, SettledBy
from kitting.services.lookup import lookup
from kitting.services.planning.facts import Car, CarFluid, UnitFacts
from kitting.services.planning.rows import among, branch, read_rows
from kitting.services.planning.taken_from import taken_from
from kitting.tables.units import Split, SplitOption, Unit
from kitting.tables.vehicles import (
    Equipment,
    Model,
    ModelFluid,
    ModelUnit,
    Refit,
    Removal,
    SettledVariant,
    Vehicle,
    VehicleFluid,
    VehicleUnit,
)
from kitting.tables.vocabulary import Fluid

_vehicle, _model, _unit = Vehicle.__table__.c, Model.__table__.c, Unit.__table__.c
_own_unit, _model_unit = VehicleUnit.__table__.c, ModelUnit.__table__.c
_fluid, _own_fluid, _model_fluid = (
    Fluid.__table__.c, VehicleFluid.__table__.c, ModelFluid.__table__.c,
)  # fmt: skip
_equipment, _settled, _removal, _refit = (
    Equipment.__table__.c, SettledVariant.__table__.c, Removal.__table__.c, Refit.__table__.c,
)  # fmt: skip
_split, _option = Split.__table__.c, SplitOption.__table__.c
_IDENTITY = (
    _vehicle.id, _vehicle.model_id, _vehicle.registration, _vehicle.vin, _vehicle.build_date,
    _model.name,
)  # fmt: skip
_UNIT = (
    _unit.id.label("unit_key"), _unit.code.label("unit_code"), _unit.name.label("unit_name"),
    taken_from(_unit.code).label("taken_from"),
)  # fmt: skip
_cars = Vehicle.__table__.join(Model.__table__, _vehicle.model_id == _model.id)
_BY_REGISTRATION = _vehicle.registration_key == bindparam("registration")

# A car once for each unit of its own, and once for each unit of its model (at least once).
_CAR = union_all(
    select(*_IDENTITY, *_UNIT, _own_unit.seq, _own_unit.vehicle_id.label("own"))
    .select_from(
        _cars.join(VehicleUnit.__table__, _own_unit.vehicle_id == _vehicle.id).join(
            Unit.__table__, _own_unit.unit_id == _unit.id
        )
    )
    .where(_BY_REGISTRATION),
    select(*_IDENTITY, *_UNIT, _model_unit.seq, cast(null(), Integer))
    .select_from(
        _cars.outerjoin(ModelUnit.__table__, _model_unit.model_id == _vehicle.model_id).outerjoin(
            Unit.__table__, _model_unit.unit_id == _unit.id
        )
    )
    .where(_BY_REGISTRATION),
)
_REGISTRATIONS = select(_vehicle.registration)

_KNOWN_COLUMNS = {
    "number": Integer, "other": Integer, "word": String, "text": Text, "more": Text, "day": Date,
    "seq": Integer,
}  # fmt: skip
_OF_CAR, _OF_MODEL = bindparam("vehicle", type_=Integer), bindparam("model", type_=Integer)
# Fluids of the model come before those of the car, which replace them.
_KNOWN = union_all(
    branch(
        "equipment", _KNOWN_COLUMNS, word=_equipment.code, number=cast(_equipment.present, Integer)
    ).where(_equipment.vehicle_id == _OF_CAR),
    branch(
        "settled", _KNOWN_COLUMNS, number=_settled.split_id, other=_settled.option_id
    ).where(_settled.vehicle_id == _OF_CAR),
    branch(
        "fluid of model", _KNOWN_COLUMNS, word=_fluid.code, text=_model_fluid.medium,
        number=_model_fluid.lubricant_id, more=_model_fluid.reference,
    ).select_from(
        ModelFluid.__table__.join(Fluid.__table__, _model_fluid.fluid_id == _fluid.id)
    ).where(_model_fluid.model_id == _OF_MODEL),
    branch(
        "fluid of car", _KNOWN_COLUMNS, word=_fluid.code, text=_own_fluid.medium,
        number=_own_fluid.lubricant_id, more=_own_fluid.reference,
    ).select_from(
        VehicleFluid.__table__.join(Fluid.__table__, _own_fluid.fluid_id == _fluid.id)
    ).where(_own_fluid.vehicle_id == _OF_CAR),
    branch(
        "removal", _KNOWN_COLUMNS, number=_removal.joint_id, word=_removal.position,
        text=_removal.outcome, day=_removal.on_date,
    ).where(_removal.vehicle_id == _OF_CAR, _removal.on_date < bindparam("on", type_=Date)),
    # What was closed has happened, also on the day itself.
    branch(
        "removal", _KNOWN_COLUMNS, number=_refit.joint_id, other=_refit.times,
        word=_refit.position, text=_refit.outcome, day=_refit.on_date, more=_refit.booking,
        seq=_refit.correction,
    ).where(_refit.vehicle_id == _OF_CAR, _refit.on_date <= bindparam("on", type_=Date)),
)  # fmt: skip

_MODELS = select(_model.id, _model.code, _model.name).order_by(_model.code)
_UNITS_OF_MODEL = (
    select(*_UNIT)
    .select_from(ModelUnit.__table__.join(Unit.__table__, _model_unit.unit_id == _unit.id))
    .where(_model_unit.model_id == bindparam("model"))
    .order_by(_model_unit.seq)
)
_FLUIDS_OF_MODEL = (
    select(
        _fluid.code.label("word"), _model_fluid.medium.label("text"),
        _model_fluid.lubricant_id.label("number"), _model_fluid.reference.label("more"),
    )
    .select_from(ModelFluid.__table__.join(Fluid.__table__, _model_fluid.fluid_id == _fluid.id))
    .where(_model_fluid.model_id == bindparam("model"))
)  # fmt: skip

_SPLITS = (
    select(
        _split.id, _split.unit_id, _split.code, _split.question, _split.check_text,
        _split.settled_by,
        _option.id.label("option"), _option.code.label("option_code"),
        _option.name.label("option_name"), _option.seen,
        *(_option[name] for name in COLUMNS),
    )
    .join(SplitOption.__table__, _option.split_id == _split.id)
    .where(among(_split.unit_id, "units"))
    .order_by(_split.id, _option.seq)
)  # fmt: skip


def registration_key(registration: str) -> str:
    """A registration as it is compared: capitals, no spaces or hyphens."""
    return "".join(registration.split()).replace("-", "").upper()


def read_car(session: Session, registration: str, on: date) -> Car:
    """The car with a registration, its history up to the fitting date, in three statements.

    Raises UnknownNameError naming the nearest registrations.
    """
    connection = session.connection()
    rows = connection.execute(_CAR, {"registration": registration_key(registration)}).all()
    if not rows:
        raise _unknown_car(connection, registration)
    key, model, plate, vin, built, name = rows[0][:6]
    units = _units(rows)
    splits = _read_splits(connection, [unit.key for unit in units])
    chosen = {split.key for split in splits if split.by_customer}
    known = connection.execute(_KNOWN, {"vehicle": key, "model": model, "on": on}).all()
    return Car(
        key=key,
        registration=plate,
        model=name,
        vin=vin,
        build_date=built,
        units=units,
        splits=splits,
        facts=CarFacts(
            build_date=built,
            equipment={r.word: bool(r.number) for r in known if r.what == "equipment"},
            # What was seen before it became the customer's to choose settles nothing any more.
            settled={
                r.number: r.other for r in known if r.what == "settled" and r.number not in chosen
            },
        ),
        refits=refits_of(r for r in known if r.what == "removal"),
        fluids={
            r.word: CarFluid(r.text, r.number, r.more)
            for whose in ("fluid of model", "fluid of car")
            for r in known
            if r.what == whose
        },
    )


def read_model(session: Session, code: str) -> Car:
    """A car of a model of which nothing else is known, in four statements: no car that is stored.

    Raises UnknownNameError naming the nearest models.
    """
    connection = session.connection()
    models = {row.code: row for row in connection.execute(_MODELS)}
    model = lookup("model", code, models, "Describe it in a file")
    rows = connection.execute(_UNITS_OF_MODEL, {"model": model.id}).all()
    units = tuple(map(_unit_facts, rows))
    fluids = connection.execute(_FLUIDS_OF_MODEL, {"model": model.id})
    return Car(
        key=0,
        registration="",
        model=model.name,
        vin=None,
        build_date=None,
        units=units,
        splits=_read_splits(connection, [unit.key for unit in units]),
        facts=CarFacts(build_date=None, equipment={}, settled={}),
        refits={},
        fluids={r.word: CarFluid(r.text, r.number, r.more) for r in fluids},
    )


def _unknown_car(connection: Connection, registration: str) -> UnknownNameError:
    known = connection.execute(_REGISTRATIONS).scalars().all()
    step = near_registration(registration, known, "Load it first, then name it (vehicle)")
    return UnknownNameError(
        "no vehicle {registration!r} in the catalogue. {step}", registration=registration, step=step
    )


def near_registration(registration: str, known: Iterable[str], otherwise: str) -> str:
    """ "Did you mean …?" with registrations like one, whose numbers only count; else what to do."""
    near = nearest(registration, known, loosely=True)
    return f"Did you mean {' or '.join(near)}?" if near else otherwise


def _units(rows: Sequence[Any]) -> tuple[UnitFacts, ...]:
    """The car's own units, or those of its model where it has none, in order."""
    own = [row for row in rows if row.own is not None]
    carried = (row for row in own or rows if row.unit_key is not None)
    return tuple(map(_unit_facts, sorted(carried, key=lambda row: row.seq)))


def _unit_facts(row: Any) -> UnitFacts:
    return UnitFacts(row.unit_key, row.unit_code, row.unit_name, row.taken_from)


def _read_splits(connection: Connection, units: Sequence[int]) -> tuple[SplitFacts, ...]:
    options: dict[tuple[Any, ...], list[OptionFacts]] = {}
    for row in read_rows(connection, _SPLITS, units=units):
        options.setdefault(row[:6], []).append(
            OptionFacts(
                key=row.option,
                code=row.option_code,
                name=row.option_name,
                conditions=conditions_of_row(row._mapping),
                seen=row.seen,
            )
        )
    return tuple(
        SplitFacts(key, unit, code, question, check, tuple(found), who is SettledBy.CUSTOMER)
        for (key, unit, code, question, check, who), found in options.items()
    )


def _in_order(row: Any) -> tuple[object, ...]:
    return row.day, natural_key(row.more or ""), row.seq or 0


def refits_of(removals: Iterable[Any]) -> dict[tuple[int, str], int]:
    """How often what sits in a position has gone back: from the day it was renewed last.

    What a closed booking says counts each opening of its joint, those after a renewal too; what
    puts it right comes after it (`more` is the booking, `seq` the number of the correction).
    """
    refits: dict[tuple[int, str], int] = {}
    for row in sorted(removals, key=_in_order):
        place = (row.number, row.word)
        if row.text == RefitOutcome.RENEWED:
            refits[place] = row.other or 0
        else:
            refits[place] = refits.get(place, 0) + (row.other or 1)
    return refits
