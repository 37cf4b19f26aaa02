"""The seal map of a plan: every seal that goes in, whether or not it is a ring."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session, aliased

from kitting.facts.seal_shapes import SealShape, shape_of
from kitting.facts.words import ItemFamily
from kitting.services.kit.bags import kit_view
from kitting.services.kit.ring_labels import end_label
from kitting.tables.items import Item
from kitting.tables.vocabulary import Kind
from kitting.views.kit import Bag, KitView
from kitting.views.plan import PlanView
from kitting.views.seal_map import HoleView, SealJointView, SealMapView, SealPlaceView

_kind = aliased(Kind)  # a column of items reads the kinds by itself
_SEALS = (
    select(
        Item.code, _kind.code.label("kind"), Item.rubber, Item.ring_inside, Item.ring_section
    )
    .join(_kind, Item.kind_id == _kind.id)
    .where(Item.code.in_(bindparam("codes", expanding=True)))
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Seal:
    """What an item looks like, whether it is of rubber, and the hole of a washer."""

    shape: SealShape
    rubber: bool
    hole: HoleView | None


def seal_map(session: Session, plan: PlanView) -> SealMapView:
    """The seal map of a plan. Raises RefusedError when everything of the plan is stopped."""
    return seal_map_of_kit(session, plan, kit_view(plan))


def seal_map_of_kit(session: Session, plan: PlanView, kit: KitView) -> SealMapView:
    """The seal map of a kit that was made of a plan."""
    return SealMapView(
        reference=kit.reference,
        on=kit.on,
        vehicle=kit.vehicle,
        vehicle_shortened=kit.vehicle_shortened,
        jobs=kit.jobs,
        joints=tuple(_joints(plan, kit, _read(session, plan))),
        doubts=kit.doubts,
        cautions=kit.cautions,
        booking=kit.booking,
        kit_in=kit.kit_in,
    )


def _read(session: Session, plan: PlanView) -> Mapping[str, _Seal]:
    seals = (ItemFamily.RING, ItemFamily.SEAL)
    codes = sorted({line.item for line in plan.lines if line.family in seals})
    found = {}
    for row in session.execute(_SEALS, {"codes": codes}):
        shape, hole = shape_of(row.kind), None
        if shape is SealShape.WASHER and row.ring_inside is not None:
            hole = HoleView(row.ring_inside / 1000, row.ring_section / 1000)
        found[row.code] = _Seal(shape, row.rubber, hole)
    return found


def _joints(plan: PlanView, kit: KitView, seals: Mapping[str, _Seal]) -> Iterator[SealJointView]:
    """Joint by joint in the order of refitting; one without a seal is not on the map."""
    for joint, group in groupby(kit.bags, key=lambda bag: bag.joint):
        bags = list(group)
        places = [place for bag in bags for place in _places(plan, bag, seals)]
        if places:
            yield SealJointView(
                joint=joint,
                joint_name=bags[0].joint_name,
                places=tuple(places),
                uses=tuple(use for bag in bags for use in bag.uses),
            )


def _places(plan: PlanView, bag: Bag, seals: Mapping[str, _Seal]) -> Iterator[SealPlaceView]:
    """The rings of a bag with the codes of their labels, then its other seals."""
    ends = [(end.code, end) for end in bag.ends]
    here = {line.content.item for line in bag.lines}
    ends += [
        (bag.code, end_label(line, position))
        for line in plan.lines
        if line.family == ItemFamily.SEAL and not line.stopped_by and line.item in here
        for position in line.positions
        if position.joint == bag.joint
    ]
    for code, end in ends:
        seal = seals[end.content.item]
        yield SealPlaceView(bag.number, code, end, seal.shape, seal.rubber, seal.hole)
