"""Ordering: a purchase written down as orders, and what comes promised to who waits for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import arrival
from kitting.calc.purchasing.sourcing import Purchase
from kitting.services.bookings.reservations import give_up_unfit, promise_free
from kitting.services.db.numbering import next_number
from kitting.services.purchasing.market import Market, Parcel
from kitting.services.purchasing.purchase import SURE, advised, proposal
from kitting.services.purchasing.shortages import shortage
from kitting.store import writing
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder
from kitting.views.purchasing import PurchaseView


def place(
    engine: Engine,
    numbers: Sequence[str],
    now: datetime,
    fit_on: date | None = None,
    sure: float = SURE,
) -> PurchaseView:
    """Buy as `buy` proposes: write the orders and promise what comes to the bookings.

    It is promised even if it may come late, when less was asked for or a later date given.
    The earliest fitting date is served first. Returns the purchase with the numbers of its orders.
    """
    with writing(engine) as session:
        short = shortage(session, numbers)
        view, found, market = proposal(session, short, now, fit_on or short.fit_on, sure)
        view = advised(session, view, short, market)
        if found is None:
            return view
        orders = [
            _order(session, short.branch, market, parcel, found)
            for parcel in market.parcels.values()
            if any(market.priced[line.offer].delivery == parcel.key for line in found.lines)
        ]
        session.flush()
        lines = session.scalars(
            select(OrderLine.id)
            .join(PurchaseOrder, OrderLine.order_id == PurchaseOrder.id)
            .where(PurchaseOrder.number.in_(orders))
        ).all()
        for booking in sorted(short.bookings, key=lambda b: (b.fit_on, b.id)):
            give_up_unfit(session, booking.id)
            promise_free(session, booking.id, bought=lines)
        session.commit()
        return replace(view, orders=tuple(orders))


def _order(
    session: Session, branch: Branch, market: Market, parcel: Parcel, found: Purchase
) -> str:
    terms = parcel.terms
    order = PurchaseOrder(
        number=next_number(session, PurchaseOrder, "P"),
        supplier_id=parcel.supplier.id,
        branch_id=branch.id,
        placed_at=market.now,
        carriage=dict(found.carriage).get(parcel.key, 0),
        due=arrival(market.now, terms, terms.lead.quantile(0.5)),
        due_late=arrival(market.now, terms, terms.lead.quantile(0.9)),
    )
    session.add(order)
    session.flush()
    bought = [line for line in found.lines if market.priced[line.offer].delivery == parcel.key]
    for seq, line in enumerate(bought, 1):
        offer = market.offers[line.offer]
        session.add(
            OrderLine(
                order_id=order.id,
                seq=seq,
                item_id=offer.item_id,
                part=offer.part,
                packs=line.packs,
                price=line.minor // line.packs,
                quantity=line.packs * offer.pack,
                received=0,
                lost=0,
                promised=0,
                returnable=offer.returnable,
                core=offer.core,
            )
        )
    session.flush()
    return order.number
