"""The market: what suppliers offer of some items, and how sure each delivery is to be in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import LeadTime, Terms, arrival, chance_by
from kitting.calc.purchasing.sourcing import Delivery, Price
from kitting.calc.purchasing.sourcing import Offer as PricedOffer
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import KittingError
from kitting.facts.exchange_rates import AS_USUAL, PricedIn, StatedRate, of_its_own
from kitting.facts.money import Money
from kitting.services.calendars import calendar_of
from kitting.services.db.sync import chunks
from kitting.services.purchasing.converted import (
    each_minor,
    offer_in_parts,
    parts_of,
    terms_in_parts,
)
from kitting.services.purchasing.supplier_terms import SupplierTerms, read_suppliers
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.supply import Branch, Offer, OfferPrice

CHECK_DAYS = 1
USUAL, LATE = 0.5, 0.9  # the chances that the usual and the late day stand for


@dataclass(frozen=True, slots=True)
class Buyer:
    """The branch that buys: its calendar's country, and the currency that it counts in."""

    id: int
    code: str
    country: str | None
    subdivision: str | None
    currency: str
    zone: str | None


@dataclass(frozen=True, slots=True)
class MarketItem:
    """An item as far as buying it asks; `pack` in thousandths of `unit`."""

    id: int
    code: str
    name: str
    unit: str
    pack: int | None
    shelf_life_months: int | None


@dataclass(frozen=True, slots=True)
class Quote:
    """A line of a price list: `pack` in thousandths, `core` per pack, in its supplier's currency.

    `typical` and `late` are working days, None where the supplier's usual ones hold.
    """

    id: int
    supplier: int
    item: int
    part: str
    pack: int
    minimum: int
    multiple: int
    available: int | None
    typical: int | None
    late: int | None
    returnable: bool
    core: int | None


@dataclass(frozen=True, slots=True)
class Parcel:
    """Goods of one supplier that come together: its terms, with the lead time of these offers.

    What is ordered of several parcels of a supplier is one order.
    """

    key: int
    supplier: SupplierTerms
    terms: Terms

    @property
    def own(self) -> bool:
        """Whether its parts have a lead time of their own."""
        return self.terms.lead.stated_days != self.supplier.terms.lead.stated_days

    def comes(self, now: datetime, chance: float = USUAL) -> date:
        """The day within which it is here with a chance, if it is ordered now."""
        return arrival(now, self.terms, self.terms.lead.quantile(chance))


