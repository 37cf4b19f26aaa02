"""Shortages: what some bookings of one branch lack together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.states import BookingFacts, find_booking
from kitting.services.bookings.view import booking_view
from kitting.services.stock.lots import find_items
from kitting.tables.supply import Branch


@dataclass(frozen=True, slots=True)
class Shortage:
    """What some bookings of one branch lack: thousandths by item, and which bookings want it."""

    branch: Branch
    bookings: tuple[BookingFacts, ...]
    needs: Mapping[int, int]
    wanted_by: Mapping[int, tuple[str, ...]]

    @property
    def fit_on(self) -> date:
        """The first fitting date among the bookings."""
        return min(booking.fit_on for booking in self.bookings)


def shortage(session: Session, numbers: Sequence[str]) -> Shortage:
    """What the bookings lack together; spares for inspections are left out.

    What is promised and held, or does not keep until the fitting date, is lacking.

    Raises KittingError for bookings of two branches, or one that is closed.
    """
    bookings = tuple(find_booking(session, number) for number in dict.fromkeys(numbers))
    if len({booking.branch_id for booking in bookings}) > 1:
        raise KittingError(
            "these bookings are of two branches; an order goes to one. Buy for each branch"
        )
    needs: dict[int, int] = defaultdict(int)
    wanted: dict[int, list[str]] = defaultdict(list)
    for booking in bookings:
        if booking.state not in OPEN_BOOKINGS:
            raise KittingError(f"{booking.number} is {booking.state}; nothing is bought for it")
        view = booking_view(session, booking)
        keys = find_items(session, sorted({need.item for need in view.needs}))
        for need in view.needs:
            lacking = need.short + sum(source.quantity for source in need.unfit)
            if lacking and not need.spare:
                needs[keys[need.item].id] += lacking
                wanted[keys[need.item].id].append(booking.number)
    branch = session.get_one(Branch, bookings[0].branch_id)
    return Shortage(
        branch, bookings, dict(needs), {item: tuple(names) for item, names in wanted.items()}
    )
