"""Alternatives: what may stand in for an item that is short, in order, barred where it may not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased

from kitting.facts.units import format_quantity
from kitting.tables.items import Alternative, Item
from kitting.tables.stock import Lot
from kitting.tables.units import Fit, Joint
from kitting.tables.vocabulary import System


def alternatives(session: Session, branch_id: int, items: Collection[int]) -> tuple[str, ...]:
    """For each short item, what may stand in, the first choice first, and what is there of it.

    An item that sits anywhere in a system where no general figure may stand in (brakes, steering,
    restraints …) takes no alternative: only the maker's part goes in there.
    """
    other = aliased(Item)
    rows = session.execute(
        select(Alternative.item_id, Item.code, other, Alternative.note)
        .join(Item, Alternative.item_id == Item.id)
        .join(other, Alternative.other_id == other.id)
        .where(Alternative.item_id.in_(items))
        .order_by(Item.code, Alternative.seq)
    ).all()
    barred = _barred(session, {item for item, _, _, _ in rows})
    there = _there(session, branch_id, {found.id for _, _, found, _ in rows})
    told = [
        f"{barred_code}: no alternative, it sits in {system}"
        for barred_code, system in sorted(barred.items())
    ]
    rank: dict[str, int] = defaultdict(int)
    for _, code, found, note in rows:
        if code in barred:
            continue
        rank[code] += 1
        free = format_quantity(there.get(found.id, 0), found.unit)
        remark = f" ({note})" if note else ""
        told.append(
            f"{code}: choice {rank[code]} instead is {found.code}, {free} free here{remark}"
        )
    return tuple(told)


def _barred(session: Session, items: Collection[int]) -> dict[str, str]:
    """Items that sit in a safety system, with the system's name."""
    rows = session.execute(
        select(Item.code, System.name)
        .join(Fit, Fit.item_id == Item.id)
        .join(Joint, Fit.joint_id == Joint.id)
        .join(System, Joint.system_id == System.id)
        .where(Item.id.in_(items), System.general_torque.is_(False))
        .distinct()
    )
    return dict(rows.all())


def _there(session: Session, branch_id: int, items: Collection[int]) -> Mapping[int, int]:
    rows = session.execute(
        select(Lot.item_id, func.sum(Lot.on_hand - Lot.promised))
        .where(Lot.branch_id == branch_id, Lot.item_id.in_(items), Lot.held.is_(None))
        .group_by(Lot.item_id)
    )
    return {item: int(amount) for item, amount in rows}
