"""Ordering by hand: chosen parts of one supplier, for the shelf or for named bookings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.purchasing.delivery import next_cutoff
from kitting.calc.purchasing.sourcing_case import price_each
from kitting.errors import KittingError
from kitting.facts.exchange_rates import PricedIn
from kitting.facts.names import natural_key
from kitting.services.bookings.reservations import lacks
from kitting.services.bookings.states import BookingFacts
from kitting.services.branches import find_branch
from kitting.services.db.idempotency import earlier, record
from kitting.services.item_numbers import code_of
from kitting.services.lookup import hint, lookup
from kitting.services.purchasing.market import LATE, Market, Parcel, Quote, read_market
from kitting.services.purchasing.new_order import (
    NewLine,
    NewOrder,
    promise_bought,
    served,
    write_order,
)
from kitting.services.purchasing.purchase_view import carriage_note, cutoff_there
from kitting.services.purchasing.tax import tax_view
from kitting.store import writing
from kitting.tables.items import Item
from kitting.tables.supply import Branch, Offer, Supplier
from kitting.views.orders import HandLineView, HandOrderView


@dataclass(frozen=True, slots=True)
class HandOrder:
    """What somebody wants: packs by item or by the supplier's part, and for which bookings."""

    supplier: str
    packs: Mapping[str, int]
    branch: str | None = None
    bookings: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class _Chosen:
    """An order by hand, priced: (quote, packs, price of a pack in minor units) per line."""

    supplier: Supplier
    branch: Branch
    bookings: Sequence[BookingFacts]
    market: Market
    lines: Sequence[tuple[Quote, int, int]]

    @property
    def goods(self) -> int:
        """Minor units of all lines."""
        return sum(packs * price for _, packs, price in self.lines)

    @property
    def parcels(self) -> list[Parcel]:
        """What the lines come with, one parcel per lead time."""
        used = {self.market.priced[quote.id].delivery for quote, *_ in self.lines}
        return [self.market.parcels[key] for key in sorted(used)]

    @property
    def usual(self) -> list[Parcel]:
        """Those whose days are the days of the order."""
        return [parcel for parcel in self.parcels if not parcel.own] or self.parcels

    @property
    def carriage(self) -> int:
        """Minor units; nothing from the limit on."""
        free = self.supplier.carriage_free
        return 0 if free is not None and self.goods >= free else self.supplier.carriage


def propose_by_hand(session: Session, wanted: HandOrder, now: datetime) -> HandOrderView:
    """What an order by hand would come to, by the supplier's price list; nothing is written.

    Raises UnknownNameError; KittingError for what the supplier does not sell or not in this
    number, for an item that it sells as several parts, and below its least order.
    """
    return _view(session, _chosen(session, wanted, now))


def place_by_hand(
    engine: Engine, wanted: HandOrder, now: datetime, token: str | None = None
) -> HandOrderView:
    """Write the order, and promise what comes to the bookings it is for; the rest is free.

    Raises as `propose_by_hand`.
    """
    with writing(engine) as session:
        request = f"order {wanted.supplier} {sorted(wanted.packs.items())} {wanted.bookings}"
        done = earlier(session, token, request)
        chosen = _chosen(session, wanted, now)
        view = _view(session, chosen)
        if done is not None:
            return replace(view, order=done.answer)
        order, lines = write_order(
            session,
            NewOrder(
                supplier=chosen.supplier.id,
                branch=chosen.branch.id,
                placed_at=now,
                due=max(parcel.comes(now) for parcel in chosen.usual),
                due_late=max(parcel.comes(now, LATE) for parcel in chosen.usual),
                carriage=chosen.carriage,
                lines=[_line(chosen.market, *line) for line in chosen.lines],
            ),
        )
        promise_bought(session, chosen.bookings, lines, now.date())
        record(session, token, request, chosen.branch.id, now, order.number)
        number = order.number
        session.commit()
        return replace(view, order=number)


def find_supplier(session: Session, code: str) -> Supplier:
    """A supplier by code; raises UnknownNameError naming near ones."""
    known = {supplier.code: supplier for supplier in session.scalars(select(Supplier))}
    return lookup("supplier", code, known, f"Known: {', '.join(sorted(known))}")


def _chosen(session: Session, wanted: HandOrder, now: datetime) -> _Chosen:
    supplier = find_supplier(session, wanted.supplier)
    branch = find_branch(session, wanted.branch)
    if not wanted.packs:
        raise KittingError("nothing is named to order. Name an item and how many packs")
    names = [name.strip() for name in wanted.packs]
    parts = session.execute(
        select(Offer.part, Offer.item_id).where(
            Offer.supplier_id == supplier.id, Offer.part.in_(names)
        )
    ).all()
    # Digits may be a part of the supplier, or the number of an item.
    theirs = {row.part for row in parts}
    codes = [name if name in theirs else code_of(session, name) for name in names]
    items = set(session.scalars(select(Item.id).where(Item.code.in_(codes))))
    items |= {row.item_id for row in parts if row.item_id is not None}
    market = read_market(session, branch, items, now, priced=PricedIn(supplier.currency))
    packs = wanted.packs.values()
    lines = [_priced(supplier, market, *named) for named in zip(codes, packs, strict=True)]
    if len({quote.id for quote, *_ in lines}) < len(lines):
        raise KittingError("a part is named twice. Name it once, with all its packs")
    chosen = _Chosen(supplier, branch, served(session, wanted.bookings, branch.id), market, lines)
    if chosen.goods < supplier.minimum_order:
        least = market.money(supplier.minimum_order)
        gap = market.money(supplier.minimum_order - chosen.goods)
        raise KittingError(
            "{name} delivers nothing under {least}: {gap} more of goods are needed",
            name=supplier.name,
            least=least,
            gap=gap,
        )
    return chosen


