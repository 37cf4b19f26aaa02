"""Who gets what is left of an opened pack: what is promised of a lot follows its remainder."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.services.stock.ledger import Claim, set_all_aside
from kitting.tables.bookings import Booking, Promise

_WAITING = (
    select(Promise.id, Promise.lot_id, Promise.booking_id, Promise.item_id, Promise.waiting)
    .add_columns(Booking.fit_on)
    .join(Booking, Promise.booking_id == Booking.id)
    .where(Promise.lot_id.in_(bindparam("keys", expanding=True)), Promise.waiting > 0)
    .order_by(Booking.fit_on, Booking.id)
)


@dataclass(frozen=True, slots=True)
class Parted:
    """A lot of which a pack was opened: `sealed` and `remainder` in thousandths.

    The remainder keeps to `keeps_to`.
    """

    lot: int
    sealed: int
    remainder: int
    keeps_to: date


@dataclass(frozen=True, slots=True)
class Share:
    """So much (thousandths) of a promise that goes with the remainder of its lot."""

    promise: int
    booking: int
    item: int
    lot: int
    quantity: int


def shares(session: Session, parted: Sequence[Parted]) -> list[Share]:
    """What of each promise goes with the remainder of its lot, in a statement.

    Who works first uses the opened pack up, while it keeps. What the sealed packs do not hold goes
    with it too, of who works last: that its time is over then is seen on the booking.
    """
    waiting: dict[int, list[Any]] = defaultdict(list)
    for row in session.execute(_WAITING, {"keys": [one.lot for one in parted]}):
        waiting[row.lot_id].append(row)
    found: list[Share] = []
    for one in parted:
        found += _of_lot(one, waiting[one.lot])
    return found


def _of_lot(parted: Parted, waiting: Sequence[Any]) -> list[Share]:
    given = dict.fromkeys((row.id for row in waiting), 0)
    left = parted.remainder
    for row in waiting:
        if row.fit_on <= parted.keeps_to:
            given[row.id] = min(left, row.waiting)
            left -= given[row.id]
    beyond = sum(row.waiting for row in waiting) - sum(given.values()) - parted.sealed
    for row in reversed(waiting):
        more = max(0, min(beyond, row.waiting - given[row.id]))
        given[row.id] += more
        beyond -= more
    return [
        Share(row.id, row.booking_id, row.item_id, parted.lot, given[row.id])
        for row in waiting
        if given[row.id]
    ]


def promise_shares(session: Session, shared: Sequence[Share], into: Mapping[int, int]) -> None:
    """Promise shares that were let go again: of the opened lots `into` which their lots went."""
    for booking in dict.fromkeys(share.booking for share in shared):
        set_all_aside(
            session,
            booking,
            [
                Claim(share.item, share.quantity, lot=into[share.lot])
                for share in shared
                if share.booking == booking
            ],
        )
