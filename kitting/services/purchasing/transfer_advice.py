"""Transfers: what other branches have free of what is short, and when the van brings it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, datetime

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import free_on
from kitting.services.purchasing.short_facts import Shortage
from kitting.services.stock.lots import read_shelves
from kitting.services.stock.transfers import van_due
from kitting.tables.items import Item
from kitting.tables.supply import Branch
from kitting.views.purchasing import TransferAdviceView

_ITEMS = select(Item.id, Item.code, Item.unit).where(Item.id.in_(bindparam("keys", expanding=True)))
_OTHERS = select(Branch).where(Branch.id != bindparam("branch")).order_by(Branch.code)


def transfer_advice(
    session: Session,
    short: Shortage,
    bought: Mapping[int, date],
    fit_on: date,
    now: datetime,
) -> tuple[TransferAdviceView, ...]:
    """For each short item that another branch has free: when the van brings it, when a supplier.

    `bought` is when each item comes if it is bought. Only stock that nobody is promised counts: a
    transfer never strips another branch's kit. One statement per branch and two more.
    """
    found: dict[int, list[TransferAdviceView]] = defaultdict(list)
    items = {row.id: row for row in session.execute(_ITEMS, {"keys": list(short.needs)})}
    for other in session.scalars(_OTHERS, {"branch": short.branch.id}).all():
        shelves = read_shelves(session, other.id, list(short.needs))
        due = van_due(other, now)
        for key, amount in short.needs.items():
            free = free_on(shelves.of(key), (), fit_on, fit_on)
            if free > 0:
                found[key].append(
                    TransferAdviceView(
                        item=items[key].code,
                        unit=items[key].unit,
                        quantity=min(free, amount),
                        branch=other.code,
                        arrives=due,
                        leaves=other.van_cutoff,
                        bought=bought.get(key),
                    )
                )
    return tuple(view for key in short.needs for view in found[key])
