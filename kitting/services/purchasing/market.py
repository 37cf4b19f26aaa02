"""The market: what suppliers offer of some items, and how sure each delivery is to be in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import LeadTime, Terms, chance_by
from kitting.calc.purchasing.sourcing import Delivery, Price
from kitting.calc.purchasing.sourcing import Offer as PricedOffer
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import KittingError
from kitting.services.calendars import branch_calendar, calendar_of
from kitting.services.db.sync import chunks
from kitting.tables.items import Item
from kitting.tables.supply import (
    Branch,
    Offer,
    OfferPrice,
    OrderLine,
    PurchaseOrder,
    Receipt,
    Supplier,
    SupplierClosing,
    SupplierCutoff,
)

CHECK_DAYS = 1


@dataclass(frozen=True, slots=True)
class Parcel:
    """Goods of one supplier that come together: its terms, with the lead time of these offers."""

    key: int
    supplier: Supplier
    terms: Terms


@dataclass(frozen=True, slots=True)
class Market:
    """Offers and parcels by key, as they stand at a moment; `own` is the branch's calendar."""

    now: datetime
    own: WorkCalendar
    offers: Mapping[int, Offer]
    priced: Mapping[int, PricedOffer]
    parcels: Mapping[int, Parcel]
    items: Mapping[int, Item]

    def deliveries(self, by: date) -> list[Delivery]:
        """Every parcel with the chance that it is here by a date."""
        return [
            Delivery(
                parcel.key,
                parcel.supplier.carriage,
                parcel.supplier.carriage_free,
                parcel.supplier.minimum_order,
                chance_by(self.now, parcel.terms, by),
            )
            for parcel in self.parcels.values()
        ]

    def latest_arrival(self, fit_on: date, check_days: int = CHECK_DAYS) -> date:
        """The last day on which goods may come and still be checked for a fitting date."""
        day = fit_on
        while self.own.add(day, check_days) > fit_on or not self.own.is_open(day):
            day -= timedelta(days=1)
        return day


def read_market(session: Session, branch: Branch, items: Collection[int], now: datetime) -> Market:
    """Every offer of some items with its supplier's terms.

    The number of statements is fixed for each 500 items and for each 500 offers.
    """
    wanted = sorted(items)
    offers = {
        offer.id: offer
        for some in chunks(wanted)
        for offer in session.scalars(select(Offer).where(Offer.item_id.in_(some)))
    }
    suppliers = {
        supplier.id: supplier
        for supplier in session.scalars(
            select(Supplier).where(
                Supplier.id.in_({offer.supplier_id for offer in offers.values()})
            )
        )
    }
    _one_currency(suppliers)
    terms = _terms(session, suppliers, now)
    parcels: dict[tuple[int, int, int], Parcel] = {}
    parcel_of: dict[int, int] = {}
    for offer in sorted(offers.values(), key=lambda offer: (offer.supplier_id, offer.id)):
        usual = terms[offer.supplier_id]
        lead = usual.lead
        if offer.typical is not None and offer.late is not None:
            lead = LeadTime(offer.typical, offer.late)
        place = (offer.supplier_id, lead.typical, lead.late)
        if place not in parcels:
            own_terms = Terms(usual.cutoffs, usual.calendar, lead)
            parcels[place] = Parcel(len(parcels) + 1, suppliers[offer.supplier_id], own_terms)
        parcel_of[offer.id] = parcels[place].key
    prices: dict[int, list[Price]] = defaultdict(list)
    for some in chunks(list(offers)):
        for offer_id, start, price in session.execute(
            select(OfferPrice.offer_id, OfferPrice.from_packs, OfferPrice.price)
            .where(OfferPrice.offer_id.in_(some))
            .order_by(OfferPrice.offer_id, OfferPrice.from_packs)
        ):
            prices[offer_id].append(Price(start, price))
    return Market(
        now,
        branch_calendar(branch, now),
        offers,
        {
            key: PricedOffer(
                key, offer.item_id or 0, parcel_of[key], offer.pack, tuple(prices[key]),
                offer.minimum, offer.multiple, offer.available,
            )
            for key, offer in offers.items()
            if prices[key]
        },
        {parcel.key: parcel for parcel in parcels.values()},
        {
            item.id: item
            for some in chunks(wanted)
            for item in session.scalars(select(Item).where(Item.id.in_(some)))
        },
    )  # fmt: skip


def _one_currency(suppliers: Mapping[int, Supplier]) -> None:
    """Raise KittingError for suppliers paid in several currencies: no rate is known here."""
    currencies = sorted({supplier.currency for supplier in suppliers.values()})
    if len(currencies) > 1:
        raise KittingError(
            f"these items are offered in {' and '.join(currencies)}, and prices of two currencies"
            " cannot be compared. Load prices in one currency"
        )


def _terms(session: Session, suppliers: Mapping[int, Supplier], now: datetime) -> dict[int, Terms]:
    cutoffs: dict[int, list[time]] = defaultdict(list)
    for row in session.scalars(
        select(SupplierCutoff)
        .where(SupplierCutoff.supplier_id.in_(suppliers))
        .order_by(SupplierCutoff.at)
    ):
        cutoffs[row.supplier_id].append(time.fromisoformat(row.at))
    closed: dict[int, dict[date, str]] = defaultdict(dict)
    for closing in session.scalars(
        select(SupplierClosing).where(SupplierClosing.supplier_id.in_(suppliers))
    ):
        closed[closing.supplier_id][closing.day] = closing.reason
    calendars = {
        key: calendar_of(supplier.country, supplier.subdivision, closed[key], now)
        for key, supplier in suppliers.items()
    }
    observed = _observed(session, calendars)
    return {
        key: Terms(
            tuple(cutoffs[key]),
            calendars[key],
            LeadTime(supplier.typical, supplier.late, tuple(observed[key])),
        )
        for key, supplier in suppliers.items()
    }


def _observed(session: Session, calendars: Mapping[int, WorkCalendar]) -> dict[int, list[int]]:
    """Working days from order to the first good receipt, per supplier, of every order so far."""
    found: dict[int, list[int]] = defaultdict(list)
    first: dict[int, tuple[int, datetime, datetime]] = {}
    for order, supplier, placed, came in session.execute(
        select(PurchaseOrder.id, PurchaseOrder.supplier_id, PurchaseOrder.placed_at, Receipt.at)
        .join(OrderLine, OrderLine.order_id == PurchaseOrder.id)
        .join(Receipt, Receipt.order_line_id == OrderLine.id)
        .where(PurchaseOrder.supplier_id.in_(calendars), Receipt.good > 0)
        .order_by(PurchaseOrder.id, Receipt.at)
    ):
        first.setdefault(order, (supplier, placed, came))
    for supplier, placed, came in first.values():
        calendar = calendars[supplier]
        start = calendar.next_open(placed.date())
        found[supplier].append(max(0, calendar.between(start, came.date())))
    return found
