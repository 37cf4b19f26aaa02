"""What lies in the kits of bookings and nothing of them needs any more: it goes back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.verdicts import Verdict
from kitting.facts.words import NeedRule
from kitting.services.bookings.kit_events import extras
from kitting.services.bookings.sources import Source, Sources
from kitting.tables.items import Item
from kitting.views.bookings import NeededView

_ITEMS = select(Item.id, Item.code, Item.name, Item.unit).where(
    Item.id.in_(bindparam("keys", expanding=True))
)


def left_over(
    session: Session, sources: Sources, bookings: Collection[int]
) -> Mapping[int, tuple[NeededView, ...]]:
    """What is picked for bookings and no need has taken, as lines of which none is needed.

    Asks the database only where there is anything.
    """
    over: dict[int, dict[int, list[Source]]] = defaultdict(dict)
    for (booking, item), some in sources.items():
        if booking in bookings and (picked := [source for source in some if source.picked]):
            over[booking][item] = picked
    if not over:
        return {}
    keys = sorted({item for some in over.values() for item in some})
    items = {row.id: row for row in session.execute(_ITEMS, {"keys": keys})}
    drawn = extras(session, over)
    return {
        booking: tuple(
            _line(items[item], picked, drawn.get((booking, item), 0))
            for item, picked in sorted(some.items())
        )
        for booking, some in over.items()
    }


def _line(item: Any, picked: list[Source], drawn: int) -> NeededView:
    amount = sum(source.picked for source in picked)
    return NeededView(
        item=item.code,
        name=item.name,
        rule=NeedRule.KEEP,
        unit=item.unit,
        needed=0,
        picked=amount,
        on_shelf=0,
        coming=0,
        short=0,
        sources=tuple(
            replace(source.of, quantity=source.picked, picked=source.picked) for source in picked
        ),
        elsewhere=(),
        stands_for=(),
        verdict=Verdict.FINE,
        doubts=(),
        extra=min(amount, drawn),
    )
