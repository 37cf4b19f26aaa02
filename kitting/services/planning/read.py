"""Reading a plan: from names to frozen facts, in a fixed number of statements.

The number does not depend on the size of the catalogue or of the plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.planning.access import Access, access
from kitting.calc.planning.consumption import Measured, bead, drops, film, stated
from kitting.calc.planning.needs import UseFacts
from kitting.calc.planning.ways import Ways
from kitting.errors import UnknownNameError
from kitting.facts.conditions import Condition
from kitting.facts.names import nearest
from kitting.services.planning.facts import Car, Contents, ItemFacts, Names, PlanFacts
from kitting.services.planning.read_begun import read_begun
from kitting.services.planning.read_car import read_car, read_model
from kitting.services.planning.read_carried import Carriers, read_carried
from kitting.services.planning.read_items import read_items, read_stated
from kitting.services.planning.read_joints import JointContents, read_joints
from kitting.services.planning.read_work import read_work
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.splits import as_conditions
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.variants import assume
from kitting.services.planning.work_facts import JobFacts, Work


def read_plan(session: Session, request: PlanRequest) -> PlanFacts:
    """Everything that the jobs of a request disturb on its car.

    Raises UnknownNameError for names that the catalogue lacks, CatalogueCycleError for a ring of
    steps.
    """
    car = (
        read_car(session, request.registration, request.on)
        if request.model is None
        else read_model(session, request.model)
    )
    car = assume(car, request.assumed, request.kit.chosen if request.kit else {})
    work = read_work(session, car)
    jobs = choose_jobs(car, work, request.jobs, request.booking)
    return read_jobs(session, car, work, jobs, request.on, request.kit)


def choose_jobs(
    car: Car, work: Work, asked: Sequence[str], booking: str | None = None
) -> tuple[JobFacts, ...]:
    """The jobs that somebody asked for by CODE or UNIT/CODE, each once, in natural order.

    `booking` is the number of the booking that has them on record. Raises UnknownNameError for a
    job that no unit of this car has, or that two units have, with the way to say which.
    """
    unit_code = {unit.key: unit.code for unit in car.units}
    chosen: dict[int, JobFacts] = {}
    for name in asked:
        unit, _, code = name.rpartition("/")
        folded = code.casefold()
        found = [
            job
            for job in work.jobs
            if job.code.casefold() == folded
            and (not unit or unit.casefold() == unit_code[job.unit].casefold())
        ]
        if len(found) > 1:
            full = [f"{unit_code[job.unit]}/{job.code}" for job in found]
            raise _two_jobs(name, full, booking)
        if not found:
            raise _unknown_job(car, work, name)
        chosen[found[0].key] = found[0]
    return tuple(job for job in work.jobs if job.key in chosen)


def _two_jobs(name: str, full: Sequence[str], booking: str | None) -> UnknownNameError:
    which = " or ".join(full)
    if booking is None:
        return UnknownNameError(
            "job {name!r} is described by more than one unit. Say {which}", name=name, which=which
        )
    return UnknownNameError(
        "job {name!r} of {booking} is described by more than one unit by now. Say which it is:"
        " {which}",
        name=name,
        booking=booking,
        which=which,
        then=[next_step(Action.SAY_UNIT, booking=booking, job=name, unit_job=full[0])],
    )


def _unknown_job(car: Car, work: Work, name: str) -> UnknownNameError:
    units = {unit.key: unit.code for unit in car.units}
    codes = list(_jobs_called(units, work, work.jobs).values())
    near = nearest(name, codes, loosely=True) or codes[:8]
    known = (
        f"Known for this car: {', '.join(near)}" if near else "No job is described for its units"
    )
    return UnknownNameError(
        "no job {name!r} for {called} ({model}). {known}",
        name=name,
        called=car.called,
        model=car.model,
        known=known,
    )


def _refuse_missing(car: Car, work: Work, jobs: Sequence[JobFacts], everything: Access) -> None:
    nothing = [job.code for job in jobs if not job.needs and not job.missing]
    if nothing:
        raise UnknownNameError(
            "{called}: job {nothing} is for another variant: none of its steps is done on this"
            " car. Leave it out, or correct what was settled or chosen",
            called=car.called,
            nothing=", ".join(nothing),
        )
    lacking = [(job.code, code) for job in jobs for code in job.missing]
    lacking += [
        (work.steps[key].code, code)
        for key in everything.order
        for code in work.missing.get(key, ())
    ]
    if lacking:
        needs = "; ".join(f"{who} needs step {code}" for who, code in lacking)
        units = ", ".join(unit.code for unit in car.units)
        raise UnknownNameError(
            "{called}: {needs}, which none of its units describes ({units}). Describe the step in"
            " one of them, or give the car the unit that has it",
            called=car.called,
            needs=needs,
            units=units,
        )


def read_jobs(
    session: Session,
    car: Car,
    work: Work,
    jobs: tuple[JobFacts, ...],
    on: date,
    kit: KitRecord | None = None,
) -> PlanFacts:
    """As `read_plan`, for jobs of a car that was read already; `kit` is what a booking settled."""
    units = {unit.key: unit.code for unit in car.units}
    job_names = _jobs_called(units, work, jobs)
    asked = {job_names[job.key]: job.needs for job in jobs}
    everything = access(work.nodes, asked)
    if kit is not None and (begun := read_begun(session, car, work, everything, kit.opened)):
        everything = access(work.nodes, asked, begun)
    _refuse_missing(car, work, jobs, everything)
    contents = _read_contents(session, car, everything, kit.items if kit else frozenset())
    return PlanFacts(
        on=on,
        car=car,
        work=work,
        jobs=jobs,
        names=Names(
            jobs=job_names,
            steps=_called({key: (units[s.unit], s.code) for key, s in work.steps.items()}),
            joints=_called({key: (units[j.unit], j.code) for key, j in contents.joints.items()}),
        ),
        access=everything,
        contents=contents,
    )


def _jobs_called(units: Mapping[int, str], work: Work, jobs: Sequence[JobFacts]) -> dict[int, str]:
    """Jobs by a name that asks for the same job again: UNIT/CODE where two units have the code."""
    count = Counter(job.code.casefold() for job in work.jobs)
    return {
        job.key: job.code if count[job.code.casefold()] == 1 else f"{units[job.unit]}/{job.code}"
        for job in jobs
    }


def _called(entries: Mapping[int, tuple[str, str]]) -> dict[int, str]:
    count = Counter(code for _, code in entries.values())
    return {
        key: code if count[code] == 1 else f"{unit}/{code}" for key, (unit, code) in entries.items()
    }


def _read_contents(session: Session, car: Car, everything: Access, also: Set[int]) -> Contents:
    connection, steps, joints = session.connection(), everything.order, everything.opened.keys()
    here = read_joints(connection, car, joints, steps)
    parts = {fit.item for fit in here.fits}
    parts |= {fit.lubricant for fit in here.fits if fit.lubricant is not None}
    parts |= {fit.car_lubricant.item for fit in here.fits if fit.car_lubricant is not None}
    parts |= {use.item_id for use in here.uses} | also
    items, packets = read_items(connection, parts)
    kinds = {item.kind.key for item in items.values()}
    sources = read_stated(connection, [fit.key for fit in here.fits], items, kinds)
    carriers = Carriers(
        steps=steps,
        joints=joints,
        fluids=[fluid.key for fluid in here.fluids.values()],
        systems=[system.key for system in here.systems.values()],
        kinds=kinds,
        items=items,
    )
    carried = read_carried(connection, carriers)
    waits = everything.joint_waits
    return Contents(
        joints=here.joints,
        fluids=here.fluids,
        systems=here.systems,
        fits=tuple(
            replace(
                fit,
                stated=sources.fits.get(fit.key, ()),
                conditions=(*fit.conditions, *_waits(waits, fit.joint)),
            )
            for fit in here.fits
        ),
        tightenings=here.tightenings,
        uses=tuple(
            replace(
                use,
                conditions=(
                    *use.conditions,
                    *_waits(waits, use.joint),
                    *_waits(everything.step_waits, use.step),
                ),
            )
            for row in here.uses
            for use in [_use_facts(row, items[row.item_id], here)]
        ),
        items=items,
        packets=packets,
        kind_rules=sources.kinds,
        item_rules=sources.items,
        media=sources.media,
        goes_dry=sources.goes_dry,
        kind_tools=carried.kind_tools,
        step_tools=carried.step_tools,
        cautions=carried.cautions,
        system_licences=carried.system_licences,
        kind_licences=carried.kind_licences,
        strict=carried.strict,
        closed=here.closed,
    )


def _waits(waits: Mapping[int, Ways], place: int | None) -> tuple[Condition, ...]:
    """The condition under which a joint is opened, or a step done, at all."""
    return () if place is None or place not in waits else as_conditions(waits[place])


def _use_facts(row: Any, item: ItemFacts, here: JointContents) -> UseFacts:
    return UseFacts(
        key=row.id,
        item=row.item_id,
        measured=_measured(row, item).noted(row.note),
        open_length=item.open_length,
        joint=row.joint_id,
        step=row.step_id,
        conditions=here.conditions(row.option_id),
    )


def _measured(row: Any, item: ItemFacts) -> Measured:
    """By bead, film or drops, or the amount that is stated."""
    if row.bead_diameter is not None and row.bead_length is not None:
        nozzle = {} if item.nozzle_waste is None else {"nozzle": item.nozzle_waste}
        return bead(row.bead_diameter, row.bead_length, pack=item.pack, **nozzle)
    if row.film_area is not None and row.film_thickness is not None:
        return film(row.film_area, row.film_thickness)
    if row.drops_thread is not None and row.drops_count is not None:
        return drops(row.drops_thread, row.drops_count)
    return stated(row.amount or 0, item.unit)
