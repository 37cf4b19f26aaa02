"""What happened to kits beside picking and closing: written down, read, summed."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import BindParameter, bindparam, func, insert, select
from sqlalchemy.orm import Session

from kitting.facts.words import KitEventKind, KitWhy
from kitting.services.bookings.states import BookingFacts
from kitting.tables.bookings import Booking
from kitting.tables.items import Item
from kitting.tables.kit import KitEvent
from kitting.tables.stock import Lot
from kitting.views.kit_life import KitEventView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_other = Booking.metadata.tables["booking"].alias("other")
_EVENTS = (
    select(
        KitEvent.at, KitEvent.kind, KitEvent.quantity, KitEvent.why, KitEvent.note,
        KitEvent.told_by, KitEvent.place, KitEvent.until, Item.code.label("item"), Item.unit,
        Lot.code.label("lot"), _other.c.number.label("other"),
    )
    .outerjoin(Item, KitEvent.item_id == Item.id)
    .outerjoin(Lot, KitEvent.lot_id == Lot.id)
    .outerjoin(_other, KitEvent.other_id == _other.c.id)
    .where(KitEvent.booking_id == bindparam("booking"))
    .order_by(KitEvent.id)
)  # fmt: skip
_EXTRA = (
    select(KitEvent.booking_id, KitEvent.item_id, func.sum(KitEvent.quantity).label("amount"))
    .where(
        KitEvent.booking_id.in_(_KEYS),
        KitEvent.kind == KitEventKind.DRAWN,
        KitEvent.why == KitWhy.EXTRA,
    )
    .group_by(KitEvent.booking_id, KitEvent.item_id)
)


@dataclass(frozen=True, slots=True)
class Told:
    """Why something happened to a kit, in words of whoever says so (`told_by`, if that is told).

    Spaces at the ends and more than one between words do not count.
    """

    note: str | None = None
    told_by: str | None = None
    why: KitWhy | None = None
    other: int | None = None  # the booking that it was lent to or borrowed from

    def __post_init__(self) -> None:
        for name in ("note", "told_by"):
            text: str | None = getattr(self, name)
            object.__setattr__(self, name, " ".join(text.split()) or None if text else None)


@dataclass(frozen=True, slots=True)
class Moment:
    """When something happens, and by which request; without `keep` it is only looked at.

    `token` is of the request, so that it is done once however often it is sent.
    """

    at: datetime
    token: str | None = None
    keep: bool = True

    @property
    def today(self) -> date:
        """The day of it."""
        return self.at.date()


@dataclass(frozen=True, slots=True)
class Happened:
    """So much (thousandths) of a lot of an item, and what of that lot is in the kit afterwards.

    `into` are the lots that it was put into, with how much, where that is not the lot it is of.
    """

    kind: KitEventKind
    item: int
    lot: int | None
    quantity: int
    in_kit: int | None = None
    into: tuple[tuple[int, int], ...] = ()


def write_events(
    session: Session,
    booking: BookingFacts,
    happened: Sequence[Happened],
    told: Told,
    at: datetime,
) -> None:
    """Write down what happened to a kit."""
    if not happened:
        return
    session.execute(
        insert(KitEvent),
        [
            {
                "booking_id": booking.id, "at": at, "kind": one.kind, "item_id": one.item,
                "lot_id": one.lot, "quantity": one.quantity, "in_kit": one.in_kit,
                "other_id": told.other, "why": told.why, "note": told.note,
                "told_by": told.told_by,
            }
            for one in happened
        ],
    )  # fmt: skip


def read_events(session: Session, booking: BookingFacts) -> tuple[KitEventView, ...]:
    """What happened to a kit, in order."""
    return tuple(
        KitEventView(
            at=row.at,
            kind=row.kind,
            item=row.item,
            unit=row.unit,
            quantity=row.quantity,
            lot=row.lot,
            other=row.other,
            why=row.why,
            note=row.note,
            told_by=row.told_by,
            place=row.place,
            until=row.until,
        )
        for row in session.execute(_EVENTS, {"booking": booking.id})
    )


def extras(session: Session, bookings: Collection[int]) -> Mapping[tuple[int, int], int]:
    """What was drawn beyond what is planned and told why, by booking and item, in thousandths."""
    rows = session.execute(_EXTRA, {"keys": sorted(bookings)})
    return {(row.booking_id, row.item_id): int(row.amount) for row in rows}
