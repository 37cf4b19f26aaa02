"""The item that each finding is of: what the plan has at the position, unknown while it waits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from sqlalchemy import bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.tables.bookings import Finding
from kitting.tables.items import Item
from kitting.views.plan import PlanView

_table = Finding.metadata.tables["finding"]
_OWN = select(_table).where(_table.c.booking_id == bindparam("booking")).order_by(_table.c.id)
_ITEMS = select(Item.code, Item.id).where(Item.code.in_(bindparam("codes", expanding=True)))

Place = tuple[str, str]  # joint, position


class ItemAt(NamedTuple):
    """What is at a position: the item (None where it waits), how much of it, in thousandths."""

    item: str | None
    quantity: int
    unit: str

    @property
    def pieces(self) -> int | None:
        """How many pieces; None of what is not counted in pieces."""
        return pieces_of(self.quantity, self.unit)


ItemsAt = Mapping[Place, ItemAt]


def pieces_of(quantity: int, unit: str | None) -> int | None:
    """How many pieces an amount in thousandths is; None of what is not counted in pieces."""
    return quantity // 1000 if unit == "each" else None


def items_at(planned: PlanView) -> ItemsAt:
    """What a plan has at each position: the item that the joint asks for, and how much sits there.

    Where a variant decides which item it is, and is open, the item is None.
    """
    found: dict[Place, ItemAt] = {}
    for line in planned.lines:
        known = None if line.stopped_by else line.stands_for or line.item
        for position in line.positions:
            place = (position.joint, position.position)
            before = found.get(place)
            item, most = (before.item, before.quantity) if before else (None, 0)
            found[place] = ItemAt(known or item, max(most, position.holds), line.unit)
    return found


def item_keys(session: Session, items: ItemsAt) -> dict[str | None, int | None]:
    """The keys of the items at positions, by code; None of None."""
    codes = sorted({one.item for one in items.values() if one.item is not None})
    keys: dict[str | None, int | None] = {None: None}
    for code, key in session.execute(_ITEMS, {"codes": codes}):
        keys[code] = key
    return keys


def place_findings(session: Session, booking: int, planned: PlanView) -> None:
    """Say of each finding of an open booking which item it is of, by the plan of now.

    Written anew where that is another than before: the rows are never altered.
    """
    rows = session.execute(_OWN, {"booking": booking}).all()
    if not rows:
        return
    items = items_at(planned)
    keys = item_keys(session, items)
    moved = [
        {**row._mapping, "item_id": keys[items[row.joint, row.position].item]}
        for row in rows
        if (row.joint, row.position) in items
        and row.item_id != keys[items[row.joint, row.position].item]
    ]
    if moved:
        gone = [row.pop("id") for row in moved]
        session.execute(delete(_table).where(_table.c.id.in_(gone)))
        session.execute(insert(_table), moved)
