"""Rows of the pick list of a booking: what is its own to take, and beside it what is not here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.facts.words import KitEventKind, MovementKind
from kitting.tables.items import Item
from kitting.tables.kit import KitEvent
from kitting.tables.stock import Lot, Movement
from kitting.views.bookings import NeededView, PromisedView, SourceKind
from kitting.views.kit import PickLine

_PICKED = (
    select(Item.code, func.max(Movement.at).label("at"))
    .join(Lot, Movement.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(Movement.booking_id == bindparam("booking"), Movement.kind == MovementKind.PICKED)
    .group_by(Item.code)
)
_DRAWN = (
    select(Item.code, KitEvent.told_by)
    .join(Item, KitEvent.item_id == Item.id)
    .where(
        KitEvent.booking_id == bindparam("booking"),
        KitEvent.kind == KitEventKind.DRAWN,
        KitEvent.told_by.is_not(None),
    )
    .order_by(KitEvent.id)
)


@dataclass(frozen=True, slots=True)
class Picked:
    """When something of each item was last picked, and who drew it, by item code."""

    at: Mapping[str, datetime]
    by: Mapping[str, str]


def read_picked(session: Session, booking: int) -> Picked:
    """When and by whom what lies in a kit was picked, as far as anybody said."""
    asked = {"booking": booking}
    return Picked(
        {row.code: row.at for row in session.execute(_PICKED, asked)},
        {code: name for code, name in session.execute(_DRAWN, asked) if name is not None},
    )


def rows_of(line: PickLine, need: NeededView | None, picked: Picked) -> Iterator[PickLine]:
    """A row of the plan as the rows of a booking: one for each place where its lots lie.

    What is not to be taken now stands on the first of them, told once.
    """
    if need is None:
        # Nothing was ever promised to it: the booking does not know that it is needed.
        wanted = line.content.quantity
        spare = line.content.spare
        yield replace(
            line, short=wanted, lacks=0 if spare else wanted, spares_lacking=wanted if spare else 0
        )
        return
    places: dict[str | None, list[PromisedView]] = defaultdict(list)
    for source in sorted(need.sources, key=_expiring):
        if source.kind is SourceKind.LOT and source.may_be_fitted:
            places[source.bin or line.bin].append(source)
    content = replace(line.content, quantity=need.needed)
    first, *others = places or {line.bin: []}
    not_now = [source for source in need.sources if _is_not_now(source)]
    row = replace(line, content=content)
    if any(source.picked for source in need.sources):
        row = replace(row, picked_at=picked.at.get(need.item), picked_by=picked.by.get(need.item))
    yield replace(
        row,
        bin=first,
        sources=(*places[first], *not_now),
        short=need.short,
        lacks=need.lacking,
        spares_lacking=need.short - need.lacking,
        awaited=sum(map(_awaited, not_now)),
        unfit=sum(one.quantity for one in not_now if one.kind is SourceKind.LOT),
        elsewhere=need.elsewhere,
    )
    for place in others:
        yield replace(row, bin=place, sources=tuple(places[place]))


def _awaited(source: PromisedView) -> int:
    return source.quantity - source.picked if source.kind is SourceKind.ORDER else 0


def _is_not_now(source: PromisedView) -> bool:
    return source.kind is SourceKind.ORDER or not source.may_be_fitted


def _expiring(source: PromisedView) -> date:
    """What expires first is drawn first; what keeps comes last."""
    return source.keeps_to or date.max
