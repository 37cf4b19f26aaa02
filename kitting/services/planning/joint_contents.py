"""Reading what opened joints carry: fits, rules, items, uses, tightenings, cautions.

Every function sends a fixed number of statements; what is read follows the opened joints, not
the catalogue.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from kitting.calc.planning.consumption import Measured, bead, drops, film
from kitting.calc.planning.needs import FitFacts, JointFacts, LubricantWord, Reach, UseFacts
from kitting.calc.planning.renewal import SituationRule, Statement
from kitting.facts.stages import COLUMNS, Stage, stage_of_row
from kitting.facts.units import format_quantity
from kitting.facts.words import ThreadState
from kitting.services.planning.cautions import Cautions, read_cautions
from kitting.services.planning.vehicle import CarFluid
from kitting.tables import units
from kitting.tables.items import Item, ItemContent, ItemRule, Succession, Successor
from kitting.tables.units import (
    Fit,
    FitFluid,
    FitRule,
    Joint,
    JointFluid,
    JointNear,
    Tightening,
)
from kitting.tables.vocabulary import Fluid, GeneralTool, Kind, KindRule, KindTool, System
from kitting.tables.work import StepTool, Use


@dataclass(frozen=True, slots=True)
class SuccessionFacts:
    """What replaces an item: (code, amount) each."""

    by: tuple[tuple[str, int], ...]
    old_stock: str
    note: str | None


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """An item with its kind."""

    row: Item
    kind: Kind
    succession: SuccessionFacts | None

    @property
    def key(self) -> int:
        """The key of the item."""
        return self.row.id


@dataclass(frozen=True, slots=True)
class TighteningFacts:
    """How a position is tightened; no stages means that no figure is known."""

    thread_state: ThreadState
    pattern: str | None
    source: str | None
    stages: tuple[Stage, ...]


@dataclass(frozen=True, slots=True)
class Contents:
    """Everything that a set of joints carries."""

    joints: Mapping[int, JointFacts]
    fluid_names: Mapping[str, str]
    system_names: Mapping[str, str]
    media: Mapping[str, str | None]
    fluid_keys: Mapping[str, int]
    system_keys: Mapping[str, int]
    fits: tuple[FitFacts, ...]
    tightenings: Mapping[int, TighteningFacts]
    uses: tuple[UseFacts, ...]
    items: Mapping[int, ItemFacts]
    packets: Mapping[int, Mapping[int, int]]
    kind_rules: Mapping[int, tuple[SituationRule, ...]]
    item_rules: Mapping[int, tuple[Statement, ...]]
    kind_tools: Mapping[int, tuple[str, ...]]
    step_tools: Mapping[int, tuple[str, ...]]
    cautions: Cautions


def read_contents(
    session: Session,
    joints: Collection[int],
    steps: Collection[int],
    car_fluids: Mapping[str, CarFluid] = MappingProxyType({}),
) -> Contents:
    """What the joints and steps carry, in a fixed number of statements.

    `car_fluids` says per fluid code what is different on this car: what the fluid is, and what its
    rings are assembled with.
    """
    joint_facts, names, keys, media = _read_joints(session, joints)
    fits = tuple(
        _oiled_for(fit, joint_facts[fit.joint], car_fluids) for fit in _read_fits(session, joints)
    )
    uses = _read_uses(session, joints, steps)
    named = {fit.item for fit in fits} | {fit.lubricant for fit in fits if fit.lubricant}
    packets = _read_packets(session, named)
    items = _read_items(session, named | {use.item_id for use in uses} | set(packets))
    kinds = {facts.kind.id for facts in items.values()}
    return Contents(
        joints=joint_facts,
        fluid_names=names["fluid"],
        system_names=names["system"],
        media=media | {code: said.medium for code, said in car_fluids.items()},
        fluid_keys=keys["fluid"],
        system_keys=keys["system"],
        fits=fits,
        tightenings=_read_tightenings(session, [fit.key for fit in fits]),
        uses=tuple(_measured(use, items[use.item_id].row) for use in uses),
        items=items,
        packets=packets,
        kind_rules=_read_kind_rules(session, kinds),
        item_rules=_read_statements(session, ItemRule.item_id, ItemRule, set(items)),
        kind_tools=_read_tools(session, KindTool.kind_id, KindTool.tool_id, kinds),
        step_tools=_read_tools(session, StepTool.step_id, StepTool.tool_id, steps),
        cautions=read_cautions(
            session,
            steps=steps,
            joints=joints,
            fluids=keys["fluid"].values(),
            systems=keys["system"].values(),
            kinds=kinds,
            items=set(items),
        ),
    )


def _oiled_for(fit: FitFacts, joint: JointFacts, car_fluids: Mapping[str, CarFluid]) -> FitFacts:
    """The fit with what the maker of this car names for its fluid, where it is oiled at all."""
    if fit.lubricant is None:
        return fit
    for code in fit.fluids or joint.fluids:
        said = car_fluids.get(code)
        if said is not None and said.lubricant is not None:
            named = LubricantWord("maker", said.reference)
            return replace(fit, lubricant=said.lubricant, lubricant_word=named)
    return fit


_Named = dict[str, dict[str, str]]
_Keyed = dict[str, dict[str, int]]


def _read_joints(
    session: Session, joints: Collection[int]
) -> tuple[dict[int, JointFacts], _Named, _Keyed, dict[str, str | None]]:
    media: dict[str, str | None] = {}
    names: _Named = {"fluid": {}, "system": {}}
    keys: _Keyed = {"fluid": {}, "system": {}}
    fluids: dict[int, list[str]] = defaultdict(list)
    for key, fluid in session.execute(
        select(JointFluid.joint_id, Fluid)
        .join(Fluid, JointFluid.fluid_id == Fluid.id)
        .where(JointFluid.joint_id.in_(joints))
        .order_by(Fluid.code)
    ):
        fluids[key].append(fluid.code)
        names["fluid"][fluid.code] = fluid.name
        keys["fluid"][fluid.code] = fluid.id
        media[fluid.code] = fluid.medium
    near: dict[int, list[str]] = defaultdict(list)
    for key, thing in session.execute(
        select(JointNear.joint_id, JointNear.thing)
        .where(JointNear.joint_id.in_(joints))
        .order_by(JointNear.thing)
    ):
        near[key].append(thing)
    facts = {}
    for joint, system in session.execute(
        select(Joint, System)
        .join(System, Joint.system_id == System.id)
        .where(Joint.id.in_(joints))
        .order_by(Joint.unit_id, Joint.seq)
    ):
        names["system"][system.code] = system.name
        keys["system"][system.code] = system.id
        facts[joint.id] = JointFacts(
            joint.id,
            joint.code,
            joint.name,
            joint.unit_id,
            system.code,
            tuple(fluids.get(joint.id, ())),
            tuple(near.get(joint.id, ())),
            (joint.temperature, joint.temperature_source)
            if joint.temperature is not None and joint.temperature_source is not None
            else None,
        )
    return facts, names, keys, media


def _read_fits(session: Session, joints: Collection[int]) -> tuple[FitFacts, ...]:
    rows = session.scalars(
        select(Fit).where(Fit.joint_id.in_(joints)).order_by(Fit.joint_id, Fit.seq, Fit.id)
    ).all()
    keys = [fit.id for fit in rows]
    stated = _read_statements(session, FitRule.fit_id, FitRule, keys)
    touched: dict[int, list[str]] = defaultdict(list)
    for key, code in session.execute(
        select(FitFluid.fit_id, Fluid.code)
        .join(Fluid, FitFluid.fluid_id == Fluid.id)
        .where(FitFluid.fit_id.in_(keys))
        .order_by(Fluid.code)
    ):
        touched[key].append(code)
    return tuple(
        FitFacts(
            key=fit.id,
            joint=fit.joint_id,
            position=fit.position,
            item=fit.item_id,
            quantity=fit.quantity,
            option=fit.option_id,
            end=fit.end,
            group=fit.group_code,
            refit_limit=fit.refit_limit,
            reach=Reach(
                fit.recess or 0,
                fit.protrusion or 0,
                fit.access or "open",
                fit.threaded_into,
            ),
            dry=fit.dry,
            lubricant=fit.lubricant_id,
            lubricant_amount=fit.lubricant_amount or 0,
            lubricant_word=LubricantWord(fit.lubricant_source, fit.lubricant_reference)
            if fit.lubricant_source is not None and fit.lubricant_reference is not None
            else None,
            fluids=tuple(touched.get(fit.id, ())),
            stated=stated.get(fit.id, ()),
        )
        for fit in rows
    )


def _read_statements(
    session: Session,
    owner: object,
    table: type[FitRule] | type[ItemRule],
    owners: Collection[int],
) -> dict[int, tuple[Statement, ...]]:
    found: dict[int, list[Statement]] = defaultdict(list)
    rows = session.execute(
        select(owner, table.source, table.rule, table.reference, table.criterion)  # type: ignore[call-overload]
        .where(owner.in_(owners))  # type: ignore[attr-defined]
        .order_by(owner, table.source)  # as the index has them
    )
    for key, source, rule, reference, criterion in rows:
        found[key].append(Statement(source, rule, reference, criterion))
    return {key: tuple(statements) for key, statements in found.items()}


def _read_tightenings(session: Session, fits: Sequence[int]) -> dict[int, TighteningFacts]:
    stages: dict[int, list[Stage]] = defaultdict(list)
    for row in session.scalars(
        select(units.Stage)
        .where(units.Stage.fit_id.in_(fits))
        .order_by(units.Stage.fit_id, units.Stage.seq)
    ):
        stage = stage_of_row({name: getattr(row, name) for name in COLUMNS})
        stages[row.fit_id].append(stage)
    return {
        known.fit_id: TighteningFacts(
            known.thread_state, known.pattern, known.source, tuple(stages.get(known.fit_id, ()))
        )
        for known in session.scalars(select(Tightening).where(Tightening.fit_id.in_(fits)))
    }


def _read_uses(session: Session, joints: Collection[int], steps: Collection[int]) -> Sequence[Use]:
    return session.scalars(
        select(Use)
        .where(or_(Use.joint_id.in_(joints), Use.step_id.in_(steps)))
        .order_by(Use.joint_id.is_(None), Use.joint_id, Use.step_id, Use.seq)
    ).all()


def _measured(use: Use, item: Item) -> UseFacts:
    if use.bead_diameter is not None and use.bead_length is not None:
        nozzle = {} if item.nozzle_waste is None else {"nozzle": item.nozzle_waste}
        measured = bead(use.bead_diameter, use.bead_length, **nozzle)
    elif use.film_area is not None and use.film_thickness is not None:
        measured = film(use.film_area, use.film_thickness)
    elif use.drops_thread is not None and use.drops_count is not None:
        measured = drops(use.drops_thread, use.drops_count)
    else:
        amount = use.amount or 0
        measured = Measured(amount, format_quantity(amount, item.unit))
    if use.note:
        measured = Measured(measured.amount, f"{measured.how} ({use.note})")
    return UseFacts(use.id, use.item_id, measured, use.joint_id, use.step_id, use.option_id)


def _read_packets(session: Session, items: Collection[int]) -> dict[int, dict[int, int]]:
    packets: dict[int, dict[int, int]] = defaultdict(dict)
    touched = select(ItemContent.packet_id).where(ItemContent.item_id.in_(items))
    for packet, item, quantity in session.execute(
        select(ItemContent.packet_id, ItemContent.item_id, ItemContent.quantity)
        .where(ItemContent.packet_id.in_(touched))
        .order_by(ItemContent.packet_id, ItemContent.item_id)
    ):
        packets[packet][item] = quantity
    return dict(packets)


def _read_items(session: Session, keys: Collection[int]) -> dict[int, ItemFacts]:
    replaced: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for item, code, quantity in session.execute(
        select(Successor.item_id, Item.code, Successor.quantity)
        .join(Item, Successor.by_item_id == Item.id)
        .where(Successor.item_id.in_(keys))
        .order_by(Item.code)
    ):
        replaced[item].append((code, quantity))
    rows = session.execute(
        select(Item, Kind, Succession)
        .join(Kind, Item.kind_id == Kind.id)
        .outerjoin(Succession, Succession.item_id == Item.id)
        .where(Item.id.in_(keys))
        .order_by(Item.code)
    )
    return {
        item.id: ItemFacts(
            item,
            kind,
            SuccessionFacts(tuple(replaced.get(item.id, ())), succession.old_stock, succession.note)
            if succession
            else None,
        )
        for item, kind, succession in rows
    }


def _read_kind_rules(
    session: Session, kinds: Collection[int]
) -> dict[int, tuple[SituationRule, ...]]:
    found: dict[int, list[SituationRule]] = defaultdict(list)
    for rule, fluid, system in session.execute(
        select(KindRule, Fluid.code, System.code)
        .outerjoin(Fluid, KindRule.fluid_id == Fluid.id)
        .outerjoin(System, KindRule.system_id == System.id)
        .where(KindRule.kind_id.in_(kinds))
        .order_by(KindRule.kind_id, KindRule.seq)
    ):
        statement = Statement(
            rule.source, rule.rule, rule.reference, rule.criterion, rule.relaxed_by
        )
        found[rule.kind_id].append(SituationRule(statement, fluid, system))
    return {kind: tuple(rules) for kind, rules in found.items()}


def _read_tools(
    session: Session, owner: object, tool: object, owners: Collection[int]
) -> dict[int, tuple[str, ...]]:
    found: dict[int, list[str]] = defaultdict(list)
    rows = session.execute(
        select(owner, GeneralTool.name)  # type: ignore[call-overload]
        .join(GeneralTool, tool == GeneralTool.id)
        .where(owner.in_(owners))  # type: ignore[attr-defined]
        .order_by(GeneralTool.name)
    )
    for key, name in rows:
        found[key].append(name)
    return {key: tuple(names) for key, names in found.items()}
