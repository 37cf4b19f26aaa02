"""What is on its way: each order judged by its own delivery, until it is here and checked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kitting.calc.purchasing.delivery import LeadTime, Terms, arrival, chance_still, day_zero
from kitting.services.purchasing.market import LATE, USUAL, Market
from kitting.services.purchasing.shortages import Awaited, Shortage
from kitting.views.purchasing import AwaitedView


@dataclass(frozen=True, slots=True)
class Expected:
    """What comes by a day: the chance of all that is relied on, and what is lacking without it.

    `short` is what is short and what the orders bring that are too late to be relied on.
    """

    chance: float
    short: Shortage
    orders: tuple[AwaitedView, ...]


def expected(market: Market, short: Shortage, by: date, target: float) -> Expected:
    """Which orders are relied on for a day: the surest that together reach the target."""
    chances = {one.order: _chance(market, one, by) for one in short.awaited}
    together, views, late = 1.0, [], []
    for one in sorted(short.awaited, key=lambda one: (-chances[one.order], one.order)):
        relied_on = together * chances[one.order] >= target
        if relied_on:
            together *= chances[one.order]
        else:
            late.append(one)
        views.append(
            AwaitedView(
                order=one.order,
                due=one.due,
                due_late=one.due_late,
                chance=chances[one.order],
                late=not relied_on,
            )
        )
    return Expected(together, _with_late(short, late), tuple(views))


def _with_late(short: Shortage, late: list[Awaited]) -> Shortage:
    needs: dict[int, int] = defaultdict(int, short.needs)
    numbers = tuple(booking.number for booking in short.bookings)
    wanted: dict[int, tuple[str, ...]] = dict(short.wanted_by)
    for one in late:
        for item, amount in one.items.items():
            needs[item] += amount
            wanted.setdefault(item, numbers)
    return replace(short, needs=dict(needs), wanted_by=wanted)


def _chance(market: Market, one: Awaited, by: date) -> float:
    """By the supplier's lead times as they are known now, unless the order has dates of its own."""
    return chance_still(one.placed_at, _terms(market, one), market.now.date(), by)


def _terms(market: Market, one: Awaited) -> Terms:
    """The supplier's own terms if the order's two days are those that they gave when it was placed.

    Days that somebody changed, or that follow a lead time of a part, stand for a law of their own.
    """
    supplier = market.suppliers[one.supplier]
    then = supplier.at(one.placed_at)
    if (one.due, one.due_late) == tuple(
        arrival(one.placed_at, then, then.lead.quantile(chance)) for chance in (USUAL, LATE)
    ):
        return supplier.terms
    zero = day_zero(one.placed_at, then)
    usual, late = (_days(then, zero, day) for day in (one.due, one.due_late))
    return replace(then, lead=LeadTime(usual, max(usual, late)))


def _days(terms: Terms, zero: date, day: date) -> int:
    return max(0, terms.calendar.between(zero, day + timedelta(days=1)) - 1)


def everything(short: Shortage) -> Mapping[int, int]:
    """The items that are short or on their way."""
    items: dict[int, int] = dict(short.needs)
    for one in short.awaited:
        items |= one.items
    return items
