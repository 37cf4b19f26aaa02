"""Transfers: what other branches have free of what is short, and when the van brings it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import free_on
from kitting.facts.units import format_quantity
from kitting.services.stock.lots import read_shelves
from kitting.services.stock.transfers import van_due
from kitting.tables.items import Item
from kitting.tables.supply import Branch


def transfer_advice(
    session: Session,
    branch: Branch,
    needs: Mapping[int, int],
    bought: Mapping[int, date],
    fit_on: date,
    now: datetime,
) -> tuple[str, ...]:
    """For each short item that another branch has free: when the van brings it, when a supplier.

    `bought` is when each item comes if it is bought. Only stock that nobody is promised counts: a
    transfer never strips another branch's kit.
    """
    told: dict[int, list[str]] = defaultdict(list)
    items = {item.id: item for item in session.scalars(select(Item).where(Item.id.in_(needs)))}
    others = session.scalars(
        select(Branch).where(Branch.id != branch.id).order_by(Branch.code)
    ).all()
    for other in others:
        shelves = read_shelves(session, other.id, list(needs))
        due = van_due(other, now)
        leaves = f" (leaves {other.van_cutoff})" if other.van_cutoff else ""
        for key, amount in needs.items():
            free = free_on(shelves.of(key), (), fit_on, fit_on)
            if free > 0:
                some = format_quantity(min(free, amount), items[key].unit)
                told[key].append(
                    f"{some} × {items[key].code} free in {other.code}: by van here"
                    f" {due:%a %d %b}{leaves}, {_bought(bought.get(key), due)}"
                )
    return tuple(text for key in needs for text in told[key])


def _bought(bought: date | None, due: date) -> str:
    if bought is None:
        return "not to be bought in time"
    which = "the van is earlier" if due < bought else "buying is no later"
    return f"bought {bought:%a %d %b}: {which}"
