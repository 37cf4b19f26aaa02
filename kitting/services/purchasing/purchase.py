"""Buying: what is short of some bookings, bought at least cost so that it comes in time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.sourcing import Purchase, Worth
from kitting.calc.purchasing.sourcing_by_days import source_by_days
from kitting.calc.stock.storage import fitted_on
from kitting.facts.exchange_rates import AS_USUAL, PricedIn
from kitting.facts.money import Money
from kitting.facts.words import MovementKind
from kitting.services.purchasing.alternatives import alternatives
from kitting.services.purchasing.asked import (
    Asked,
    best_chance,
    not_to_be_had,
    wide_enough,
    would_do,
)
from kitting.services.purchasing.awaiting import everything, orders_told
from kitting.services.purchasing.free_goods import read_free
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.open_doubts import standing, with_old_stock
from kitting.services.purchasing.other_packets import other_packets
from kitting.services.purchasing.purchase_view import (
    Found,
    extras,
    lack,
    others,
    parcels,
    rates_told,
)
from kitting.services.purchasing.rates_unused import rates_unused
from kitting.services.purchasing.short_facts import Shortage
from kitting.services.purchasing.shortages import read_wanting
from kitting.services.purchasing.transfer_advice import transfer_advice
from kitting.tables.stock import Lot, Movement
from kitting.views.purchasing import PurchaseView

TARGET = 0.95
# What is in use anyway is worth nearly its price on the shelf, not all of it (our choice).
KEPT = 0.9


@dataclass(frozen=True, slots=True)
class Proposal:
    """A purchase as it is shown and as it is, with the market it was made on.

    `richer` is the one with what would be worth taking along; `late` the orders that each day
    does not rely on; `bought` the items that are bought for each day, thousandths.
    """

    view: PurchaseView
    purchase: Purchase | None
    market: Market
    richer: Purchase | None = None
    late: tuple[frozenset[str], ...] = ()
    bought: tuple[Mapping[int, int], ...] = ()


def buy(
    session: Session,
    numbers: Sequence[str],
    now: datetime,
    fit_on: date | None = None,
    target: float = TARGET,
    priced: PricedIn = AS_USUAL,
) -> PurchaseView:
    """The cheapest purchase that makes the bookings whole with the chance asked for, proven.

    Each booking is judged at its own date, or all at `fit_on`. Goods have to be there one working
    day before the fitting date, to be checked. What no purchase settles is told beside it.
    """
    short = short_of(session, numbers, now, fit_on)
    view = advised(session, proposal(session, short, now, target, priced), short)
    return told_whole(session, view, short)


def told_whole(session: Session, view: PurchaseView, short: Shortage) -> PurchaseView:
    """A purchase with what is not fine whatever is bought, and the old stock beside each line."""
    found = standing(session, short.bookings, short.unproven)
    parcels = with_old_stock(view.parcels, found.old_stock)
    return replace(view, doubts=found.doubts, parcels=parcels)


def short_of(
    session: Session, numbers: Sequence[str], now: datetime, fit_on: date | None = None
) -> Shortage:
    """What bookings lack, each on its own day or all on one, beside what is free for them.

    What lies free or comes free is counted as `--place` promises it, and what vans bring.
    """
    wanting = read_wanting(session, numbers)
    days = {one.id: fitted_on(fit_on or one.fit_on, now.date()) for one in wanting.bookings}
    return wanting.lacking_on(days, read_free(session, wanting, now.date()))


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
    session: Session,
    short: Shortage,
    now: datetime,
    target: float,
    priced: PricedIn = AS_USUAL,
) -> Proposal:
    """The cheapest purchase of what is short; of the rest, where some of it cannot be had.

    Each day is whole with the chance asked for. It relies on what is on its way where that costs
    least, and buys the rest of it again.
    """
    usage = _usage(session, short)
    suppliers = {one.supplier for one in short.awaited}
    market = read_market(session, short.branch, {*everything(short), *usage}, now, suppliers,
                         priced)  # fmt: skip
    by = tuple(market.latest_arrival(day) for day in short.days)
    asked = Asked(market, short, by, target)
    sought = asked.sought()
    answer = sought.answer()
    late, found, missing = asked.late(answer), answer.found, answer.missing
    complete = not any(answer.needs)
    view = PurchaseView(
        bookings=tuple(booking.number for booking in short.bookings),
        branch=short.branch.code,
        now=now,
        fit_on=short.fit_on,
        asked=target,
        chance=min(answer.chances),
        awaited=orders_told(market, short, by, answer.late),
        vans=short.vans,
        left_out=market.left_out,
        tax_mixed=market.tax_mixed,
        rates=rates_told(market),
        rates_unused=rates_unused(session, market, priced.rates),
        whole=asked.whole(answer.chances if complete or found is not None else ()),
    )
    if missing:
        view = replace(
            view,
            lacking=tuple(lack(market, item, some) for item, some in not_to_be_had(answer)),
            best_chance=best_chance(sought, missing),
            would_do=would_do(market, short, target, partial(wide_enough, session, market, priced)),
        )
    if found is None:
        return Proposal(view, None, market, late=late)
    days = asked.days(answer)
    bought = Found(
        market=market, needed=days.together, wanted_by=asked.wanted_by(answer), days=days,
        scheduled=found, by=by,
    )  # fmt: skip
    richer = source_by_days(days, market.priced.values(), market.deliveries(by[0]),
                            _worth(market, usage))  # fmt: skip
    ordered = parcels(bought)
    view = replace(
        view,
        total=Money(sum(one.total.minor for one in ordered), market.currency),
        parcels=ordered,
        others=others(bought),
        extras=extras(market, found.purchase, None if richer is None else richer.purchase),
    )
    along = None if richer is None else richer.purchase
    return Proposal(view, found.purchase, market, along, late, answer.had)


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
