"""Reading what opened joints carry: fits, tightenings, uses, and what they touch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, Integer, String, or_, select, union_all

from kitting.calc.planning.needs import (
    CarLubricant,
    FitFacts,
    JointFacts,
    LubricantSource,
    Reach,
)
from kitting.facts.conditions import Condition, OptionChosen
from kitting.facts.stages import stage_of_row
from kitting.facts.words import FastenerAccess, Source
from kitting.services.planning.facts import (
    Car,
    CarFluid,
    FluidFacts,
    SystemFacts,
    TighteningFacts,
)
from kitting.services.planning.rows import among, branch, read_rows
from kitting.tables.units import Fit, FitFluid, Joint, JointFluid, JointNear, Stage, Tightening
from kitting.tables.vocabulary import Fluid, System
from kitting.tables.work import Use

_joint, _system, _fluid = Joint.__table__.c, System.__table__.c, Fluid.__table__.c
_joint_fluid, _fit_fluid, _near = (
    JointFluid.__table__.c, FitFluid.__table__.c, JointNear.__table__.c,
)  # fmt: skip
_fit, _tightening, _stage, _use = (
    Fit.__table__.c, Tightening.__table__.c, Stage.__table__.c, Use.__table__.c,
)  # fmt: skip
_IN_JOINTS = among(_fit.joint_id, "joints")
_other, _other_joint = Fit.__table__.alias("other"), Joint.__table__.alias("other_joint")

_JOINTS = (
    select(
        _joint.id, _joint.code, _joint.name, _joint.unit_id, _joint.seq, _joint.temperature,
        _joint.temperature_source, _system.id.label("system_key"),
        _system.code.label("system_code"), _system.name.label("system_name"),
        _system.general_torque,
    )
    .select_from(Joint.__table__.join(System.__table__, _joint.system_id == _system.id))
    .where(among(_joint.id, "joints"))
)  # fmt: skip

_TOUCH_COLUMNS = {
    "owner": Integer, "word": String, "key": Integer, "name": String, "medium": String,
}  # fmt: skip
_TOUCHING = union_all(
    branch("near", _TOUCH_COLUMNS, owner=_near.joint_id, word=_near.thing).where(
        among(_near.joint_id, "joints")
    ),
    branch(
        "joint", _TOUCH_COLUMNS, owner=_joint_fluid.joint_id, word=_fluid.code, key=_fluid.id,
        name=_fluid.name, medium=_fluid.medium,
    ).select_from(JointFluid.__table__.join(Fluid.__table__, _joint_fluid.fluid_id == _fluid.id))
    .where(among(_joint_fluid.joint_id, "joints")),
    branch("fit", _TOUCH_COLUMNS, owner=_fit_fluid.fit_id, word=_fluid.code)
    .select_from(
        FitFluid.__table__.join(Fit.__table__, _fit_fluid.fit_id == _fit.id).join(
            Fluid.__table__, _fit_fluid.fluid_id == _fluid.id
        )
    ).where(_IN_JOINTS),
    # Positions of the same groups, at whichever joint of the unit.
    branch("group", _TOUCH_COLUMNS, owner=_other_joint.c.unit_id, word=_other.c.group_code,
           key=_other.c.joint_id, name=_other_joint.c.code, medium=_other.c.position)
    .select_from(
        Fit.__table__.join(Joint.__table__, _fit.joint_id == _joint.id)
        .join(_other_joint, _other_joint.c.unit_id == _joint.unit_id)
        .join(
            _other,
            (_other.c.joint_id == _other_joint.c.id) & (_other.c.group_code == _fit.group_code),
        )
    ).where(_IN_JOINTS).distinct(),
)  # fmt: skip

# A fit once for each stage of its tightening, and once if it has none.
_FITS = (
    select(
        _fit.id, _fit.joint_id, _fit.position, _fit.option_id, _fit.seq, _fit.item_id,
        _fit.quantity, _fit.end, _fit.group_code, _fit.refit_limit, _fit.dry, _fit.lubricant_id,
        _fit.lubricant_amount, _fit.lubricant_source, _fit.lubricant_reference,
        _fit.lubricant_cars_own, _fit.recess,
        _fit.access, _fit.protrusion, _fit.threaded_into, _fit.engagement,
        _tightening.thread_state, _tightening.pattern, _tightening.stage_order, _tightening.source,
        _stage.seq.label("stage"), _stage.torque, _stage.torque_unit, _stage.tolerance,
        _stage.angle, _stage.back,
    )
    .select_from(
        Fit.__table__.outerjoin(Tightening.__table__, _tightening.fit_id == _fit.id).outerjoin(
            Stage.__table__, _stage.fit_id == _tightening.fit_id
        )
    )
    .where(_IN_JOINTS)
)  # fmt: skip

_USES = select(
    _use.id, _use.joint_id, _use.step_id, _use.seq, _use.item_id, _use.option_id, _use.amount,
    _use.bead_diameter, _use.bead_length, _use.film_area, _use.film_thickness, _use.drops_thread,
    _use.drops_count, _use.note,
).where(or_(among(_use.joint_id, "joints"), among(_use.step_id, "steps")))  # fmt: skip


@dataclass(frozen=True, slots=True)
class JointContents:
    """Joints, what holds and seals them, and the rows of what is used up at them."""

    joints: Mapping[int, JointFacts]
    fluids: Mapping[str, FluidFacts]
    systems: Mapping[str, SystemFacts]
    fits: tuple[FitFacts, ...]
    tightenings: Mapping[int, TighteningFacts]
    uses: Sequence[Any]
    options: Mapping[int, int]
    closed: Mapping[tuple[int, str], tuple[tuple[str, str], ...]]

    def conditions(self, option: int | None) -> tuple[Condition, ...]:
        """The condition of a row that only one option of a split has."""
        return () if option is None else (OptionChosen(self.options[option], option),)


def read_joints(
    connection: Connection, car: Car, joints: Collection[int], steps: Collection[int]
) -> JointContents:
    """What some joints of a car carry, and the uses of some steps, in four statements."""
    touching: dict[tuple[str, int], list[Any]] = defaultdict(list)
    for row in sorted(read_rows(connection, _TOUCHING, joints=joints), key=lambda r: r.word):
        touching[row.what, row.owner].append(row)
    rows = sorted(
        read_rows(connection, _JOINTS, joints=joints), key=lambda row: (row.unit_id, row.seq)
    )
    contents = JointContents(
        joints={row.id: _joint_facts(car, row, touching) for row in rows},
        fluids={
            row.word: FluidFacts(row.key, row.word, row.name, _medium(car, row))
            for (what, _), found in touching.items()
            if what == "joint"
            for row in found
        },
        systems={
            row.system_code: SystemFacts(
                row.system_key, row.system_code, row.system_name, row.general_torque
            )
            for row in rows
        },
        fits=(),
        tightenings={},
        uses=sorted(read_rows(connection, _USES, joints=joints, steps=steps), key=_place_of_use),
        options={option.key: split.key for split in car.splits for option in split.options},
        closed=_closed(joints, touching),
    )
    by_fit: dict[int, list[Any]] = defaultdict(list)
    for row in sorted(
        read_rows(connection, _FITS, joints=joints),
        key=lambda row: (row.joint_id, row.seq, row.id, row.stage or 0),
    ):
        by_fit[row.id].append(row)
    return replace(
        contents,
        fits=tuple(
            _fit_facts(found[0], contents, touching, car.fluids) for found in by_fit.values()
        ),
        tightenings={
            key: _tightening_facts(found)
            for key, found in by_fit.items()
            if found[0].thread_state is not None
        },
    )


def _closed(
    joints: Collection[int], touching: Mapping[tuple[str, int], Sequence[Any]]
) -> dict[tuple[int, str], tuple[tuple[str, str], ...]]:
    """Positions of groups at joints that stay closed, by unit and group: joint and position."""
    found: dict[tuple[int, str], list[tuple[str, str]]] = defaultdict(list)
    for (what, unit), rows in touching.items():
        for row in rows if what == "group" else ():
            if row.key not in joints:
                found[unit, row.word].append((row.name, row.medium))
    return {group: tuple(sorted(set(places))) for group, places in found.items()}


def _place_of_use(row: Any) -> tuple[object, ...]:
    """Uses of joints first, each in the order of its joint or step."""
    return (row.joint_id is None, row.joint_id or 0, row.step_id or 0, row.seq)


def _medium(car: Car, row: Any) -> str | None:
    stated = car.fluids.get(row.word)
    return row.medium if stated is None else stated.medium


def _joint_facts(
    car: Car, row: Any, touching: Mapping[tuple[str, int], Sequence[Any]]
) -> JointFacts:
    held = touching.get(("joint", row.id), ())
    return JointFacts(
        key=row.id,
        code=row.code,
        name=row.name,
        unit=row.unit_id,
        system=row.system_code,
        fluids=_words(held),
        media=tuple(_medium(car, fluid) for fluid in held),
        near=_words(touching.get(("near", row.id), ())),
        temperature=(row.temperature, row.temperature_source)
        if row.temperature is not None and row.temperature_source is not None
        else None,
    )


def _words(rows: Iterable[Any]) -> tuple[str, ...]:
    return tuple(row.word for row in rows)


def _fit_facts(
    row: Any,
    contents: JointContents,
    touching: Mapping[tuple[str, int], Sequence[Any]],
    car_fluids: Mapping[str, CarFluid],
) -> FitFacts:
    stated_by = None
    if row.lubricant_source is not None and row.lubricant_reference is not None:
        stated_by = LubricantSource(row.lubricant_source, row.lubricant_reference)
    fit = FitFacts(
        key=row.id,
        joint=row.joint_id,
        position=row.position,
        item=row.item_id,
        quantity=row.quantity,
        conditions=contents.conditions(row.option_id),
        end=row.end,
        group=row.group_code,
        refit_limit=row.refit_limit,
        reach=Reach(
            recess=row.recess or 0,
            protrusion=row.protrusion or 0,
            access=row.access or FastenerAccess.OPEN,
            into=row.threaded_into,
            engagement=row.engagement,
        ),
        dry=row.dry,
        lubricant=row.lubricant_id,
        lubricant_amount=row.lubricant_amount or 0,
        lubricant_source=stated_by,
        fluids=_words(touching.get(("fit", row.id), ())),
    )
    return _lubricated_for(fit, contents.joints[fit.joint], car_fluids, row.lubricant_cars_own)


def _lubricated_for(
    fit: FitFacts, joint: JointFacts, car_fluids: Mapping[str, CarFluid], cars_own: bool
) -> FitFacts:
    """The fit with what the maker of this car names for its fluid, where it asks for that.

    Where it does not, the other product is kept beside its own, unless the maker names its own.
    What is named for a fluid is not named for the rubber of this position.
    """
    by_maker = fit.lubricant_source is not None and fit.lubricant_source.source is Source.MAKER
    if fit.lubricant is None or (by_maker and not cars_own):
        return fit
    for code in fit.fluids or joint.fluids:
        stated = car_fluids.get(code)
        if stated is None or stated.lubricant in (None, fit.lubricant):
            continue
        if cars_own:
            return replace(fit, lubricant=stated.lubricant, lubricant_source=None, cars_own=True)
        other = CarLubricant(stated.lubricant, code, stated.reference)
        return replace(fit, car_lubricant=other)
    return fit


def _tightening_facts(rows: Sequence[Any]) -> TighteningFacts:
    known = rows[0]
    stages = tuple(stage_of_row(row._mapping) for row in rows if row.stage is not None)
    return TighteningFacts(
        known.thread_state, known.pattern, known.stage_order, known.source, stages
    )
