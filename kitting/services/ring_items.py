"""Ring items: rings of the catalogue by size, elastomer and hardness, never by colour."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.facts.elastomers import require_elastomer
from kitting.facts.names import natural_key
from kitting.facts.units import format_quantity
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.views import RingItemView

# Nominal sizes that differ by more are other rings: 17.0 × 2.5 is not 17.12 × 2.62.
SAME_INSIDE, SAME_SECTION = 50, 50  # thousandths of a mm


def ring_items(
    session: Session,
    inside: int,
    section: int,
    elastomer: str | None = None,
    hardness: int | None = None,
) -> tuple[RingItemView, ...]:
    """Items of a nominal size (thousandths of a mm), with what is free of each per branch.

    Raises FigureError for an unknown elastomer.
    """  # fmt: skip
    wanted = select(Item).where(
        Item.ring_inside.between(inside - SAME_INSIDE, inside + SAME_INSIDE),
        Item.ring_section.between(section - SAME_SECTION, section + SAME_SECTION),
    )
    if elastomer is not None:
        wanted = wanted.where(Item.elastomer == require_elastomer(elastomer))
    if hardness is not None:
        wanted = wanted.where(Item.hardness == hardness)
    items = {item.id: item for item in session.scalars(wanted)}
    free: dict[int, list[str]] = {}
    for item, branch, amount in session.execute(
        select(Lot.item_id, Branch.code, func.sum(Lot.on_hand - Lot.promised))
        .join(Branch, Lot.branch_id == Branch.id)
        .where(Lot.item_id.in_(items), Lot.held.is_(None), Lot.on_hand > Lot.promised)
        .group_by(Lot.item_id, Branch.code)
        .order_by(Branch.code)
    ):
        free.setdefault(item, []).append(f"{format_quantity(int(amount), 'each')} in {branch}")
    return tuple(
        RingItemView(
            item.code,
            item.name,
            (item.ring_inside or 0) / 1000,
            (item.ring_section or 0) / 1000,
            item.elastomer,
            item.hardness,
            item.colour,
            tuple(free.get(item.id, ())),
        )
        for item in sorted(items.values(), key=lambda item: natural_key(item.code))
    )
