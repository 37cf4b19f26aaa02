"""What goes along with units that are written: the units their work needs; models left out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.facts.names import natural_key
from kitting.facts.reasons import Reason, because
from kitting.tables.units import Unit
from kitting.tables.vehicles import Model, ModelUnit
from kitting.tables.work import Job, JobNeed, Step, StepNeed
from kitting.views.catalogue import ExportRemark


@dataclass(frozen=True, slots=True)
class _Work:
    """Which units have a step, which steps a unit needs, and which units models carry."""

    having: Mapping[str, frozenset[str]]
    needs: Mapping[str, frozenset[str]]
    models: Mapping[str, Sequence[str]]

    def along(self, unit: str) -> frozenset[str]:
        """The units that the work of a unit goes on into: those of the same models before others.

        A step that several units have is done in the one that is on the car.
        """
        together = {one for units in self.models.values() if unit in units for one in units}
        found: set[str] = set()
        for step in self.needs.get(unit, frozenset()):
            there = self.having.get(step, frozenset())
            if unit not in there:
                found |= (there & together) or there
        return frozenset(found)


def with_needed(session: Session, units: Sequence[str]) -> list[str]:
    """Some units, and after them the units of all steps that their steps and jobs need."""
    work, found = _read(session), list(dict.fromkeys(units))
    for unit in found:
        found += [one for one in sorted(work.along(unit), key=natural_key) if one not in found]
    return found


def export_remarks(
    session: Session, units: Collection[str], written: Collection[str]
) -> Iterator[Reason]:
    """What was written though nobody named it, and the models that are not written, with why."""
    if along := [unit for unit in written if unit not in units]:
        yield because(ExportRemark.WRITTEN_ALONG, units=tuple(along))
    for model, carried in sorted(_read(session).models.items()):
        lacking = [unit for unit in carried if unit not in written]
        if lacking and set(carried) & set(written):
            yield because(ExportRemark.MODEL_LEFT_OUT, model=model, units=tuple(lacking))


def _read(session: Session) -> _Work:
    having: dict[str, set[str]] = {}
    steps = select(Step.code, Unit.code).join(Unit, Step.unit_id == Unit.id)
    for step, unit in session.execute(steps):
        having.setdefault(step, set()).add(unit)
    needs: dict[str, set[str]] = {}
    for need, owner, owner_id in (
        (StepNeed, Step, StepNeed.step_id),
        (JobNeed, Job, JobNeed.job_id),
    ):
        rows = (
            select(Unit.code, need.code)
            .join(owner, owner.unit_id == Unit.id)
            .join(need, owner_id == owner.id)
        )
        for unit, step in session.execute(rows):
            needs.setdefault(unit, set()).add(step)
    models: dict[str, list[str]] = {}
    carried = (
        select(Model.code, Unit.code)
        .join(ModelUnit, ModelUnit.model_id == Model.id)
        .join(Unit, ModelUnit.unit_id == Unit.id)
        .order_by(Model.code, ModelUnit.seq)
    )
    for model, unit in session.execute(carried):
        models.setdefault(model, []).append(unit)
    return _Work(
        {step: frozenset(units) for step, units in having.items()},
        {unit: frozenset(steps) for unit, steps in needs.items()},
        models,
    )
