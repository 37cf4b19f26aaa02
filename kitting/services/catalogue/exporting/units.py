"""Units as entries: splits, joints with fits and uses, steps, jobs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sqlalchemy import select

from kitting.facts.names import natural_key
from kitting.facts.stages import stage_of_row
from kitting.facts.words import SettledBy, ThreadState
from kitting.services.catalogue.exporting.entries import (
    Entry,
    Names,
    amount,
    entry,
    figure,
    length,
    linked,
    stated,
)
from kitting.tables.units import (
    Fit,
    FitFluid,
    FitRule,
    Hole,
    Joint,
    JointCaution,
    JointFluid,
    JointNear,
    JointOrder,
    Split,
    SplitOption,
    Stage,
    Tightening,
    Unit,
)
from kitting.tables.work import (
    Job,
    JobNeed,
    JobRenewal,
    JobService,
    Opening,
    Step,
    StepCaution,
    StepNeed,
    StepOption,
    StepTool,
    Use,
)


def unit_entries(names: Names, codes: Sequence[str]) -> Iterator[Entry]:
    """Some units, in the order given."""
    for code in codes:
        unit = names.session.scalars(select(Unit).where(Unit.code == code)).one()
        yield entry(
            code=unit.code,
            name=unit.name,
            splits=list(_splits(names, unit.id)),
            joints=list(_joints(names, unit.id)),
            steps=list(_steps(names, unit.id)),
            jobs=list(_jobs(names, unit.id)),
        )


def _of(names: Names, table: Any, unit: int, *order: str) -> list[Any]:
    return names.rows_of(table, "unit_id", [unit], *order).get(unit, [])


def _splits(names: Names, unit: int) -> Iterator[Entry]:
    splits = _of(names, Split, unit, "id")
    options = names.rows_of(SplitOption, "split_id", [one.id for one in splits], "seq")
    for split in splits:
        by = split.settled_by
        yield entry(
            code=split.code,
            question=split.question,
            check=split.check_text,
            settled_by=None if by is SettledBy.CAR else str(by),
            options=[
                entry(
                    code=option.code,
                    name=option.name,
                    built_from=option.built_from,
                    built_before=option.built_before,
                    equipment=option.equipment,
                    without=option.without,
                    seen=option.seen,
                )
                for option in options[split.id]
            ],
        )


def _joints(names: Names, unit: int) -> Iterator[Entry]:
    joints = _of(names, Joint, unit, "seq")
    keys = [joint.id for joint in joints]
    fluids = names.rows_of(JointFluid, "joint_id", keys)
    cautions = names.rows_of(JointCaution, "joint_id", keys)
    near = names.rows_of(JointNear, "joint_id", keys, "thing")
    order = names.rows_of(JointOrder, "joint_id", keys, "place")
    fits = names.rows_of(Fit, "joint_id", keys, "seq")
    uses = names.rows_of(Use, "joint_id", keys, "seq")
    parts = _Parts(names, [fit.id for of_joint in fits.values() for fit in of_joint])
    for joint in joints:
        hottest = figure(joint.temperature, "°C")
        yield entry(
            code=joint.code,
            name=joint.name,
            system=names.systems[joint.system_id],
            fluids=linked(fluids, joint.id, "fluid_id", names.fluids),
            cautions=linked(cautions, joint.id, "caution_id", names.cautions),
            temperature=entry(hottest=hottest, source=joint.temperature_source),
            near=[row.thing for row in near.get(joint.id, ())],
            front=joint.front,
            seen_from=joint.seen_from,
            order=[row.hole for row in order.get(joint.id, ())],
            fits=[parts.entry(fit) for fit in fits.get(joint.id, ())],
            uses=[_use(names, use) for use in uses.get(joint.id, ())],
        )


class _Parts:
    """Fits as entries, with what hangs on them."""

    def __init__(self, names: Names, keys: Sequence[int]) -> None:
        self.names = names
        self.rules = names.rows_of(FitRule, "fit_id", keys, "source")
        self.fluids = names.rows_of(FitFluid, "fit_id", keys)
        self.holes = names.rows_of(Hole, "fit_id", keys, "seq")
        self.tightenings = names.rows_of(Tightening, "fit_id", keys)
        self.stages = names.rows_of(Stage, "fit_id", keys, "seq")

    def entry(self, fit: Fit) -> Entry:
        """One position."""
        names = self.names
        each = fit.quantity == 1000 and names.units_of_items[fit.item_id] == "each"
        return entry(
            item=names.items[fit.item_id],
            position=fit.position,
            end=fit.end,
            quantity=None if each else amount(fit.quantity, names.units_of_items[fit.item_id]),
            option=names.options[fit.option_id],
            rules=stated(self.rules.get(fit.id, ())),
            group=fit.group_code,
            heat=None if fit.heat is None else str(fit.heat),
            refit_limit=fit.refit_limit,
            lubricant=self._lubricant(fit),
            fluids=linked(self.fluids, fit.id, "fluid_id", names.fluids),
            recess=length(fit.recess),
            access=None if fit.access is None else str(fit.access),
            protrusion=length(fit.protrusion),
            into=None if fit.threaded_into is None else str(fit.threaded_into),
            engagement=length(fit.engagement),
            holes=[[row.x / 1000, row.y / 1000] for row in self.holes.get(fit.id, ())],
            tightening=self._tightening(fit.id),
        )

    def _lubricant(self, fit: Fit) -> Entry | str | None:
        if fit.dry:
            return "dry"
        if fit.lubricant_id is None:
            return None
        unit = self.names.units_of_items[fit.lubricant_id]
        return entry(
            item=self.names.items[fit.lubricant_id],
            amount=amount(fit.lubricant_amount, unit),
            source=None if fit.lubricant_source is None else str(fit.lubricant_source),
            reference=fit.lubricant_reference,
            cars_own=fit.lubricant_cars_own or None,
        )

    def _tightening(self, fit: int) -> Entry | None:
        known = next(iter(self.tightenings.get(fit, ())), None)
        if known is None:
            return None
        columns = [column.name for column in Stage.__table__.c]
        rows = ({name: getattr(row, name) for name in columns} for row in self.stages.get(fit, ()))
        state = known.thread_state
        # The state stands even where it is not known: an entry without anything says nothing.
        told = None if state is ThreadState.UNKNOWN and self.stages.get(fit) else str(state)
        return entry(
            stages=[str(stage_of_row(row)) for row in rows],
            thread=told,
            pattern=known.pattern,
            stage_order=known.stage_order,
            source=known.source,
        )


def _use(names: Names, use: Use) -> Entry:
    unit = names.units_of_items[use.item_id]
    return entry(
        item=names.items[use.item_id],
        amount=amount(use.amount, unit),
        bead=entry(diameter=length(use.bead_diameter), length=length(use.bead_length)),
        film=entry(area=figure(use.film_area, "mm²", 1000), thickness=length(use.film_thickness)),
        drops=entry(thread=use.drops_thread, threads=use.drops_count),
        option=names.options[use.option_id],
        note=use.note,
    )


def _steps(names: Names, unit: int) -> Iterator[Entry]:
    steps = _of(names, Step, unit, "seq")
    keys = [step.id for step in steps]
    needs = names.rows_of(StepNeed, "step_id", keys)
    opens = names.rows_of(Opening, "step_id", keys)
    uses = names.rows_of(Use, "step_id", keys, "seq")
    tools = names.rows_of(StepTool, "step_id", keys)
    cautions = names.rows_of(StepCaution, "step_id", keys)
    options = names.rows_of(StepOption, "step_id", keys)
    for step in steps:
        only = next((row.option_id for row in options.get(step.id, ())), None)
        yield entry(
            code=step.code,
            name=step.name,
            hours=figure(step.hours, "h", 1000),
            needs=sorted((row.code for row in needs.get(step.id, ())), key=natural_key),
            opens=_opened(names, opens.get(step.id, ())),
            uses=[_use(names, use) for use in uses.get(step.id, ())],
            tools=linked(tools, step.id, "tool_id", names.tools),
            cautions=linked(cautions, step.id, "caution_id", names.cautions),
            licence=names.licences[step.licence_id],
            option=names.options[only],
        )


def _opened(names: Names, rows: Sequence[Opening]) -> list[str | Entry]:
    found: list[tuple[str, str | Entry]] = []
    for row in rows:
        code = names.joints[row.joint_id][1]
        plain = row.times == 1 and not row.reopened
        more = entry(joint=code, times=row.times, reopened=row.reopened or None)
        found.append((code, code if plain else more))
    return [one for _, one in sorted(found, key=lambda pair: natural_key(pair[0]))]


def _jobs(names: Names, unit: int) -> Iterator[Entry]:
    jobs = _of(names, Job, unit, "seq")
    keys = [job.id for job in jobs]
    needs = names.rows_of(JobNeed, "job_id", keys)
    renews = names.rows_of(JobRenewal, "job_id", keys, "seq")
    services = names.rows_of(JobService, "job_id", keys, "name")
    for job in jobs:
        yield entry(
            code=job.code,
            name=job.name,
            needs=sorted((row.code for row in needs.get(job.id, ())), key=natural_key),
            renews=[_renewal(names, row) for row in renews.get(job.id, ())],
            services=[
                entry(
                    name=row.name,
                    timing=row.timing,
                    licence=names.licences[row.licence_id],
                    option=names.options[row.option_id],
                )
                for row in services.get(job.id, ())
            ],
        )


def _renewal(names: Names, row: JobRenewal) -> Entry:
    named: Mapping[str, str | None] = {
        "kind": None if row.kind_id is None else names.kinds[row.kind_id],
        "item": None if row.item_id is None else names.items[row.item_id],
        "joint": None if row.joint_id is None else names.joints[row.joint_id][1],
    }
    return entry(**named, position=row.position)
