"""Packets that hold what a bought packet holds: the plan chose among them, the purchase did not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from typing import Any

from sqlalchemy import BindParameter, bindparam, select
from sqlalchemy.orm import Session, aliased

from kitting.tables.items import Item, ItemContent
from kitting.views.purchasing import OtherPacketsView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_bought, _same, _other = aliased(ItemContent), aliased(ItemContent), aliased(Item)
_OTHERS = (
    select(Item.code.label("item"), _other.code.label("other"))
    .distinct()
    .select_from(_bought)
    .join(Item, _bought.packet_id == Item.id)
    .join(_same, _same.item_id == _bought.item_id)
    .join(_other, _same.packet_id == _other.id)
    .where(_bought.packet_id.in_(_KEYS), _same.packet_id != _bought.packet_id)
    .order_by(Item.code, _other.code)
)


def other_packets(session: Session, items: Collection[int]) -> tuple[OtherPacketsView, ...]:
    """For each packet that is short, the others that hold something of what it holds."""
    found: dict[str, list[str]] = defaultdict(list)
    for row in session.execute(_OTHERS, {"keys": sorted(items)}):
        found[row.item].append(row.other)
    return tuple(OtherPacketsView(item, tuple(others)) for item, others in found.items())
