"""Reading the work that is described for a car's units: steps, jobs, what they need and open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Integer, String, Text, select, union_all
from sqlalchemy.orm import Session

from kitting.calc.planning.access import JointOpening, StepNode
from kitting.errors import UnknownNameError
from kitting.services.planning.facts import Car
from kitting.services.planning.rows import among, branch, read_rows
from kitting.services.planning.splits import Options
from kitting.services.planning.work_facts import (
    JobFacts,
    LicenceFacts,
    RenewalFacts,
    ServiceFacts,
    StepFacts,
    Work,
)
from kitting.tables.vocabulary import Licence
from kitting.tables.work import (
    Job,
    JobNeed,
    JobRenewal,
    JobService,
    Opening,
    Step,
    StepNeed,
    StepOption,
)

_step, _job, _service = Step.__table__.c, Job.__table__.c, JobService.__table__.c
_step_need, _job_need, _opening = (
    StepNeed.__table__.c, JobNeed.__table__.c, Opening.__table__.c,
)  # fmt: skip
_licence, _renewal = Licence.__table__.c, JobRenewal.__table__.c
_step_option = StepOption.__table__.c
_OF_STEPS, _OF_JOBS = among(_step.unit_id, "units"), among(_job.unit_id, "units")
_services = JobService.__table__.join(Job.__table__, _service.job_id == _job.id)

_WORK_COLUMNS = {
    "key": Integer, "unit": Integer, "code": String, "name": String, "seq": Integer,
    "hours": Integer, "timing": Text, "licence": Integer, "option": Integer,
}  # fmt: skip
_described = union_all(
    branch(
        "step", _WORK_COLUMNS, key=_step.id, unit=_step.unit_id, code=_step.code, name=_step.name,
        seq=_step.seq, hours=_step.hours, licence=_step.licence_id, option=_step_option.option_id,
    ).select_from(Step.__table__.outerjoin(StepOption.__table__, _step_option.step_id == _step.id))
    .where(_OF_STEPS),
    branch(
        "job", _WORK_COLUMNS, key=_job.id, unit=_job.unit_id, code=_job.code, name=_job.name,
        seq=_job.seq,
    ).where(_OF_JOBS),
    branch(
        "service", _WORK_COLUMNS, key=_service.job_id, name=_service.name, timing=_service.timing,
        licence=_service.licence_id, option=_service.option_id,
    ).select_from(_services).where(_OF_JOBS),
).subquery("described")  # fmt: skip
_WORK = select(
    _described, _licence.code.label("licence_code"), _licence.name.label("licence_name"),
    _licence.text.label("licence_text"),
).outerjoin(Licence.__table__, _described.c.licence == _licence.id)  # fmt: skip

_LINK_COLUMNS = {
    "owner": Integer, "code": String, "joint": Integer, "times": Integer, "reopened": Integer,
    "kind": Integer, "item": Integer, "seq": Integer,
}  # fmt: skip
_LINKS = union_all(
    branch("step", _LINK_COLUMNS, owner=_step_need.step_id, code=_step_need.code)
    .select_from(StepNeed.__table__.join(Step.__table__, _step_need.step_id == _step.id))
    .where(_OF_STEPS),
    branch("job", _LINK_COLUMNS, owner=_job_need.job_id, code=_job_need.code)
    .select_from(JobNeed.__table__.join(Job.__table__, _job_need.job_id == _job.id))
    .where(_OF_JOBS),
    branch(
        "opening", _LINK_COLUMNS, owner=_opening.step_id, joint=_opening.joint_id,
        times=_opening.times, reopened=_opening.reopened,
    ).select_from(Opening.__table__.join(Step.__table__, _opening.step_id == _step.id))
    .where(_OF_STEPS),
    branch(
        "renewal", _LINK_COLUMNS, owner=_renewal.job_id, code=_renewal.position,
        joint=_renewal.joint_id, kind=_renewal.kind_id, item=_renewal.item_id, seq=_renewal.seq,
    ).select_from(JobRenewal.__table__.join(Job.__table__, _renewal.job_id == _job.id))
    .where(_OF_JOBS),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Places:
    """Where steps are described: code → unit → step key; those that this car may ask for."""

    by_code: Mapping[str, Mapping[int, int]]
    unit_codes: Mapping[int, str]
    possible: Container[int]

    def find(self, code: str, own: int) -> int | None:
        """The step a code means, seen from a unit: its own first, then the car's other units."""
        in_units = self.by_code.get(code, {})
        if own in in_units:
            return in_units[own]
        if len(in_units) > 1:
            where = ", ".join(sorted(f"{self.unit_codes[unit]}/{code}" for unit in in_units))
            raise UnknownNameError(
                "step {code!r} is described by more than one unit of this car ({where}), and not"
                " by {unit_codes!r} which needs it. Give these steps different codes",
                code=code,
                where=where,
                unit_codes=self.unit_codes[own],
            )
        return next(iter(in_units.values()), None)

    def needed(self, codes: Iterable[str], own: int) -> tuple[list[int], list[str]]:
        """The steps of some codes that this car may ask for, and the codes that no unit has."""
        found = {code: self.find(code, own) for code in codes}
        keys = [key for key in found.values() if key is not None and key in self.possible]
        return keys, [code for code, key in found.items() if key is None]


