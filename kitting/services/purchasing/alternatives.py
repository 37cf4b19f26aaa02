"""Alternatives: what may stand in for an item that is short, in order, barred where it may not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, select
from sqlalchemy.orm import Session, aliased

from kitting.tables.items import Alternative, Item
from kitting.tables.stock import OURS, Lot
from kitting.tables.units import Fit, Joint
from kitting.tables.vocabulary import System
from kitting.views.purchasing import AlternativeView, BarredView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_other = aliased(Item)
_ALTERNATIVES = (
    select(
        Item.code.label("item"),
        _other.id.label("key"),
        _other.code.label("instead"),
        _other.unit,
        Alternative.note,
    )
    .select_from(Alternative)
    .join(Item, Alternative.item_id == Item.id)
    .join(_other, Alternative.other_id == _other.id)
    .where(Alternative.item_id.in_(_KEYS))
    .order_by(Item.code, Alternative.seq)
)
_BARRED = (
    select(Item.code, func.min(System.name))
    .select_from(Alternative)
    .join(Item, Alternative.item_id == Item.id)
    .join(Fit, Fit.item_id == Item.id)
    .join(Joint, Fit.joint_id == Joint.id)
    .join(System, Joint.system_id == System.id)
    .where(Alternative.item_id.in_(_KEYS), System.general_torque.is_(False))
    .group_by(Item.code)
    .order_by(Item.code)
)
_FREE = (
    select(Lot.item_id, func.sum(Lot.on_hand - Lot.promised))
    .where(Lot.branch_id == bindparam("branch"), Lot.item_id.in_(_KEYS), Lot.held.is_(None), OURS)
    .group_by(Lot.item_id)
)


def alternatives(
    session: Session, branch_id: int, items: Collection[int]
) -> tuple[tuple[AlternativeView, ...], tuple[BarredView, ...]]:
    """For each short item, what may stand in, the first choice first, and what is there of it.

    An item that sits anywhere in a system where no general figure may stand in (brakes, steering,
    restraints …) takes no alternative: only the maker's part goes in there. Those come second.
    """
    which = {"keys": list(items)}
    rows = session.execute(_ALTERNATIVES, which).all()
    barred = dict(session.execute(_BARRED, which).all())
    free = _free(session, branch_id, {row.key for row in rows})
    choice: Counter[str] = Counter()
    found = []
    for row in rows:
        if row.item in barred:
            continue
        choice[row.item] += 1
        found.append(
            AlternativeView(
                item=row.item,
                choice=choice[row.item],
                instead=row.instead,
                unit=row.unit,
                free=free.get(row.key, 0),
                note=row.note,
            )
        )
    return tuple(found), tuple(BarredView(item=code, system=name) for code, name in barred.items())


def _free(session: Session, branch_id: int, items: Collection[int]) -> Mapping[int, int]:
    rows = session.execute(_FREE, {"branch": branch_id, "keys": sorted(items)})
    return {item: int(amount) for item, amount in rows}
