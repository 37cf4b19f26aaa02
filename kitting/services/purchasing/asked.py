"""What is asked of a purchase: each day with what it lacks, and what of it can be had."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kitting.calc.purchasing.days import Days
from kitting.calc.purchasing.sourcing import best_chance
from kitting.calc.purchasing.sourcing_by_days import Scheduled, lacking_by_days, source_by_days
from kitting.services.purchasing.awaiting import Expected
from kitting.services.purchasing.market import Market
from kitting.services.purchasing.short_facts import Shortage
from kitting.views.purchasing import ForBookingView


@dataclass(frozen=True, slots=True)
class Asked:
    """What some days lack beside what comes, all of it here `by` their day with a chance."""

    market: Market
    short: Shortage
    by: Sequence[date]
    coming: Expected
    target: float

    @property
    def days(self) -> Days:
        """The days with the chance that is left to ask for of what is bought."""
        wanted = tuple(min(1.0, self.target / chance) for chance in self.coming.chances)
        return Days(self.coming.needs, wanted, self.market.chances(self.by))

    @property
    def needs(self) -> dict[int, int]:
        """What all days lack together, thousandths by item."""
        return self.days.together

    def bought(self) -> tuple[Days, Scheduled | None]:
        """The cheapest purchase of all that can be had, and the days with what it is for.

        Where all of it cannot be had, each day is tried alone: what it cannot have is left out.
        """
        days, offers = self.days, list(self.market.priced.values())
        had = self._only(days, lacking_by_days(days, offers))
        found = self._source(had)
        if found is None and len(had.needs) > 1:
            for day in range(len(had.needs)):
                if any(had.needs[day].values()) and self._source(_alone(had, day)) is None:
                    had = self._only(had, self._all_of(had, day))
            found = self._source(had)
        return (had, found) if any(had.needs) else (had, None)

    def missing(self, had: Days, found: Scheduled | None) -> frozenset[int]:
        """The places of the days that lack something that is not bought."""
        return frozenset(
            day
            for day, needs in enumerate(self.days.needs)
            if needs and (found is None or needs != had.needs[day])
        )

    def wanted_by(self, had: Days) -> dict[int, tuple[str, ...]]:
        """Which bookings want an item that is bought, without those that cannot have it in time."""
        left_out = {
            (item, booking.number)
            for day, needs in enumerate(self.days.needs)
            for item in needs.keys() - had.needs[day].keys()
            for booking in self.short.of_day(self.short.days[day])
        }
        return {
            item: tuple(number for number in numbers if (item, number) not in left_out)
            for item, numbers in self.coming.wanted_by.items()
        }

    def not_offered(self, had: Days) -> list[tuple[int, int]]:
        """What of each item cannot be had for its day, thousandths; in order."""
        left = {item: amount - had.together.get(item, 0) for item, amount in self.needs.items()}
        return [(item, amount) for item, amount in sorted(left.items()) if amount > 0]

    def best_chance(self, missing: Iterable[int]) -> float:
        """The highest chance of the least sure of some days."""
        offers = list(self.market.priced.values())
        return min(
            best_chance(self.coming.needs[day], offers, self.market.deliveries(self.by[day]))
            * self.coming.chances[day]
            for day in missing
        )

    def whole(self, chances: Sequence[float]) -> tuple[ForBookingView, ...]:
        """How sure each booking is to be whole, by the chance of its day."""
        return tuple(
            ForBookingView(booking.number, day, self.by[place], chances[place])
            for place, day in enumerate(self.short.days)
            for booking in self.short.of_day(day)
            if chances
        )

    def _source(self, days: Days) -> Scheduled | None:
        market = self.market
        return source_by_days(days, market.priced.values(), market.deliveries(self.by[0]))

    def _only(self, days: Days, without: Sequence[Sequence[int]]) -> Days:
        needs = tuple(
            {item: amount for item, amount in some.items() if item not in left_out}
            for some, left_out in zip(days.needs, without, strict=True)
        )
        return replace(days, needs=needs)

    def _all_of(self, days: Days, day: int) -> list[list[int]]:
        return [list(needs) if at == day else [] for at, needs in enumerate(days.needs)]


def _alone(days: Days, day: int) -> Days:
    """One of some days by itself."""
    return Days(
        (days.needs[day],),
        (days.targets[day],),
        {key: (chances[day],) for key, chances in days.chances.items()},
    )
