"""The item that each finding is of: what the plan has at the position, unknown while it waits."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import bindparam, delete, insert, select
from sqlalchemy.orm import Session

from kitting.tables.bookings import Finding
from kitting.tables.items import Item
from kitting.views.plan import PlanView

_table = Finding.metadata.tables["finding"]
_OWN = select(_table).where(_table.c.booking_id == bindparam("booking")).order_by(_table.c.id)
_ITEMS = select(Item.code, Item.id).where(Item.code.in_(bindparam("codes", expanding=True)))

Place = tuple[str, str]  # joint, position
ItemsAt = Mapping[Place, tuple[str | None, int]]  # item, None where it waits; thousandths


def items_at(planned: PlanView) -> ItemsAt:
    """What a plan has at each position: the item that the joint asks for, and how much.

    Where a variant decides which item it is, and is open, the item is None.
    """
    found: dict[Place, tuple[str | None, int]] = {}
    for line in planned.lines:
        known = None if line.stopped_by else line.stands_for or line.item
        for position in line.positions:
            place = (position.joint, position.position)
            before, most = found.get(place, (None, 0))
            found[place] = (known or before, max(most, position.quantity))
    return found


def item_keys(session: Session, items: ItemsAt) -> dict[str | None, int | None]:
    """The keys of the items at positions, by code; None of None."""
    codes = sorted({code for code, _ in items.values() if code is not None})
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
        {**row._mapping, "item_id": keys[items[row.joint, row.position][0]]}
        for row in rows
        if (row.joint, row.position) in items
        and row.item_id != keys[items[row.joint, row.position][0]]
    ]
    if moved:
        gone = [row.pop("id") for row in moved]
        session.execute(delete(_table).where(_table.c.id.in_(gone)))
        session.execute(insert(_table), moved)
