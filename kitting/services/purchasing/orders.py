"""Ordering: a purchase written down as orders, and what comes promised to who waits for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import BindParameter, Engine, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.shortage import lacking
from kitting.calc.purchasing.sourcing import Purchase
from kitting.facts.exchange_rates import AS_USUAL, PricedIn
from kitting.services.bookings.reservations import (
    give_up_orders,
    give_up_unfit,
    lacks,
    promise_free,
)
from kitting.services.db.numbering import next_number
from kitting.services.purchasing.market import LATE, Market, Parcel
from kitting.services.purchasing.purchase import TARGET, advised, proposal, short_of, told_whole
from kitting.services.purchasing.purchase_view import own_carriage, own_price
from kitting.services.purchasing.short_facts import Shortage, ShortBooking
from kitting.services.purchasing.shortages import covers_on, read_wanting, shortage
from kitting.services.stock.ledger import Claim, set_all_aside
from kitting.store import writing
from kitting.tables.supply import OrderLine, PurchaseOrder
from kitting.views.purchasing import PurchaseView

_KEYS: BindParameter[Any] = bindparam("keys", expanding=True)
_LINES = (
    select(OrderLine.id, OrderLine.item_id, OrderLine.quantity)
    .where(OrderLine.order_id.in_(_KEYS))
    .order_by(OrderLine.id)
)


@dataclass(frozen=True, slots=True)
class Choice:
    """What is ordered beside the least purchase: `extras`; in which currency it is `priced`."""

    extras: bool = False
    priced: PricedIn = AS_USUAL


LEAST = Choice()


def place(
    engine: Engine,
    numbers: Sequence[str],
    now: datetime,
    fit_on: date | None = None,
    target: float = TARGET,
    choice: Choice = LEAST,
) -> PurchaseView:
    """Buy as `buy` proposes: write the orders and promise what comes to the bookings.

    By `choice` what is worth taking along is ordered too, or what is priced in a currency. What was
    on its way and is bought anew for coming too late is not waited for any more.

    What is bought is promised to the bookings that it is bought for, even if it may come late, when
    less was asked for or a later date given. What is free on the shelf or on its way is promised
    before anything is bought, and what is left over of it after that, the earliest fitting date
    first. Returns the purchase with the numbers of its orders.
    """
    with writing(engine) as session:
        _promise(session, shortage(session, numbers, now.date()), (), now.date())
        short = short_of(session, numbers, now, fit_on)
        proposed = proposal(session, short, now, target, choice.priced)
        view = advised(session, proposed, short)
        if proposed.purchase is None:
            view = told_whole(session, view, short)
            if not view.lacking:
                session.commit()
            return view
        chosen = (proposed.richer if choice.extras else None) or proposed.purchase
        orders = _written(session, short, proposed.market, chosen)
        lines = session.execute(_LINES, {"keys": [order.id for order in orders]}).all()
        for day, too_late, items in zip(short.days, proposed.late, proposed.bought, strict=True):
            for booking in short.of_day(day):
                give_up_orders(session, booking.id, too_late, items)
        _promise_bought(session, short, proposed.bought, lines, now.date())
        _promise(session, short, lines, now.date(), proposed.bought)
        view = replace(
            told_whole(session, view, short), orders=tuple(order.number for order in orders)
        )
        session.commit()
        return view


def _promise(
    session: Session,
    short: Shortage,
    bought: Sequence[Any],
    today: date,
    days: Sequence[Mapping[int, int]] = (),
) -> None:
    """Promise what is free instead of what may not be fitted, the earliest date first.

    What was `bought` (rows of order lines) is waited for whenever it comes by who it was bought
    for: by the items of the `days` of the shortage.
    """
    for booking in _in_order(short):
        own = days[short.days.index(short.day_of[booking.id])] if days else {}
        lines = [line.id for line in bought if line.item_id in own]
        give_up_unfit(session, booking.id, today)
        promise_free(session, booking.id, bought=lines, today=today)


def _promise_bought(
    session: Session,
    short: Shortage,
    days: Sequence[Mapping[int, int]],
    lines: Sequence[Any],
    today: date,
) -> None:
    """Promise what was bought (rows of order lines) to the bookings that it was bought for.

    `days` have what was bought for each day of the shortage. Nobody with an earlier date, for whom
    it comes too late to be relied on, takes it from them. What lies in a kit is promised already,
    on hold or not: no more is promised than is needed.
    """
    wanting = read_wanting(session, [booking.number for booking in short.bookings])
    covers = covers_on(wanting, short.day_of)
    left = {line.id: line.quantity for line in lines}
    for booking in _in_order(short):
        give = days[short.days.index(short.day_of[booking.id])]
        give_up_unfit(session, booking.id, today)
        room = lacks(session, booking.id)
        claims = []
        for item, short_of_it in lacking(wanting.needs[booking.id], covers[booking.id]).items():
            amount = min(short_of_it, room.get(item, 0))
            for line in lines:
                some = min(amount, left[line.id]) if line.item_id == item and item in give else 0
                left[line.id] -= some
                amount -= some
                if some:
                    claims.append(Claim(item, some, order_line=line.id))
        set_all_aside(session, booking.id, claims)


def _in_order(short: Shortage) -> list[ShortBooking]:
    """The bookings, the earliest fitting date first."""
    return sorted(short.bookings, key=lambda one: (one.fit_on, one.id))


def _written(
    session: Session, short: Shortage, market: Market, found: Purchase
) -> list[PurchaseOrder]:
    """The orders of a purchase, one for each supplier."""
    used: dict[int, list[Parcel]] = {}
    bought = {market.priced[line.offer].delivery for line in found.lines}
    for key, parcel in market.parcels.items():
        if key in bought:
            used.setdefault(parcel.supplier.id, []).append(parcel)
    return [_order(session, short.branch.id, market, some, found) for some in used.values()]


def _order(
    session: Session, branch: int, market: Market, parcels: Sequence[Parcel], found: Purchase
) -> PurchaseOrder:
    """One order of a supplier, in its own currency.

    A part with a lead time of its own has days of its own.
    """
    keys = {parcel.key: parcel for parcel in parcels}
    bought = [line for line in found.lines if market.priced[line.offer].delivery in keys]
    usual = [parcel for parcel in parcels if not parcel.own] or parcels
    order = PurchaseOrder(
        number=next_number(session, PurchaseOrder, "P"),
        supplier_id=parcels[0].supplier.id,
        branch_id=branch,
        placed_at=market.now,
        carriage=own_carriage(market, parcels[0].supplier.id, bought),
        due=max(parcel.comes(market.now) for parcel in usual),
        due_late=max(parcel.comes(market.now, LATE) for parcel in usual),
    )
    session.add(order)
    session.flush()
    for seq, line in enumerate(bought, 1):
        quote = market.offers[line.offer]
        parcel = keys[market.priced[line.offer].delivery]
        session.add(
            OrderLine(
                order_id=order.id,
                seq=seq,
                item_id=quote.item,
                part=quote.part,
                packs=line.packs,
                price=own_price(market, line),
                quantity=line.packs * quote.pack,
                received=0,
                lost=0,
                promised=0,
                returnable=quote.returnable,
                core=quote.core,
                due=parcel.comes(market.now) if parcel.own else None,
                due_late=parcel.comes(market.now, LATE) if parcel.own else None,
            )
        )
    session.flush()
    return order
