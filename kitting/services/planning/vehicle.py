"""Reading one car: what it is, what is known of it, and the work described for its units.

Every function sends a fixed number of statements, whatever the size of the catalogue.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.planning.access import JointOpening, StepNode
from kitting.calc.planning.variants import CarFacts, OptionFacts, SplitFacts
from kitting.errors import UnknownNameError
from kitting.facts.names import nearest
from kitting.tables.units import Split, SplitOption, Unit
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
from kitting.tables.vocabulary import Fluid, Licence
from kitting.tables.work import Job, JobNeed, JobService, Opening, Step, StepNeed


@dataclass(frozen=True, slots=True)
class CarFluid:
    """What a fluid is on a car, the item that its rings are assembled with, and who says so."""

    medium: str
    lubricant: int | None
    reference: str


@dataclass(frozen=True, slots=True)
class UnitFacts:
    """A unit that the car carries."""

    key: int
    code: str
    name: str


@dataclass(frozen=True, slots=True)
class Car:
    """A car with its units in order, its variant splits and what is known of it."""

    key: int
    registration: str
    model: str
    vin: str | None
    build_date: date | None
    units: tuple[UnitFacts, ...]
    splits: tuple[SplitFacts, ...]
    facts: CarFacts
    refits: Mapping[tuple[int, str], int]
    fluids: Mapping[str, CarFluid]

    def unit(self, key: int) -> UnitFacts:
        """The unit with a key."""
        return next(unit for unit in self.units if unit.key == key)


@dataclass(frozen=True, slots=True)
class StepFacts:
    """What a step is called and asks for beside joints."""

    key: int
    unit: int
    code: str
    name: str
    hours: int
    licence: tuple[str, str, str] | None


@dataclass(frozen=True, slots=True)
class ServiceFacts:
    """Work from outside that a job asks for."""

    name: str
    timing: str
    licence: tuple[str, str, str] | None


@dataclass(frozen=True, slots=True)
class JobFacts:
    """A job described for one of the car's units; `needs` are step keys."""

    key: int
    unit: int
    code: str
    name: str
    needs: tuple[int, ...]
    services: tuple[ServiceFacts, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Work:
    """All steps and jobs of the car's units. `missing`: step codes that no unit of it has."""

    steps: Mapping[int, StepFacts]
    nodes: Mapping[int, StepNode]
    jobs: tuple[JobFacts, ...]
    missing: Mapping[int, tuple[str, ...]]


def registration_key(registration: str) -> str:
    """A registration as it is compared: capitals, no spaces or hyphens."""
    return "".join(registration.split()).replace("-", "").upper()


def read_car(session: Session, registration: str, on: date) -> Car:
    """The car with a registration, its history up to the fitting date.

    Raises UnknownNameError naming the nearest registrations.
    """
    row = session.execute(
        select(Vehicle, Model.name)
        .join(Model)
        .where(Vehicle.registration_key == registration_key(registration))
    ).one_or_none()
    if row is None:
        known = list(session.scalars(select(Vehicle.registration)))
        raise UnknownNameError(_unknown("vehicle", registration, known))
    vehicle, model_name = row
    units = _read_units(session, vehicle)
    unit_keys = [unit.key for unit in units]
    equipment = session.execute(
        select(Equipment.code, Equipment.present).where(Equipment.vehicle_id == vehicle.id)
    ).all()
    settled = session.execute(
        select(SettledVariant.split_id, SettledVariant.option_id).where(
            SettledVariant.vehicle_id == vehicle.id
        )
    ).all()
    return Car(
        key=vehicle.id,
        registration=vehicle.registration,
        model=model_name,
        vin=vehicle.vin,
        build_date=vehicle.build_date,
        units=units,
        splits=_read_splits(session, unit_keys),
        facts=CarFacts(
            vehicle.build_date,
            dict(equipment),
            dict(settled),
        ),
        refits=_read_refits(session, vehicle.id, on),
        fluids=_read_fluids(session, vehicle),
    )


def _read_fluids(session: Session, vehicle: Vehicle) -> dict[str, CarFluid]:
    """What the model says of fluids, and after it what is said of this very car."""
    of_model = (
        select(Fluid.code, ModelFluid.medium, ModelFluid.lubricant_id, ModelFluid.reference)
        .join(Fluid, ModelFluid.fluid_id == Fluid.id)
        .where(ModelFluid.model_id == vehicle.model_id)
    )
    own = (
        select(Fluid.code, VehicleFluid.medium, VehicleFluid.lubricant_id, VehicleFluid.reference)
        .join(Fluid, VehicleFluid.fluid_id == Fluid.id)
        .where(VehicleFluid.vehicle_id == vehicle.id)
    )
    rows = [*session.execute(of_model), *session.execute(own)]
    return {code: CarFluid(*said) for code, *said in rows}


def _unknown(what: str, name: str, known: Sequence[str]) -> str:
    near = nearest(name, known)
    hint = f"Did you mean {' or '.join(near)}?" if near else f"Load it first, then name it ({what})"
    return f"no {what} {name!r} in the catalogue. {hint}"


def _read_units(session: Session, vehicle: Vehicle) -> tuple[UnitFacts, ...]:
    own = session.execute(
        select(Unit.id, Unit.code, Unit.name)
        .join(VehicleUnit, VehicleUnit.unit_id == Unit.id)
        .where(VehicleUnit.vehicle_id == vehicle.id)
        .order_by(VehicleUnit.seq)
    ).all()
    of_model = session.execute(
        select(Unit.id, Unit.code, Unit.name)
        .join(ModelUnit, ModelUnit.unit_id == Unit.id)
        .where(ModelUnit.model_id == vehicle.model_id)
        .order_by(ModelUnit.seq)
    ).all()
    return tuple(UnitFacts(key, code, name) for key, code, name in own or of_model)


def _read_splits(session: Session, units: Sequence[int]) -> tuple[SplitFacts, ...]:
    options: dict[int, list[OptionFacts]] = {}
    splits: dict[int, Split] = {}
    rows = session.execute(
        select(Split, SplitOption)
        .join(SplitOption, SplitOption.split_id == Split.id)
        .where(Split.unit_id.in_(units))
        .order_by(Split.id, SplitOption.seq)
    )
    for split, option in rows:
        splits[split.id] = split
        options.setdefault(split.id, []).append(
            OptionFacts(
                option.id,
                option.code,
                option.name,
                option.built_from,
                option.built_before,
                option.equipment,
                option.without,
                option.seen,
            )
        )
    return tuple(
        SplitFacts(
            key, split.unit_id, split.code, split.question, split.check_text, tuple(options[key])
        )
        for key, split in splits.items()
    )


def _read_refits(session: Session, vehicle: int, on: date) -> dict[tuple[int, str], int]:
    rows = session.execute(
        select(Removal.joint_id, Removal.position, Removal.outcome)
        .where(Removal.vehicle_id == vehicle, Removal.on_date < on)
        .order_by(Removal.on_date)
    )
    refits: dict[tuple[int, str], int] = {}
    for joint, position, outcome in rows:
        place = (joint, position)
        refits[place] = 0 if outcome == "renewed" else refits.get(place, 0) + 1
    return refits


def read_work(session: Session, car: Car) -> Work:
    """Every step and job of the car's units, needs resolved from codes to steps."""
    units = [unit.key for unit in car.units]
    steps, places = _read_steps(session, units)
    needs = session.execute(
        select(StepNeed.step_id, StepNeed.code)
        .join(Step, StepNeed.step_id == Step.id)
        .where(Step.unit_id.in_(units))
    ).all()
    openings: dict[int, list[JointOpening]] = {}
    for step, joint, times, reopened in session.execute(
        select(Opening.step_id, Opening.joint_id, Opening.times, Opening.reopened)
        .join(Step, Opening.step_id == Step.id)
        .where(Step.unit_id.in_(units))
        .order_by(Opening.step_id, Opening.joint_id)
    ):
        openings.setdefault(step, []).append(JointOpening(joint, times, reopened))
    found: dict[int, list[int]] = {}
    missing: dict[int, list[str]] = {}
    for step, code in sorted(needs):
        needed = places.find(code, steps[step].unit)
        if needed is None:
            missing.setdefault(step, []).append(code)
        else:
            found.setdefault(step, []).append(needed)
    nodes = {
        key: StepNode(
            key, step.code, step.hours, tuple(found.get(key, ())), tuple(openings.get(key, ()))
        )
        for key, step in steps.items()
    }
    jobs = _read_jobs(session, units, places)
    return Work(steps, nodes, jobs, {key: tuple(codes) for key, codes in missing.items()})


@dataclass(frozen=True, slots=True)
class _Places:
    """Where steps stand: code → unit → step key."""

    by_code: Mapping[str, Mapping[int, int]]
    unit_codes: Mapping[int, str]

    def find(self, code: str, own: int) -> int | None:
        """The step a code means, seen from a unit: its own first, then the car's other units."""
        in_units = self.by_code.get(code, {})
        if own in in_units:
            return in_units[own]
        if len(in_units) > 1:
            where = ", ".join(sorted(f"{self.unit_codes[unit]}/{code}" for unit in in_units))
            raise UnknownNameError(
                f"step {code!r} is described by more than one unit of this car ({where}), and not"
                f" by {self.unit_codes[own]!r} which needs it. Give these steps different codes"
            )
        return next(iter(in_units.values()), None)


def _read_steps(session: Session, units: Sequence[int]) -> tuple[dict[int, StepFacts], _Places]:
    rows = session.execute(
        select(Step, Licence, Unit.code)
        .join(Unit, Step.unit_id == Unit.id)
        .outerjoin(Licence, Step.licence_id == Licence.id)
        .where(Step.unit_id.in_(units))
    ).all()
    rank = {unit: place for place, unit in enumerate(units)}
    rows = sorted(rows, key=lambda row: (rank[row[0].unit_id], row[0].seq))
    steps: dict[int, StepFacts] = {}
    by_code: dict[str, dict[int, int]] = {}
    unit_codes: dict[int, str] = {}
    for step, licence, unit_code in rows:
        steps[step.id] = StepFacts(
            step.id, step.unit_id, step.code, step.name, step.hours, _licence(licence)
        )
        by_code.setdefault(step.code, {})[step.unit_id] = step.id
        unit_codes[step.unit_id] = unit_code
    return steps, _Places(by_code, unit_codes)


def _licence(row: Licence | None) -> tuple[str, str, str] | None:
    return None if row is None else (row.code, row.name, row.text)


def _read_jobs(session: Session, units: Sequence[int], places: _Places) -> tuple[JobFacts, ...]:
    jobs = session.scalars(select(Job).where(Job.unit_id.in_(units))).all()
    rank = {unit: place for place, unit in enumerate(units)}
    needs: dict[int, list[str]] = {}
    for job, code in session.execute(
        select(JobNeed.job_id, JobNeed.code)
        .join(Job, JobNeed.job_id == Job.id)
        .where(Job.unit_id.in_(units))
        .order_by(JobNeed.job_id, JobNeed.code)
    ):
        needs.setdefault(job, []).append(code)
    services: dict[int, list[ServiceFacts]] = {}
    for service, licence in session.execute(
        select(JobService, Licence)
        .join(Job, JobService.job_id == Job.id)
        .outerjoin(Licence, JobService.licence_id == Licence.id)
        .where(Job.unit_id.in_(units))
        .order_by(JobService.job_id, JobService.name)
    ):
        services.setdefault(service.job_id, []).append(
            ServiceFacts(service.name, service.timing, _licence(licence))
        )
    return tuple(
        _job_facts(job, needs.get(job.id, ()), services.get(job.id, ()), places)
        for job in sorted(jobs, key=lambda job: (rank[job.unit_id], job.seq))
    )


def _job_facts(
    job: Job, codes: Iterable[str], services: Iterable[ServiceFacts], places: _Places
) -> JobFacts:
    found = {code: places.find(code, job.unit_id) for code in codes}
    return JobFacts(
        job.id,
        job.unit_id,
        job.code,
        job.name,
        tuple(key for key in found.values() if key is not None),
        tuple(services),
        tuple(code for code, key in found.items() if key is None),
    )


def choose_jobs(car: Car, work: Work, asked: Sequence[str]) -> tuple[JobFacts, ...]:
    """The jobs that somebody asked for by CODE or UNIT/CODE, each once, in natural order.

    Raises UnknownNameError for a job that no unit of this car has, or that two units have.
    """
    unit_code = {unit.key: unit.code for unit in car.units}
    chosen: dict[int, JobFacts] = {}
    for name in asked:
        unit, _, code = name.rpartition("/")
        folded = code.casefold()
        found = [
            job
            for job in work.jobs
            if job.code.casefold() == folded and unit in ("", unit_code[job.unit])
        ]
        if len(found) > 1:
            full = " or ".join(f"{unit_code[job.unit]}/{job.code}" for job in found)
            raise UnknownNameError(f"job {name!r} is described by more than one unit. Say {full}")
        if not found:
            raise UnknownNameError(_unknown_job(car, work, name))
        chosen[found[0].key] = found[0]
    order = [job.key for job in work.jobs]
    return tuple(sorted(chosen.values(), key=lambda job: order.index(job.key)))


def _unknown_job(car: Car, work: Work, name: str) -> str:
    codes = [job.code for job in work.jobs]
    near = nearest(name, codes) or codes[:8]
    known = (
        f"Known for this car: {', '.join(near)}" if near else "No job is described for its units"
    )
    return f"no job {name!r} for {car.registration} ({car.model}). {known}"