def _priced(supplier: Supplier, market: Market, name: str, packs: int) -> tuple[Quote, int, int]:
    """The part that a name stands for, and what a pack costs if so many are taken."""
    quote = _quote(supplier, market, name)
    offer = market.priced[quote.id]
    price = price_each(offer, packs) if packs > 0 else None
    if price is None:
        least = max(quote.minimum, min(one.from_packs for one in offer.prices))
        terms = [f"at least {least} packs" if least > 1 else "at least 1 pack"]
        if quote.multiple > 1:
            terms.append(f"a multiple of {quote.multiple}")
        if quote.available is not None:
            terms.append(f"at most {quote.available}, which is all there is")
        raise KittingError(
            "{part}: {packs} packs cannot be bought. {name} sells {terms}",
            part=quote.part,
            packs=packs,
            name=supplier.name,
            terms=", ".join(terms),
        )
    return quote, packs, price


def _quote(supplier: Supplier, market: Market, name: str) -> Quote:
    quotes = [
        quote
        for key, quote in market.offers.items()
        if key in market.priced and quote.supplier == supplier.id
    ]
    by_part = [quote for quote in quotes if quote.part == name]
    found = by_part or [quote for quote in quotes if market.items[quote.item].code == name]
    if not found:
        parts = [quote.part for quote in quotes]
        raise KittingError(
            f"{supplier.name} has no price for {name!r}."
            f" {hint(name, parts, 'Load its price list')}",
            then=[next_step(Action.LOAD_PRICES, supplier=supplier.code)],
        )
    if len(found) > 1:
        parts = [quote.part for quote in sorted(found, key=lambda one: natural_key(one.part))]
        raise KittingError(
            "{name} sells {asked_name} as {parts}. Name the part instead of the item",
            name=supplier.name,
            asked_name=name,
            parts=", ".join(parts),
        )
    return found[0]


def _line(market: Market, quote: Quote, packs: int, price: int) -> NewLine:
    parcel = market.parcels[market.priced[quote.id].delivery]
    return NewLine(
        item=quote.item,
        part=quote.part,
        packs=packs,
        price=price,
        quantity=packs * quote.pack,
        returnable=quote.returnable,
        core=quote.core,
        days=(parcel.comes(market.now), parcel.comes(market.now, LATE)) if parcel.own else None,
    )


def _view(session: Session, chosen: _Chosen) -> HandOrderView:
    market, supplier, parcels = chosen.market, chosen.supplier, chosen.parcels
    lacking = [lacks(session, booking.id) for booking in chosen.bookings]
    lines = []
    left = {
        quote.item: sum(max(0, one.get(quote.item, 0)) for one in lacking)
        for quote, *_ in chosen.lines
    }
    for quote, packs, price in chosen.lines:
        item = market.items[quote.item]
        serves = min(left[item.id], packs * quote.pack)
        left[item.id] -= serves
        lines.append(
            HandLineView(
                part=quote.part,
                item=item.code,
                name=item.name,
                unit=item.unit,
                packs=packs,
                pack=quote.pack,
                ordered=packs * quote.pack,
                price=market.money(price),
                total=market.money(packs * price),
                returnable=quote.returnable,
                core=None if quote.core is None else market.money(quote.core),
                for_bookings=serves,
                spare=packs * quote.pack - serves,
            )
        )
    goods, carriage = chosen.goods, chosen.carriage
    cores = sum(packs * (quote.core or 0) for quote, packs, _ in chosen.lines)
    cutoff = next_cutoff(market.now, parcels[0].terms)
    return HandOrderView(
        supplier=supplier.code,
        supplier_name=supplier.name,
        branch=chosen.branch.code,
        bookings=tuple(booking.number for booking in chosen.bookings),
        lines=tuple(lines),
        goods=market.money(goods),
        carriage=market.money(carriage),
        carriage_note=carriage_note(market, parcels[0], goods, carriage),
        cores=market.money(cores),
        total=market.money(goods + carriage),
        cutoff=cutoff,
        minutes_left=parcels[0].terms.clock.minutes(market.now, cutoff),
        there=cutoff_there(parcels[0].terms, cutoff),
        arrives=max(parcel.comes(market.now) for parcel in parcels),
        late=max(parcel.comes(market.now, LATE) for parcel in parcels),
        tax=tax_view(parcels[0].supplier.tax, market.money(goods + carriage), market.now.date()),
    )