def read_work(session: Session, car: Car) -> Work:
    """Every step and job of the car's units, needs resolved from codes to steps.

    Steps and services of an option that the car has not are left out.

    In two statements. Raises UnknownNameError for a step that two other units describe.
    """
    connection = session.connection()
    units = {unit.key: unit.code for unit in car.units}
    rank = {unit: place for place, unit in enumerate(units)}
    described = read_rows(connection, _WORK, units=units)
    links = read_rows(connection, _LINKS, units=units)
    options, rows = Options(car), _ordered(described, "step", rank)
    steps = {row.key: _step_facts(row) for row in rows if options.possible(row.option)}
    asked_of = {row.key: options.undecided(row.option) for row in rows}
    by_code: dict[str, dict[int, int]] = defaultdict(dict)
    for row in rows:
        by_code[row.code][row.unit] = row.key
    places = _Places(by_code, units, steps)
    codes: dict[int, list[str]] = defaultdict(list)
    for key, code in sorted((row.owner, row.code) for row in links if row.what == "step"):
        codes[key].append(code)
    needed = {key: places.needed(codes[key], step.unit) for key, step in steps.items()}
    openings: dict[int, list[JointOpening]] = defaultdict(list)
    for row in sorted(
        (row for row in links if row.what == "opening"), key=lambda row: (row.owner, row.joint)
    ):
        openings[row.owner].append(JointOpening(row.joint, row.times, row.reopened))
    nodes = {
        key: StepNode(
            key=key,
            code=step.code,
            hours=step.hours,
            needs=tuple(needed[key][0]),
            opens=tuple(openings.get(key, ())),
            option=asked_of[key],
        )
        for key, step in steps.items()
    }
    services = _services_of(described, options)
    jobs = _jobs(_ordered(described, "job", rank), services, links, places)
    missing = {key: tuple(lacking) for key, (_, lacking) in needed.items() if lacking}
    return Work(steps, nodes, jobs, missing)


def _ordered(rows: Sequence[Any], what: str, rank: Mapping[int, int]) -> list[Any]:
    """Rows of one sort in the order of the car's units, then of the catalogue."""
    return sorted((row for row in rows if row.what == what), key=lambda r: (rank[r.unit], r.seq))


def _step_facts(row: Any) -> StepFacts:
    return StepFacts(row.key, row.unit, row.code, row.name, row.hours, _licence_facts(row))


def _licence_facts(row: Any) -> LicenceFacts | None:
    if row.licence is None:
        return None
    return LicenceFacts(row.licence_code, row.licence_name, row.licence_text)


def _services_of(described: Sequence[Any], options: Options) -> Mapping[int, list[ServiceFacts]]:
    """Work from outside by job, by name."""
    found: dict[int, list[ServiceFacts]] = defaultdict(list)
    for row in sorted((row for row in described if row.what == "service"), key=lambda r: r.name):
        if options.possible(row.option):
            undecided = options.undecided(row.option)
            found[row.key].append(
                ServiceFacts(row.name, row.timing, _licence_facts(row), undecided)
            )
    return found


def _jobs(
    rows: Sequence[Any],
    services: Mapping[int, list[ServiceFacts]],
    links: Sequence[Any],
    places: _Places,
) -> tuple[JobFacts, ...]:
    needs: dict[int, list[str]] = defaultdict(list)
    for job, code in sorted((row.owner, row.code) for row in links if row.what == "job"):
        needs[job].append(code)
    renewals: dict[int, list[RenewalFacts]] = defaultdict(list)
    for row in sorted((row for row in links if row.what == "renewal"), key=lambda row: row.seq):
        renewals[row.owner].append(RenewalFacts(row.kind, row.item, row.joint, row.code))
    jobs = []
    for row in rows:
        found, lacking = places.needed(needs[row.key], row.unit)
        jobs.append(
            JobFacts(
                key=row.key,
                unit=row.unit,
                code=row.code,
                name=row.name,
                needs=tuple(found),
                services=tuple(services.get(row.key, ())),
                missing=tuple(lacking),
                renews=tuple(renewals[row.key]),
            )
        )
    return tuple(jobs)
