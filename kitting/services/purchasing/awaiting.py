"""What is on its way: each order judged by its own delivery, until it is here and checked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from kitting.calc.purchasing.awaited import Coming
from kitting.calc.purchasing.delivery import LeadTime, Terms, arrival, chance_still, day_zero
from kitting.services.purchasing.market import LATE, USUAL, Market
from kitting.services.purchasing.short_facts import Awaited, Shortage
from kitting.views.on_the_way import AwaitedView


def coming(
    market: Market, short: Shortage, by: Sequence[date], unknown: float = 0.0
) -> tuple[Coming, ...]:
    """What is on its way, by its place among the orders, with the chance that it is here by a day.

    What nobody knows of counts as nothing, or as it is `unknown`.
    """
    return tuple(
        Coming(
            key,
            one.items,
            tuple(
                unknown if chance is None else chance
                for day in by
                for chance in (_chance(market, one, day),)
            ),
        )
        for key, one in enumerate(short.awaited)
    )


def orders_told(
    market: Market,
    short: Shortage,
    by: Sequence[date],
    late: Sequence[frozenset[int]] = (),
) -> tuple[AwaitedView, ...]:
    """Each order with its chance for the first day that waits for it, the surest first.

    `late` are the places of those that each day does not rely on.
    """
    views = []
    for key, order in enumerate(short.awaited):
        first = next(day for day, items in enumerate(order.items) if items)
        chance = _chance(market, order, by[first])
        not_relied = any(key in some for some in late)
        views.append(AwaitedView(order.order, order.due, order.due_late, chance, not_relied))
    return tuple(sorted(views, key=lambda view: -(view.chance or 0.0)))


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
