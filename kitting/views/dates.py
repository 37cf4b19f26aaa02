"""Possible fitting dates: what each costs, how sure it is, and when to order for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.money import Money
from kitting.facts.words import DateState
from kitting.views.bookings import BookedJobView
from kitting.views.purchasing import LackView, OpenDoubtView


@dataclass(frozen=True, slots=True)
class DateView:
    """One possible fitting date: what the kit costs if it must be there, and the chance of it."""

    on: date
    by: date
    cost: Money | None
    chance: float
    state: DateState


@dataclass(frozen=True, slots=True)
class OrderByView:
    """When to order from a supplier at the latest for a date, by its usual and its late days."""

    supplier: str
    usual: datetime
    safe: datetime


@dataclass(frozen=True, slots=True)
class ClosedDayView:
    """A day on which the branch is closed, with the name of the holiday."""

    on: date
    reason: str


@dataclass(frozen=True, slots=True)
class DatesView:
    """Possible dates for some bookings; `earliest` is the first for which all comes in time.

    What `nobody_offers` is not counted in the chances: while there is any, no date is safe. Nor is
    one while there are `doubts`, which no purchase settles. `left_out` are suppliers with their
    currency whose prices are in another than is bought in. Before there is a booking, `bookings` is
    empty, `car` and `jobs` are what was asked for, and `booked` what of it is booked already.
    """

    bookings: tuple[str, ...]
    now: datetime
    asked: float
    dates: tuple[DateView, ...]
    earliest: date | None
    order_by: tuple[OrderByView, ...]
    closed: tuple[ClosedDayView, ...]
    nobody_offers: tuple[LackView, ...] = ()
    doubts: tuple[OpenDoubtView, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    car: str | None = None
    jobs: tuple[str, ...] = ()
    booked: tuple[BookedJobView, ...] = ()

    @property
    def safe(self) -> bool:
        """Whether there is a safe date."""
        return self.earliest is not None and not self.doubts
