"""Where the holes of fasteners are, the makers' orders of tightening, and which way is front."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.services.planning.taken_from import taken_from
from kitting.tables.units import Hole, Joint, JointOrder, Unit
from kitting.tables.vocabulary import System

_HOLES = (
    select(Hole.fit_id, Hole.x, Hole.y)
    .where(Hole.fit_id.in_(bindparam("fits", expanding=True)))
    .order_by(Hole.fit_id, Hole.seq)
)
# A joint without an order has one row, its hole NULL.
_FRONTS_AND_ORDERS = (
    select(
        Joint.id, Joint.front, Joint.seen_from, JointOrder.hole,
        taken_from(Unit.code).label("taken_from"),
    )
    .join(Unit, Joint.unit_id == Unit.id)
    .outerjoin(JointOrder, JointOrder.joint_id == Joint.id)
    .where(Joint.id.in_(bindparam("joints", expanding=True)))
    .order_by(Joint.id, JointOrder.place)
)  # fmt: skip
_NO_GENERAL = select(System.code).where(System.general_torque.is_(False))


@dataclass(frozen=True, slots=True)
class Layout:
    """Holes by fit (x, y in thousandths of a mm); orders, fronts, and from where seen, by joint.

    `taken_from` are the joints whose file says what it is taken from; `no_general` the systems for
    which no general torque may stand in.
    """

    holes: Mapping[int, Sequence[tuple[int, int]]]
    orders: Mapping[int, Sequence[int]]
    fronts: Mapping[int, str | None]
    seen_from: Mapping[int, str | None]
    no_general: frozenset[str]
    taken_from: frozenset[int] = frozenset()


def read_layout(session: Session, joints: Iterable[int], fits: Iterable[int]) -> Layout:
    """The layout of some joints and fits, in three statements."""
    holes: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for fit, x, y in session.execute(_HOLES, {"fits": list(fits)}):
        holes[fit].append((x, y))
    orders: dict[int, list[int]] = defaultdict(list)
    fronts: dict[int, str | None] = {}
    seen: dict[int, str | None] = {}
    sourced: set[int] = set()
    for joint, front, side, hole, source in session.execute(
        _FRONTS_AND_ORDERS, {"joints": list(joints)}
    ):
        fronts[joint], seen[joint] = front, side
        if source is not None:
            sourced.add(joint)
        if hole is not None:
            orders[joint].append(hole)
    no_general = frozenset(session.scalars(_NO_GENERAL))
    return Layout(holes, orders, fronts, seen, no_general, frozenset(sourced))
