"""What lies in the kits of bookings and nothing of them needs any more: it goes back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.facts.verdicts import Verdict
from kitting.facts.words import NeedRule
from kitting.services.bookings.kit_events import extras
from kitting.services.bookings.sources import Source, Sources
from kitting.tables.items import ITEM_NAME, Item
from kitting.views.bookings import NeededView

_ITEMS = select(Item.id, Item.code, ITEM_NAME, Item.unit).where(
    Item.id.in_(bindparam("keys", expanding=True))
)


def extra_apart(
    session: Session,
    sources: Sources,
    bookings: Collection[int],
    needs: Mapping[int, Sequence[Any]],
) -> Mapping[tuple[int, int], int]:
    """Take what was drawn beyond the plan off the sources of bookings, so that no need has it.

    Else what still waits for a need would be told as less than picking takes. Returns how much of
    each item was drawn so, as far as it is beyond the need. Asks the database only where there is
    anything.
    """
    over = {}
    for (booking, item), some in sources.items():
        in_kit = sum(source.picked for source in some)
        if booking in bookings and in_kit:
            needed = sum(row.quantity for row in needs[booking] if row.item_id == item)
            beyond = sum(source.waiting + source.picked for source in some) - needed
            if beyond > 0:
                over[booking, item] = min(in_kit, beyond)
    if not over:
        return {}
    drawn = extras(session, {booking for booking, _ in over})
    found = {key: min(amount, drawn[key]) for key, amount in over.items() if drawn.get(key)}
    for key, amount in found.items():
        for source in reversed(sources[key]):
            some = min(source.picked, amount)
            source.picked -= some
            source.extra += some
            amount -= some
    return found


def left_over(
    session: Session,
    sources: Sources,
    bookings: Collection[int],
    extra: Mapping[tuple[int, int], int],
) -> Mapping[int, tuple[NeededView, ...]]:
    """What is picked for bookings and no need has taken, as lines of which none is needed.

    `extra` is what of it was drawn beyond the plan. Asks the database only where there is anything.
    """
    over: dict[int, dict[int, list[Source]]] = defaultdict(dict)
    for (booking, item), some in sources.items():
        if booking in bookings and (rest := [one for one in some if one.picked + one.extra]):
            over[booking][item] = rest
    if not over:
        return {}
    keys = sorted({item for some in over.values() for item in some})
    items = {row.id: row for row in session.execute(_ITEMS, {"keys": keys})}
    return {
        booking: tuple(
            _line(items[item], rest, extra.get((booking, item), 0))
            for item, rest in sorted(some.items())
        )
        for booking, some in over.items()
    }


def _line(item: Any, rest: list[Source], drawn: int) -> NeededView:
    parts = [(source.of, source.picked + source.extra) for source in rest]
    amount = sum(some for _, some in parts)
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
        sources=tuple(replace(of, quantity=some, picked=some) for of, some in parts),
        elsewhere=(),
        stands_for=(),
        verdict=Verdict.FINE,
        doubts=(),
        extra=drawn,
    )
