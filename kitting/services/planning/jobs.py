"""Cars: what the catalogue offers for one, and recording what was seen at it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.planning.access import access
from kitting.services.planning.read_car import read_car
from kitting.services.planning.read_work import read_work
from kitting.services.planning.splits import split_codes
from kitting.tables.vehicles import Model, Vehicle
from kitting.views.plan import JobView


@dataclass(frozen=True, slots=True)
class CarListing:
    """A car of the catalogue."""

    registration: str
    model: str
    build_date: date | None


def list_cars(session: Session) -> tuple[CarListing, ...]:
    """Every car of the catalogue, by registration."""
    rows = session.execute(
        select(Vehicle.registration, Model.name, Vehicle.build_date)
        .join(Model, Vehicle.model_id == Model.id)
        .order_by(Vehicle.registration_key)
    )
    return tuple(CarListing(*row) for row in rows)


def list_jobs(session: Session, registration: str, on: date) -> tuple[JobView, ...]:
    """The jobs described for a car's units, with the hours each takes alone.

    Steps that wait for an open split are in no hours; the job is then stopped by it.
    """
    car = read_car(session, registration, on)
    work = read_work(session, car)
    alone = {job.key: access(work.nodes, {job.code: job.needs}) for job in work.jobs}
    return tuple(
        JobView(
            code=job.code,
            name=job.name,
            unit=car.unit(job.unit).code,
            hours=alone[job.key].total,
            needs=tuple(work.steps[step].code for step in job.needs),
            stopped_by=split_codes(car.splits, alone[job.key].step_waits.values()),
        )
        for job in work.jobs
    )
