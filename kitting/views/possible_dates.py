"""Possible fitting dates: what each costs and how sure it is, before and after a booking."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.money import Money
from kitting.facts.words import DateState
from kitting.views.bookings import BookedJobView
from kitting.views.on_the_way import AwaitedView, VanComingView
from kitting.views.purchasing import (
    LackView,
    OpenDoubtView,
)


@dataclass(frozen=True, slots=True)
class DateView:
    """One possible fitting date: what the kit costs if it must be there, and the chance of it.

    Where nobody offers something that the kit lacks, the chance that it is whole is not known: 0.0
    on a risky date. `rest` is that of what is offered or on its way, which is what costs so much.
    """

    on: date
    by: date
    cost: Money | None
    chance: float
    state: DateState
    rest: float | None = None


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

    No date that lacks something that `nobody_offers` is safe. Nor is one while there are `doubts`,
    which no purchase settles. `left_out` are suppliers with their currency whose prices are in
    another than is bought in. `vans` are transfers that some date counts on: the chances are at
    most those told. `not_known` are orders so late that nobody knows when they come: they count as
    nothing, and a date that hangs on one is risky with a chance of 0. `tax_mixed` are the suppliers
    compared, each with whether tax is in its prices, where that differs. `weekend` are the weekdays
    on which nobody works, Monday being 0. Before there is a booking,
    `bookings` is empty, `car` and `jobs` are what was asked for, and `booked` what of it is booked
    already.
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
    vans: tuple[VanComingView, ...] = ()
    not_known: tuple[AwaitedView, ...] = ()
    tax_mixed: tuple[tuple[str, bool | None], ...] = ()
    weekend: tuple[int, ...] = ()

    @property
    def safe(self) -> bool:
        """Whether a safe date is proven: none is that counts on a van."""
        return self.earliest is not None and not self.doubts and not self.vans
