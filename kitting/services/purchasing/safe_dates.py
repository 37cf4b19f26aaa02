"""Dates: what each possible fitting date costs and how sure it is; when to order for it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import LeadTime, order_by
from kitting.calc.purchasing.sourcing import Purchase, best_chance, source
from kitting.errors import FigureError
from kitting.facts.money import format_money
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.purchase import SURE
from kitting.services.purchasing.shortages import shortage
from kitting.views.purchasing import DatesView, DateView, OrderByView

DAYS = 12


def dates(
    session: Session,
    numbers: Sequence[str],
    now: datetime,
    sure: float = SURE,
    days: int = DAYS,
) -> DatesView:
    """Cost and chance of the next working days of the branch, and the earliest safe one.

    Goods have to be there one working day before the fitting date, to be checked.
    """
    short = shortage(session, numbers)
    market = read_market(session, short.branch, list(short.needs), now)
    offers = list(market.priced.values())
    offered = {offer.item for offer in offers}
    nobody = tuple(
        f"{market.items[item].code} {market.items[item].name}"
        for item in short.needs
        if item not in offered
    )
    needs = {item: amount for item, amount in short.needs.items() if item in offered}
    views: list[DateView] = []
    earliest: date | None = None
    chosen: Purchase | None = None
    day = now.date()
    for _ in range(days):
        day = market.own.next_open(day + timedelta(days=1))
        by = market.latest_arrival(day)
        deliveries = market.deliveries(by)
        found = source(needs, offers, deliveries, sure) if needs else None
        if not needs and not nobody:
            views.append(DateView(day, by, None, 1.0, "safe"))
        elif found is not None:
            views.append(DateView(day, by, _cost(market, found), found.chance, "safe"))
        else:
            best = best_chance(needs, offers, deliveries) if needs else 0.0
            cheapest = source(needs, offers, deliveries, best * 0.999) if best else None
            cost = None if cheapest is None else _cost(market, cheapest)
            views.append(DateView(day, by, cost, best, "risky" if best else "impossible"))
        if views[-1].state == "safe" and earliest is None and not nobody:
            earliest, chosen = day, found
    by = market.latest_arrival(earliest) if earliest else now.date()
    return DatesView(
        bookings=tuple(booking.number for booking in short.bookings),
        now=now,
        asked=sure,
        dates=tuple(views),
        earliest=earliest,
        order_by=_order_by(market, chosen, by, sure) if chosen else (),
        closed=tuple(_closed(market, now.date(), day)),
        nobody_offers=nobody,
    )


def _cost(market: Market, found: Purchase) -> str:
    currency = next(iter(market.parcels.values())).supplier.currency
    return format_money(found.spent, currency)


def _order_by(market: Market, found: Purchase, by: date, sure: float) -> tuple[OrderByView, ...]:
    """The last cut-offs: with all of them kept, the chance asked for still holds."""
    used = {market.priced[line.offer].delivery for line in found.lines}
    each = sure ** (1 / len(used))
    return tuple(
        OrderByView(
            parcel.supplier.name,
            order_by(parcel.terms, by, parcel.terms.lead.quantile(0.5)),
            order_by(parcel.terms, by, _days(parcel.terms.lead, each)),
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


def _closed(market: Market, first: date, last: date) -> list[str]:
    """Days on which the branch is closed, by name, within the span."""
    return [
        f"{day} {reason}"
        for day, reason in sorted(market.own.closed.items())
        if first <= day <= last
    ]
