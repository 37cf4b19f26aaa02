"""What is asked of a purchase: each day with what it lacks, and what of it can be had."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlalchemy.orm import Session

from kitting.calc.purchasing.awaited import Answer, Offered, Sought
from kitting.calc.purchasing.days import Days
from kitting.facts.exchange_rates import PricedIn
from kitting.services.purchasing.awaiting import coming, everything
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.short_facts import Shortage
from kitting.views.purchasing import ForBookingView

_LOOK_AHEAD = 60


@dataclass(frozen=True, slots=True)
class Asked:
    """What some days lack, all of it here `by` their day with the chance asked for."""

    market: Market
    short: Shortage
    by: Sequence[date]
    target: float

    def sought(self, unknown: float = 0.0) -> Sought:
        """What is to be had; what nobody knows of counts as nothing, or as it is `unknown`."""
        market = self.market
        offered = Offered(
            list(market.priced.values()), market.deliveries(self.by[0]), market.chances(self.by)
        )
        found = coming(market, self.short, self.by, unknown)
        return Sought(self.short.lacks, found, offered, self.target)

    @property
    def nobody_offers(self) -> dict[int, int]:
        """What is short and offered by nobody, thousandths by item."""
        offered = {offer.item for offer in self.market.priced.values()}
        return {item: some for item, some in self.short.needs.items() if item not in offered}

    @property
    def of_what_is_offered(self) -> Asked:
        """The same without what nobody offers."""
        nobody = self.nobody_offers
        lacks = tuple(
            {item: amount for item, amount in some.items() if item not in nobody}
            for some in self.short.lacks
        )
        return replace(self, short=replace(self.short, lacks=lacks))

    def late(self, answer: Answer) -> tuple[frozenset[str], ...]:
        """The numbers of the orders that each day does not rely on."""
        return tuple(
            frozenset(self.short.awaited[key].order for key in some) for some in answer.late
        )

    def days(self, answer: Answer) -> Days:
        """The days with what is bought for them, and the chance that it has to come with."""
        wanted = tuple(min(1.0, self.target / chance) for chance in answer.waited)
        return Days(answer.had, wanted, self.market.chances(self.by))

    def wanted_by(self, answer: Answer) -> dict[int, tuple[str, ...]]:
        """Which bookings want an item that is bought, without those that cannot have it in time."""
        numbers = tuple(booking.number for booking in self.short.bookings)
        wanted = dict(self.short.wanted_by)
        for some in answer.late:
            for key in some:
                for items in self.short.awaited[key].items:
                    wanted |= {item: wanted.get(item, numbers) for item in items}
        left_out = {
            (item, booking.number)
            for day, needs in enumerate(answer.needs)
            for item in needs.keys() - answer.had[day].keys()
            for booking in self.short.of_day(self.short.days[day])
        }
        return {
            item: tuple(number for number in some if (item, number) not in left_out)
            for item, some in wanted.items()
        }

    def whole(self, chances: Sequence[float]) -> tuple[ForBookingView, ...]:
        """How sure each booking is to be whole, by the chance of its day."""
        return tuple(
            ForBookingView(booking.number, day, self.by[place], chances[place])
            for place, day in enumerate(self.short.days)
            for booking in self.short.of_day(day)
            if chances
        )


def not_to_be_had(answer: Answer) -> list[tuple[int, int]]:
    """What of each item cannot be had for its day, thousandths; in order."""
    left: dict[int, int] = {}
    for needs, had in zip(answer.needs, answer.had, strict=True):
        for item, amount in needs.items():
            left[item] = left.get(item, 0) + amount - had.get(item, 0)
    return [(item, amount) for item, amount in sorted(left.items()) if amount > 0]


def best_chance(sought: Sought, missing: Iterable[int]) -> float:
    """The highest chance of the least sure of some days."""
    return min(sought.best_chance(day) for day in missing)


def asked_on(market: Market, short: Shortage, day: date, target: float) -> Asked:
    """What is asked of a shortage that is all of one fitting day."""
    return Asked(market, short, (market.latest_arrival(day),), target)


def wide_enough(session: Session, market: Market, priced: PricedIn, short: Shortage) -> Market:
    """The market, read anew where a shortage has items or orders that it does not know."""
    suppliers = {one.supplier for one in short.awaited}
    if everything(short) <= market.items.keys() and suppliers <= market.suppliers.keys():
        return market
    items = {*everything(short), *market.items}
    suppliers |= market.suppliers.keys()
    return read_market(session, short.branch, items, market.now, suppliers, priced)


def would_do(
    market: Market,
    short: Shortage,
    target: float,
    wider: Callable[[Shortage], Market] | None = None,
) -> date | None:
    """The first fitting date after that of a shortage that can be had with the chance asked for.

    Each is judged by what is lacking and what has come by then; `wider` finds the market of what is
    lacking on a day, where that may be more than before.
    """
    day = short.fit_on
    for _ in range(_LOOK_AHEAD):
        day = market.own.next_open(day + timedelta(days=1))
        some = short.all_on(day)
        offered = market if wider is None else wider(some)
        if asked_on(offered, some, day, target).sought().can_be_had:
            return day
    return None