@dataclass(frozen=True, slots=True)
class Market:
    """Offers and parcels by key, as they stand at a moment; `own` is the branch's calendar.

    `currency` is that of every price; without an offer that of the branch. Offers in other
    currencies are left out: `elsewhere` names those of an item, `left_out` their suppliers. By a
    stated rate they are in: `rates` has those that were used, by supplier, and `own_*` what an
    offer costs and a supplier asks for in its own currency. What `priced` offers cost and the
    `suppliers` of parcels ask for is in `parts` of a minor unit, so that it is exact at any rate.
    """

    now: datetime
    own: WorkCalendar
    currency: str
    offers: Mapping[int, Quote]
    priced: Mapping[int, PricedOffer]
    parcels: Mapping[int, Parcel]
    items: Mapping[int, MarketItem]
    suppliers: Mapping[int, SupplierTerms] = field(default_factory=dict)
    elsewhere: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    left_out: tuple[tuple[str, str], ...] = ()
    rates: Mapping[int, StatedRate] = field(default_factory=dict)
    own_priced: Mapping[int, PricedOffer] = field(default_factory=dict)
    own_terms: Mapping[int, SupplierTerms] = field(default_factory=dict)
    parts: int = 1

    @property
    def tax_mixed(self) -> tuple[tuple[str, bool | None], ...]:
        """Who offers, and whether tax is in the prices, where that is not the same for all."""
        selling = {self.offers[key].supplier for key in self.priced}
        found = {(self.suppliers[one].name, self.suppliers[one].tax.included) for one in selling}
        mixed = len({included for _, included in found}) > 1
        return tuple(sorted(found, key=lambda pair: pair[0])) if mixed else ()

    def money(self, amount: int) -> Money:
        """An amount in parts of a minor unit, rounded to whole ones, halves up."""
        return Money((2 * amount + self.parts) // (2 * self.parts), self.currency)

    def told(self, supplier: int, minor: int) -> Money:
        """A sum of a supplier's own currency in that of the market, rounded once, here."""
        rate = self.rates.get(supplier)
        return Money(minor if rate is None else rate.convert(minor, self.currency), self.currency)

    def deliveries(self, by: date) -> list[Delivery]:
        """Every parcel with the chance that it is here by a date."""
        return [
            Delivery(
                key=parcel.key,
                carriage=parcel.supplier.carriage,
                carriage_free=parcel.supplier.carriage_free,
                minimum=parcel.supplier.minimum_order,
                chance=chance_by(self.now, parcel.terms, by),
                order=parcel.supplier.id,
            )
            for parcel in self.parcels.values()
        ]

    def chances(self, by: Sequence[date]) -> dict[int, tuple[float, ...]]:
        """How likely every parcel is here by each of some dates."""
        return {
            key: tuple(chance_by(self.now, parcel.terms, day) for day in by)
            for key, parcel in self.parcels.items()
        }

    def latest_arrival(self, fit_on: date, check_days: int = CHECK_DAYS) -> date:
        """The last day on which goods may come and still be checked for a fitting date."""
        day = fit_on
        while self.own.add(day, check_days) > fit_on or not self.own.is_open(day):
            day -= timedelta(days=1)
        return day

    def earliest(self, now: datetime) -> dict[int, date]:
        """The day on which each item is usually here from its quickest supplier, ordered now."""
        usual = {key: parcel.comes(now) for key, parcel in self.parcels.items()}
        comes: dict[int, date] = {}
        for offer in self.priced.values():
            when = usual[offer.delivery]
            comes[offer.item] = min(when, comes.get(offer.item, when))
        return comes


_QUOTES = select(
    Offer.id, Offer.supplier_id.label("supplier"), Offer.item_id.label("item"), Offer.part,
    Offer.pack, Offer.minimum,
    Offer.multiple, Offer.available, Offer.typical, Offer.late, Offer.returnable, Offer.core,
).where(Offer.item_id.in_(bindparam("keys", expanding=True)))  # fmt: skip
_PRICES = (
    select(OfferPrice.offer_id, OfferPrice.from_packs, OfferPrice.price)
    .where(OfferPrice.offer_id.in_(bindparam("keys", expanding=True)))
    .order_by(OfferPrice.offer_id, OfferPrice.from_packs)
)
_ITEMS = select(
    Item.id, Item.code, ITEM_NAME, Item.unit, Item.pack, Item.shelf_life_months
).where(Item.id.in_(bindparam("keys", expanding=True)))  # fmt: skip


def read_market(
    session: Session,
    branch: Branch | Buyer,
    items: Collection[int],
    now: datetime,
    also: Collection[int] = (),
    priced: PricedIn = AS_USUAL,
) -> Market:
    """Every offer of some items with its supplier's terms; `also` are suppliers read with them.

    The number of statements is fixed for each 500 items and for each 500 offers. No rate is known
    here: of several currencies the one that is named counts, else the branch's, else (without a
    stated rate) the one in which the most of these items are offered; offers in the others are
    compared exactly by the rate that somebody states, or left out and told. Raises
    KittingError for a rate of the currency that is bought in.
    """
    wanted = sorted(items)
    listed = {
        row.id: Quote(**row._asdict())
        for some in chunks(wanted)
        for row in session.execute(_QUOTES, {"keys": some})
    }
    selling = {quote.supplier for quote in listed.values()}
    suppliers = read_suppliers(session, {*selling, *also}, now, branch)
    chosen = priced.currency or (
        branch.currency if priced.rates else _currency(listed.values(), suppliers, branch.currency)
    )
    if priced.rate(chosen) is not None:
        raise KittingError(of_its_own(chosen))
    rates = {
        key: rate
        for key, one in suppliers.items()
        if one.currency != chosen and (rate := priced.rate(one.currency)) is not None
    }
    quotes = {
        key: quote
        for key, quote in listed.items()
        if suppliers[quote.supplier].currency == chosen or quote.supplier in rates
    }
    others = [quote for key, quote in listed.items() if key not in quotes]
    own_terms = suppliers
    parts = parts_of(rates.values(), chosen)
    each = {key: each_minor(rates.get(key), chosen, parts) for key in suppliers}
    suppliers = {key: terms_in_parts(one, each[key]) for key, one in suppliers.items()}
    parcels, parcel_of = _parcels(quotes.values(), suppliers)
    own_priced = _priced(session, quotes, parcel_of)
    return Market(
        now=now,
        own=calendar_of(branch.country, branch.subdivision, {}, now),
        currency=chosen,
        offers=quotes,
        priced={
            key: offer_in_parts(offer, each[quotes[key].supplier])
            for key, offer in own_priced.items()
        },
        parcels=parcels,
        items={
            row.id: MarketItem(**row._asdict())
            for some in chunks(wanted)
            for row in session.execute(_ITEMS, {"keys": some})
        },
        suppliers=suppliers,
        elsewhere=_elsewhere(others, suppliers),
        left_out=tuple(
            sorted({(suppliers[q.supplier].name, suppliers[q.supplier].currency) for q in others})
        ),
        rates={key: rate for key, rate in rates.items() if key in selling},
        own_priced=own_priced,
        own_terms=own_terms,
        parts=parts,
    )


def _currency(quotes: Iterable[Quote], suppliers: Mapping[int, SupplierTerms], own: str) -> str:
    """The branch's own currency if anything is offered in it, else that of the most items."""
    items: dict[str, set[int]] = defaultdict(set)
    for quote in quotes:
        items[suppliers[quote.supplier].currency].add(quote.item)
    if own in items or not items:
        return own
    return min(items, key=lambda currency: (-len(items[currency]), currency))


def _elsewhere(
    quotes: Iterable[Quote], suppliers: Mapping[int, SupplierTerms]
) -> dict[int, tuple[str, ...]]:
    """In which other currencies each item is offered."""
    found: dict[int, set[str]] = defaultdict(set)
    for quote in quotes:
        found[quote.item].add(suppliers[quote.supplier].currency)
    return {item: tuple(sorted(currencies)) for item, currencies in found.items()}


def _parcels(
    quotes: Iterable[Quote], suppliers: Mapping[int, SupplierTerms]
) -> tuple[dict[int, Parcel], dict[int, int]]:
    """What comes together, by key, and the parcel of each offer: one per supplier and lead time."""
    parcels: dict[tuple[int, int, int], Parcel] = {}
    parcel_of: dict[int, int] = {}
    for quote in sorted(quotes, key=lambda quote: (quote.supplier, quote.id)):
        supplier = suppliers[quote.supplier]
        lead = supplier.terms.lead
        own = quote.typical, quote.late
        if quote.typical is not None and quote.late is not None and own != lead.stated_days:
            lead = LeadTime(quote.typical, quote.late)
        place = (supplier.id, lead.typical, lead.late)
        if place not in parcels:
            terms = replace(supplier.terms, lead=lead)
            parcels[place] = Parcel(len(parcels) + 1, supplier, terms)
        parcel_of[quote.id] = parcels[place].key
    return {parcel.key: parcel for parcel in parcels.values()}, parcel_of


def _priced(
    session: Session, quotes: Mapping[int, Quote], parcel_of: Mapping[int, int]
) -> dict[int, PricedOffer]:
    """The offers that have a price, as sourcing sees them."""
    prices: dict[int, list[Price]] = defaultdict(list)
    for some in chunks(list(quotes)):
        for offer, start, price in session.execute(_PRICES, {"keys": some}):
            prices[offer].append(Price(start, price))
    return {
        key: PricedOffer(
            key=key,
            item=quote.item,
            delivery=parcel_of[key],
            pack=quote.pack,
            prices=tuple(prices[key]),
            minimum=quote.minimum,
            multiple=quote.multiple,
            available=quote.available,
        )
        for key, quote in quotes.items()
        if prices[key]
    }
