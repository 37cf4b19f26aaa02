"""Buying: what is short of some bookings, bought at least cost so that it comes in time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.sourcing import Purchase, Worth, best_chance, lacking, source
from kitting.facts.words import MovementKind
from kitting.services.purchasing.alternatives import alternatives
from kitting.services.purchasing.awaiting import everything, expected
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.open_doubts import open_doubts
from kitting.services.purchasing.other_packets import other_packets
from kitting.services.purchasing.purchase_view import Found, extras, lack, others, parcels
from kitting.services.purchasing.shortages import Shortage, shortage
from kitting.services.purchasing.transfer_advice import transfer_advice
from kitting.tables.stock import Lot, Movement
from kitting.views.purchasing import PurchaseView

TARGET = 0.95
# What is in use anyway is worth nearly its price on the shelf, not all of it (our choice).
KEPT = 0.9
_LOOK_AHEAD = 60


@dataclass(frozen=True, slots=True)
class Proposal:
    """A purchase as it is shown and as it is, with the market it was made on.

    `richer` is the one with what would be worth taking along.
    """

    view: PurchaseView
    purchase: Purchase | None
    market: Market
    richer: Purchase | None = None


def buy(
    session: Session,
    numbers: Sequence[str],
    now: datetime,
    fit_on: date | None = None,
    target: float = TARGET,
) -> PurchaseView:
    """The cheapest purchase that makes the bookings whole with the chance asked for, proven.

    Goods have to be there one working day before the fitting date, to be checked. What no purchase
    settles is told beside it.
    """
    short = shortage(session, numbers, now.date())
    view = advised(session, proposal(session, short, now, fit_on or short.fit_on, target), short)
    return replace(view, doubts=open_doubts(session, short.bookings))


def advised(session: Session, proposed: Proposal, short: Shortage) -> PurchaseView:
    """The purchase with what other branches could send instead, and what may stand in."""
    view, market = proposed.view, proposed.market
    if view.total is None and not view.lacking:
        return view
    comes = market.earliest(market.now)
    transfers = transfer_advice(session, short, comes, view.fit_on, market.now)
    instead, barred = alternatives(session, short.branch.id, list(short.needs))
    return replace(
        view,
        transfers=transfers,
        alternatives=instead,
        barred=barred,
        other_packets=other_packets(session, list(short.needs)),
    )


def proposal(
    session: Session, short: Shortage, now: datetime, fit_on: date, target: float
) -> Proposal:
    """The cheapest purchase of what is short; of the rest, where some of it cannot be had.

    What is on its way and cannot be relied on for the day is short as well.
    """
    usage = _usage(session, short)
    suppliers = {one.supplier for one in short.awaited}
    market = read_market(session, short.branch, {*everything(short), *usage}, now, suppliers)
    by = market.latest_arrival(fit_on)
    coming = expected(market, short, by, target)
    needs = coming.short.needs
    view = PurchaseView(
        bookings=tuple(booking.number for booking in short.bookings),
        branch=short.branch.code,
        now=now,
        fit_on=fit_on,
        asked=target,
        chance=0.0 if needs else coming.chance,
        awaited=coming.orders,
    )
    if not needs:
        return Proposal(view, None, market)
    offers, deliveries = list(market.priced.values()), market.deliveries(by)
    wanted = min(1.0, target / coming.chance)
    missing = lacking(needs, offers, deliveries, wanted)
    had = {item: amount for item, amount in needs.items() if item not in missing}
    found = source(had, offers, deliveries, wanted) if had else None
    if missing or found is None:
        view = replace(
            view,
            lacking=tuple(lack(market, item, needs[item]) for item in missing),
            best_chance=best_chance(needs, offers, deliveries) * coming.chance,
            would_do=_would_do(market, needs, fit_on, target),
        )
    if found is None:
        return Proposal(view, None, market)
    bought = Found(market=market, short=coming.short, needs=had, purchase=found, by=by)
    richer = source(had, offers, deliveries, wanted, _worth(market, usage))
    view = replace(
        view,
        chance=0.0 if missing else found.chance * coming.chance,
        total=market.money(found.spent),
        parcels=parcels(bought),
        others=others(bought, wanted),
        extras=extras(market, found, richer),
    )
    return Proposal(view, found, market, richer)


_USAGE = (
    select(Lot.item_id, -func.sum(Movement.quantity))
    .join(Lot, Movement.lot_id == Lot.id)
    .where(
        Lot.branch_id == bindparam("branch"),
        Movement.kind.in_((MovementKind.PICKED, MovementKind.PUT_BACK)),
        Movement.at >= bindparam("since"),
    )
    .group_by(Lot.item_id)
)


def _usage(session: Session, short: Shortage) -> dict[int, int]:
    """What the branch took off its shelves in the last year, by item: stock in use anyway."""
    since = min(booking.made_at for booking in short.bookings) - timedelta(days=365)
    rows = session.execute(_USAGE, {"branch": short.branch.id, "since": since})
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


def _would_do(market: Market, needs: Mapping[int, int], fit_on: date, target: float) -> date | None:
    """The first fitting date after one that can be had with the chance asked for."""
    offers = list(market.priced.values())
    day = fit_on
    for _ in range(_LOOK_AHEAD):
        day = market.own.next_open(day + timedelta(days=1))
        by = market.latest_arrival(day)
        if source(needs, offers, market.deliveries(by), target) is not None:
            return day
    return None
