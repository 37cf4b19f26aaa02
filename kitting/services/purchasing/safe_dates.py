"""Dates: what each possible fitting date costs and its chance; when to order for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import LeadTime, order_by
from kitting.calc.purchasing.sourcing import Offer, Purchase, best_chance, source
from kitting.errors import FigureError
from kitting.facts.words import DateState
from kitting.services.purchasing.market import USUAL, Market, read_market
from kitting.services.purchasing.purchase import TARGET
from kitting.services.purchasing.purchase_view import lack
from kitting.services.purchasing.shortages import shortage
from kitting.views.purchasing import ClosedDayView, DatesView, DateView, OrderByView

DAYS = 12


@dataclass(frozen=True, slots=True)
class _Asked:
    """What has to be there: the `needs` that somebody offers; `complete` if that is all of them."""

    market: Market
    offers: Sequence[Offer]
    needs: Mapping[int, int]
    complete: bool
    target: float


def dates(
    session: Session,
    numbers: Sequence[str],
    now: datetime,
    target: float = TARGET,
    days: int = DAYS,
) -> DatesView:
    """Cost and chance of the next working days of the branch, and the earliest safe one.

    Goods have to be there one working day before the fitting date, to be checked. While nobody
    offers something that is needed, no date is safe.
    """
    short = shortage(session, numbers)
    market = read_market(session, short.branch, list(short.needs), now)
    offers = list(market.priced.values())
    offered = {offer.item for offer in offers}
    needs = {item: amount for item, amount in short.needs.items() if item in offered}
    missing = [item for item in short.needs if item not in offered]
    asked = _Asked(market, offers, needs, complete=not missing, target=target)
    judged = [_judged(asked, day) for day in _next_days(market, now.date(), days)]
    safe = (pair for pair in judged if pair[0].state is DateState.SAFE)
    earliest, bought = next(safe, (None, None))
    last = judged[-1][0].on if judged else now.date()
    return DatesView(
        bookings=tuple(booking.number for booking in short.bookings),
        now=now,
        asked=target,
        dates=tuple(view for view, _ in judged),
        earliest=None if earliest is None else earliest.on,
        order_by=() if earliest is None or bought is None
        else _order_by(market, bought, earliest.by, target),
        closed=_closed(market, now.date(), last),
        nobody_offers=tuple(lack(market, item, short.needs[item]) for item in missing),
    )  # fmt: skip


def _next_days(market: Market, today: date, days: int) -> Iterator[date]:
    """The next working days of the branch after today."""
    day = today
    for _ in range(days):
        day = market.own.next_open(day + timedelta(days=1))
        yield day


def _judged(asked: _Asked, day: date) -> tuple[DateView, Purchase | None]:
    """A date, with the purchase that was found for it if something is to be bought.

    However surely the rest comes, a kit that lacks what nobody offers is safe on no date.
    """
    market = asked.market
    by = market.latest_arrival(day)
    if not asked.needs and asked.complete:
        return DateView(on=day, by=by, cost=None, chance=1.0, state=DateState.SAFE), None
    deliveries = market.deliveries(by)
    found = source(asked.needs, asked.offers, deliveries, asked.target) if asked.needs else None
    if found is not None:
        view = DateView(
            on=day,
            by=by,
            cost=market.money(found.spent),
            chance=found.chance,
            state=DateState.SAFE if asked.complete else DateState.RISKY,
        )
        return view, found
    best = best_chance(asked.needs, asked.offers, deliveries) if asked.needs else 0.0
    cheapest = source(asked.needs, asked.offers, deliveries, best * 0.999) if best else None
    view = DateView(
        on=day,
        by=by,
        cost=None if cheapest is None else market.money(cheapest.spent),
        chance=best,
        state=DateState.RISKY if best else DateState.IMPOSSIBLE,
    )
    return view, None


def _order_by(market: Market, found: Purchase, by: date, target: float) -> tuple[OrderByView, ...]:
    """The last cut-offs: with all of them kept, the chance asked for still holds."""
    used = {market.priced[line.offer].delivery for line in found.lines}
    each = target ** (1 / len(used))
    return tuple(
        OrderByView(
            supplier=parcel.supplier.name,
            usual=order_by(parcel.terms, by, parcel.terms.lead.quantile(USUAL)),
            safe=order_by(parcel.terms, by, _days(parcel.terms.lead, each)),
        )
        for key, parcel in market.parcels.items()
        if key in used
    )


def _days(lead: LeadTime, chance: float) -> int:
    """The days within which a parcel comes with a chance; its longest where too few were seen."""
    try:
        return lead.quantile(chance)
    except FigureError:
        return max(lead.observed, default=lead.late)


def _closed(market: Market, first: date, last: date) -> tuple[ClosedDayView, ...]:
    """Days on which the branch is closed, by name, within the span."""
    return tuple(
        ClosedDayView(on=day, reason=reason)
        for day, reason in sorted(market.own.closed.items())
        if first <= day <= last
    )
