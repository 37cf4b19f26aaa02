"""Cars: what the catalogue offers for one, and recording what was seen at it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.calc.access import access
from kitting.services.drafting import find_option, find_split
from kitting.services.reading_car import read_car, read_work
from kitting.store import writing
from kitting.tables.vehicles import Model, SettledVariant, Vehicle
from kitting.views import JobView


@dataclass(frozen=True, slots=True)
class CarListing:
    """A car of the catalogue."""

    registration: str
    model: str
    build_date: date | None


@dataclass(frozen=True, slots=True)
class Settling:
    """What was recorded: the split, its option now and the one before (None: first time)."""

    split: str
    option: str
    before: str | None


def list_cars(session: Session) -> tuple[CarListing, ...]:
    """Every car of the catalogue, by registration."""
    rows = session.execute(
        select(Vehicle.registration, Model.name, Vehicle.build_date)
        .join(Model, Vehicle.model_id == Model.id)
        .order_by(Vehicle.registration_key)
    )
    return tuple(CarListing(*row) for row in rows)


def list_jobs(session: Session, registration: str, on: date) -> tuple[JobView, ...]:
    """The jobs described for a car's units, with the hours each takes alone."""
    car = read_car(session, registration, on)
    work = read_work(session, car)
    return tuple(
        JobView(
            job.code,
            job.name,
            car.unit(job.unit).code,
            access(work.nodes, {job.code: job.needs}).total,
            tuple(work.steps[step].code for step in job.needs),
            (),
        )
        for job in work.jobs
    )


def settle_variant(
    engine: Engine, registration: str, split: str, option: str, dry_run: bool = False
) -> Settling:
    """Record which option of a split was seen at a car; `dry_run` does everything but keep it.

    Raises UnknownNameError for a car, split or option that the catalogue lacks.
    """
    with writing(engine) as session:
        car = read_car(session, registration, date.max)
        facts = find_split(car, split)
        chosen = find_option(facts, option)
        codes = {known.key: known.code for known in facts.options}
        before = session.get(SettledVariant, (car.key, facts.key))
        result = Settling(facts.code, option, codes[before.option_id] if before else None)
        if before is None:
            session.add(SettledVariant(vehicle_id=car.key, split_id=facts.key, option_id=chosen))
        else:
            before.option_id = chosen
        session.flush()
        if not dry_run:
            session.commit()
    return result
