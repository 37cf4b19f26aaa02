"""What is on its way: each order judged by its own delivery, until it is here and checked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kitting.calc.purchasing.awaited import Coming, relied_on
from kitting.calc.purchasing.delivery import LeadTime, Terms, arrival, chance_still, day_zero
from kitting.services.purchasing.market import LATE, USUAL, Market
from kitting.services.purchasing.short_facts import Awaited, Shortage
from kitting.views.on_the_way import AwaitedView


@dataclass(frozen=True, slots=True)
class Expected:
    """What comes by some days: the chance of what each relies on, and what it lacks without it.

    `needs` per day are what is short and what the orders bring that are too late for the day;
    `late` the numbers of those orders.
    """

    chances: tuple[float, ...]
    needs: tuple[dict[int, int], ...]
    late: tuple[frozenset[str], ...]
    orders: tuple[AwaitedView, ...]
    wanted_by: Mapping[int, tuple[str, ...]]


def expected(market: Market, short: Shortage, by: Sequence[date], target: float) -> Expected:
    """Which orders each day relies on: the surest that together reach the target.

    `by` is until when everything has to be here for each day of the shortage.
    """
    chances = [tuple(_chance(market, one, day) for day in by) for one in short.awaited]
    # What nobody knows counts as nothing.
    coming = [
        Coming(key, one.items, tuple(chance or 0.0 for chance in chances[key]))
        for key, one in enumerate(short.awaited)
    ]
    found = relied_on(short.lacks, coming, target)
    views, wanted = [], dict(short.wanted_by)
    numbers = tuple(booking.number for booking in short.bookings)
    for one, order in zip(coming, short.awaited, strict=True):
        first = next(day for day, items in enumerate(one.items) if items)
        late = any(one.key in some for some in found.late)
        if late:
            for items in one.items:
                wanted |= {item: wanted.get(item, numbers) for item in items}
        chance = chances[one.key][first]
        views.append(AwaitedView(order.order, order.due, order.due_late, chance, late))
    return Expected(
        found.chances,
        found.needs,
        tuple(frozenset(short.awaited[key].order for key in some) for some in found.late),
        tuple(sorted(views, key=lambda view: -(view.chance or 0.0))),
        wanted,
    )


def _chance(market: Market, one: Awaited, by: date) -> float | None:
    """By the supplier's lead times as they are known now, unless the order has dates of its own.

    They say nothing of an order that is not here after its late day: its chance is not known.
    """
    today = market.now.date()
    if one.not_known(today) and by >= today:
        return None
    return chance_still(one.placed_at, _terms(market, one), today, by)


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


def not_known(short: Iterable[Shortage], today: date) -> tuple[AwaitedView, ...]:
    """The orders that are later than their lead times say anything of, each once."""
    found = {
        (order.order, order.due, order.due_late): None
        for one in short for order in one.awaited if order.not_known(today)
    }  # fmt: skip
    return tuple(AwaitedView(*key, chance=None, late=True) for key in sorted(found))


def everything(short: Shortage) -> set[int]:
    """The items that are short or on their way."""
    return {*short.needs, *(item for one in short.awaited for some in one.items for item in some)}
