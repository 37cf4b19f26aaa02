"""What is not fine of some bookings and no purchase settles, and which old stock covers part."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import shelf_of
from kitting.facts.units import Quantity
from kitting.facts.verdicts import Aspect, Doubt, Verdict
from kitting.facts.words import LotState
from kitting.services.bookings.lacks import age_unknown
from kitting.services.bookings.unbooked import Unbooked, unbooked_doubts
from kitting.services.bookings.view import booking_views
from kitting.services.purchasing.short_facts import ShortBooking, TakenLot
from kitting.services.stock.lots import STORED, stored
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.views.purchasing import OldStockView, OpenDoubtView, ParcelView

# What is on hold or expired is bought anew; of unknown age it is not.
_BOUGHT_ANEW = (Aspect.HOLD, Aspect.AGE)
_LOTS = (
    select(Lot.id, Lot.code, Item.code.label("item"), Item.unit, *STORED)
    .join(Item, Lot.item_id == Item.id)
    .where(Lot.id.in_(bindparam("keys", expanding=True)))
)


@dataclass(frozen=True, slots=True)
class Standing:
    """What stays in doubt when everything has come, and the old stock in the kits, by item code."""

    doubts: tuple[OpenDoubtView, ...]
    old_stock: Mapping[str, tuple[OldStockView, ...]]


def open_doubts(
    session: Session, bookings: Sequence[ShortBooking], unproven: Iterable[TakenLot] = ()
) -> tuple[OpenDoubtView, ...]:
    """The doubts of bookings that stay when everything has come, in the order given.

    `unproven` is what of free stock they count on, though its age is unknown.
    """
    return standing(session, bookings, unproven).doubts


def standing(
    session: Session, bookings: Sequence[ShortBooking], unproven: Iterable[TakenLot] = ()
) -> Standing:
    """The same, with the stock of unknown age that is promised to the bookings or counted."""
    views = booking_views(session, [booking.id for booking in bookings])
    doubts = [OpenDoubtView(view.number, doubt) for view in views for doubt in lasting(view.doubts)]
    old: dict[str, list[OldStockView]] = defaultdict(list)
    for view in views:
        for need in (need for need in view.needs if need.must):
            for source in need.sources:
                if source.state is LotState.AGE_UNKNOWN and source.lot is not None:
                    why = source.keeps_why
                    one = OldStockView(view.number, source.lot, source.quantity, why)
                    old[need.item].append(one)
    for item, unit, one in _counted(session, bookings, unproven):
        old[item].append(one)
        doubts.append(_of_unknown_age(item, unit, one))
    return Standing(
        tuple(dict.fromkeys(doubts)),
        {item: tuple(dict.fromkeys(some)) for item, some in old.items()},
    )


def free_doubts(
    session: Session, bookings: Sequence[ShortBooking], unproven: Iterable[TakenLot]
) -> tuple[OpenDoubtView, ...]:
    """That the age of free stock that is counted is not known."""
    return tuple(_of_unknown_age(*one) for one in _counted(session, bookings, unproven))


def _of_unknown_age(item: str, unit: str, one: OldStockView) -> OpenDoubtView:
    reason = age_unknown(item, Quantity(one.quantity, unit), one.lot, one.why)
    return OpenDoubtView(one.booking, Doubt(Verdict.UNKNOWN, Aspect.AGE, reason))


def _counted(
    session: Session, bookings: Sequence[ShortBooking], unproven: Iterable[TakenLot]
) -> list[tuple[str, str, OldStockView]]:
    """Free stock of unknown age, with the code and unit of its item."""
    taken = tuple(unproven)
    if not taken:
        return []
    keys = {"keys": sorted({one.lot for one in taken})}
    rows: dict[int, Any] = {row.id: row for row in session.execute(_LOTS, keys)}
    by_id = {booking.id: booking for booking in bookings}
    return [
        (row.item, row.unit, OldStockView(booking.number or None, row.code, one.quantity, why))
        for one in taken
        for row, booking in ((rows[one.lot], by_id[one.booking]),)
        for why in (shelf_of(stored(row), booking.policy).reason,)
    ]


def with_old_stock(
    parcels: Iterable[ParcelView], old: Mapping[str, tuple[OldStockView, ...]]
) -> tuple[ParcelView, ...]:
    """The parcels, each line with the old stock that meets the same need: as bad as the worst."""
    return tuple(
        replace(
            parcel,
            lines=tuple(
                replace(line, old_stock=old[line.item], verdict=Verdict.UNKNOWN)
                if line.needed and line.item in old
                else line
                for line in parcel.lines
            ),
        )
        for parcel in parcels
    )


def open_doubts_unbooked(session: Session, case: Unbooked) -> tuple[Doubt, ...]:
    """The same of a kit that nobody has booked."""
    return lasting(unbooked_doubts(session, case))


def lasting(doubts: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """The doubts that no purchase settles."""
    return tuple(doubt for doubt in doubts if not _bought(doubt))


def _bought(doubt: Doubt) -> bool:
    if doubt.aspect is Aspect.STOCK:
        return True
    return doubt.verdict is Verdict.NO and doubt.aspect in _BOUGHT_ANEW
