"""What bookings lack, what of it is on its way, and what is free and taken for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from kitting.calc.purchasing.shortage import Cover
from kitting.facts.words import BookingState, ShelfPolicy
from kitting.services.purchasing.market import Buyer
from kitting.views.on_the_way import VanComingView


@dataclass(frozen=True, slots=True)
class ShortBooking:
    """A booking that is bought for; `policy` is the table that judges its rubber."""

    id: int
    number: str
    branch: int
    fit_on: date
    state: BookingState
    made_at: datetime
    policy: ShelfPolicy


@dataclass(frozen=True, slots=True)
class Awaited:
    """An order that bookings wait for: what of it has to be there by each day they are fitted.

    Thousandths by item, for the days of the shortage in order.
    """

    order: str
    supplier: int
    placed_at: datetime
    due: date
    due_late: date
    items: tuple[Mapping[int, int], ...]

    def not_known(self, today: date) -> bool:
        """Whether it is later than its lead time says anything of."""
        return today > self.due_late


@dataclass(frozen=True, slots=True)
class TakenLot:
    """So much of a free lot, in thousandths, that covers what has to be there of a booking."""

    booking: int
    item: int
    lot: int
    quantity: int


@dataclass(frozen=True, slots=True)
class Shortage:
    """What some bookings of one branch lack, by the days they are fitted on.

    `days` are those days in order, `day_of` that of each booking, and `lacks` what each day lacks,
    thousandths by item; `wanted_by` names the bookings that want an item. `awaited` are the orders
    that bring the rest, `vans` the transfers that are counted, `unproven` the free stock of unknown
    age that is. `again` finds anew what is short if all are fitted on another day.
    """

    branch: Buyer
    bookings: tuple[ShortBooking, ...]
    days: tuple[date, ...]
    day_of: Mapping[int, date]
    lacks: tuple[Mapping[int, int], ...]
    wanted_by: Mapping[int, tuple[str, ...]]
    awaited: tuple[Awaited, ...] = ()
    vans: tuple[VanComingView, ...] = ()
    unproven: tuple[TakenLot, ...] = ()
    again: Callable[[date], Shortage] | None = field(default=None, compare=False, repr=False)

    def all_on(self, day: date) -> Shortage:
        """What is short if all are fitted on one day; as it is now where nobody finds it anew."""
        if self.again is not None:
            return self.again(day)
        return replace(
            self,
            days=(day,),
            day_of=dict.fromkeys(self.day_of, day),
            lacks=(self.needs,),
            awaited=tuple(replace(one, items=(_together(one.items),)) for one in self.awaited),
        )

    @property
    def needs(self) -> dict[int, int]:
        """What all days lack together, thousandths by item."""
        return _together(self.lacks)

    @property
    def fit_on(self) -> date:
        """The first fitting date among the bookings."""
        return self.days[0]

    def of_day(self, day: date) -> tuple[ShortBooking, ...]:
        """The bookings that are fitted on a day."""
        return tuple(one for one in self.bookings if self.day_of[one.id] == day)


@dataclass(frozen=True, slots=True)
class Taken:
    """What is free and taken by bookings, by key, with the heads of orders and what vans bring.

    `unproven` is what of it is of unknown age.
    """

    covers: Mapping[int, list[Cover]] = field(default_factory=dict)
    heads: Sequence[Any] = ()
    vans: tuple[VanComingView, ...] = ()
    unproven: tuple[TakenLot, ...] = ()


def _together(days: Sequence[Mapping[int, int]]) -> dict[int, int]:
    """What all days have together, thousandths by item."""
    found: dict[int, int] = {}
    for some in days:
        for item, amount in some.items():
            found[item] = found.get(item, 0) + amount
    return found
