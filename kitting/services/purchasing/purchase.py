"""Buying: what is short of some bookings, bought at least cost so that it comes in time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import arrival
from kitting.calc.purchasing.sourcing import Purchase, Worth, best_chance, lacking, source
from kitting.services.purchasing.alternatives import alternatives
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.purchase_text import lack, money_of, others, parcels
from kitting.services.purchasing.shortages import Shortage, shortage
from kitting.services.purchasing.transfer_advice import transfer_advice
from kitting.tables.stock import Lot, Movement
from kitting.views.purchasing import PurchaseView

SURE = 0.95
# What is in use anyway is worth nearly its price on the shelf, not all of it (our choice).
KEPT = 0.9
_LOOK_AHEAD = 60


def buy(
    session: Session,
    numbers: Sequence[str],
    now: datetime,
    fit_on: date | None = None,
    sure: float = SURE,
) -> PurchaseView:
    """The cheapest purchase that makes the bookings whole with the chance asked for, proven.

    Goods have to be there one working day before the fitting date, to be checked.
    """
    short = shortage(session, numbers)
    fitted = fit_on or short.fit_on
    view, _, market = proposal(session, short, now, fitted, sure)
    return advised(session, view, short, market)


def advised(session: Session, view: PurchaseView, short: Shortage, market: Market) -> PurchaseView:
    """The purchase with what other branches could send instead."""
    if not short.needs:
        return view
    comes: dict[int, date] = {}
    for offer in market.priced.values():
        when = _comes(market, offer.delivery)
        comes[offer.item] = min(when, comes.get(offer.item, when))
    advice = transfer_advice(session, short.branch, short.needs, comes, view.fit_on, market.now)
    instead = alternatives(session, short.branch.id, list(short.needs))
    return replace(view, transfers=advice, alternatives=instead)


def _comes(market: Market, parcel: int) -> date:
    """When a parcel usually comes if it is ordered now."""
    terms = market.parcels[parcel].terms
    return arrival(market.now, terms, terms.lead.quantile(0.5))


def proposal(
    session: Session, short: Shortage, now: datetime, fit_on: date, sure: float
) -> tuple[PurchaseView, Purchase | None, Market]:
    """The purchase in words and as it is, with the market it was made on."""
    usage = _usage(session, short)
    market = read_market(session, short.branch, {*short.needs, *usage}, now)
    by = market.latest_arrival(fit_on)
    offers, deliveries = list(market.priced.values()), market.deliveries(by)
    worth = _worth(market, usage)
    missing = lacking(short.needs, offers, deliveries, sure)
    had = {item: amount for item, amount in short.needs.items() if item not in missing}
    found = source(had, offers, deliveries, sure, worth) if had else None
    empty = PurchaseView(
        bookings=tuple(booking.number for booking in short.bookings),
        branch=short.branch.code,
        now=now,
        fit_on=fit_on,
        asked=sure,
        chance=1.0 if not short.needs else 0.0,
        total=None,
        parcels=(),
        lacking=(),
        best_chance=None,
        would_do=None,
        others=(),
    )
    if not short.needs:
        return empty, None, market
    if found is None:
        return (
            replace(
                empty,
                lacking=tuple(lack(market, item, short.needs[item]) for item in missing),
                best_chance=best_chance(short.needs, offers, deliveries),
                would_do=_would_do(market, short.needs, fit_on, sure),
            ),
            None,
            market,
        )
    view = replace(
        empty,
        chance=0.0 if missing else found.chance,
        lacking=tuple(lack(market, item, short.needs[item]) for item in missing),
        best_chance=best_chance(short.needs, offers, deliveries) if missing else None,
        would_do=_would_do(market, short.needs, fit_on, sure) if missing else None,
        total=money_of(market, found.spent),
        parcels=parcels(market, short, found, by),
        others=tuple(others(market, had, found, by, sure, worth)),
    )
    return view, found, market


def _usage(session: Session, short: Shortage) -> dict[int, int]:
    """What the branch took off its shelves in the last year, by item: stock in use anyway."""
    since = min(booking.made_at for booking in short.bookings) - timedelta(days=365)
    rows = session.execute(
        select(Lot.item_id, -func.sum(Movement.quantity))
        .join(Lot, Movement.lot_id == Lot.id)
        .where(
            Lot.branch_id == short.branch.id,
            Movement.kind.in_(("picked", "put back")),
            Movement.at >= since,
        )
        .group_by(Lot.item_id)
    )
    return {item: int(amount) for item, amount in rows if amount > 0}


def _worth(market: Market, usage: Mapping[int, int]) -> list[Worth]:
    """What is left over of an item in use is worth nearly its cheapest price, for a year's use."""
    cheapest: dict[int, float] = {}
    for offer in market.priced.values():
        each = min(price.minor for price in offer.prices) * 1000 / offer.pack
        cheapest[offer.item] = min(each, cheapest.get(offer.item, each))
    return [
        Worth(item, int(KEPT * cheapest[item]), amount)
        for item, amount in sorted(usage.items())
        if item in cheapest and KEPT * cheapest[item] >= 1
    ]


def _would_do(market: Market, needs: Mapping[int, int], fit_on: date, sure: float) -> date | None:
    """The first fitting date after one that can be had with the chance asked for."""
    offers = list(market.priced.values())
    day = fit_on
    for _ in range(_LOOK_AHEAD):
        day = market.own.next_open(day + timedelta(days=1))
        by = market.latest_arrival(day)
        if source(needs, offers, market.deliveries(by), sure) is not None:
            return day
    return None
