"""A purchase as it is shown: what to order from whom, why so much, what would change it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import prod

from kitting.actions import Action, next_step
from kitting.calc.purchasing.days import Days
from kitting.calc.purchasing.delivery import Terms, arrival, chance_by, next_cutoff
from kitting.calc.purchasing.sourcing import Limits, Line, Purchase
from kitting.calc.purchasing.sourcing_by_days import Scheduled, source_by_days
from kitting.calc.purchasing.sourcing_case import fewest_packs, price_each
from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.services.purchasing.market import LATE, USUAL, Market, Parcel
from kitting.services.purchasing.supplier_terms import SupplierTerms
from kitting.services.purchasing.tax import tax_view
from kitting.views.orders import CutoffThere
from kitting.views.purchasing import (
    BuyLineView,
    ExtrasView,
    LackView,
    ParcelView,
    RateView,
    SupplyReason,
)


@dataclass(frozen=True, slots=True)
class Found:
    """A purchase with what it was found for: the `days` it serves, `by` when each has to have it.

    `needed` is what is lacking in all, thousandths by item, `wanted_by` the bookings that want it.
    """

    market: Market
    needed: Mapping[int, int]
    wanted_by: Mapping[int, tuple[str, ...]]
    days: Days
    scheduled: Scheduled
    by: Sequence[date]

    @property
    def purchase(self) -> Purchase:
        """What is bought."""
        return self.scheduled.purchase

    def useful(self, parcel: int) -> date:
        """The last day on which a parcel is of use to the first day that relies on it."""
        relied = self.scheduled.relied.deliveries
        return next(
            (day for day, keys in zip(self.by, relied, strict=True) if parcel in keys), self.by[-1]
        )


def lack(market: Market, item: int, amount: int) -> LackView:
    """What of an item cannot be had in time, and why."""
    row = market.items[item]
    offered = any(offer.item == item for offer in market.priced.values())
    others = market.elsewhere.get(item, ())
    if offered:
        why = because(SupplyReason.NOT_IN_TIME)
    elif others:
        other = next_step(Action.NAME_CURRENCY, currency=others[0])
        rate = next_step(Action.STATE_RATE, currency=others[0])
        why = because(
            SupplyReason.OTHER_CURRENCY, other, rate, currencies=others, currency=market.currency
        )
    else:
        why = nobody_offers()
    return LackView(item=row.code, name=row.name, unit=row.unit, quantity=amount, why=why)


def nobody_offers() -> Reason:
    """That no price list has it."""
    return because(SupplyReason.NOBODY_OFFERS, next_step(Action.LOAD_PRICES))


def parcels(found: Found) -> tuple[ParcelView, ...]:
    """The orders, the one that moves the finish most when its cut-off is missed first."""
    market = found.market
    used: dict[int, list[Parcel]] = {}
    bought = {market.priced[line.offer].delivery for line in found.purchase.lines}
    for key, parcel in market.parcels.items():
        if key in bought:
            used.setdefault(parcel.supplier.id, []).append(parcel)
    views = [_order(found, some) for some in used.values()]
    return tuple(sorted(views, key=lambda view: (-view.slip, view.cutoff, view.supplier)))


def _order(found: Found, parcels: Sequence[Parcel]) -> ParcelView:
    """What is ordered from one supplier, of its usual lead time and of those of single parts."""
    market, supplier, terms = found.market, parcels[0].supplier, parcels[0].terms
    keys = {parcel.key: parcel for parcel in parcels}
    lines = [line for line in found.purchase.lines if market.priced[line.offer].delivery in keys]
    goods = sum(line.minor for line in lines)
    shown = tuple(
        _line(found, line, (keys[market.priced[line.offer].delivery], goods)) for line in lines
    )
    # Every sum is of what is shown: each line is rounded once, and so is the carriage.
    of_goods = sum(line.total.minor for line in shown)
    paid = sum(some for key, some in found.purchase.carriage if key in keys)
    carriage = market.told(supplier.id, own_carriage(market, supplier.id, lines))
    total = Money(of_goods + carriage.minor, market.currency)
    cutoff = next_cutoff(market.now, terms)
    return ParcelView(
        supplier=supplier.code,
        supplier_name=supplier.name,
        lines=shown,
        goods=Money(of_goods, market.currency),
        carriage=carriage,
        carriage_note=carriage_note(market, parcels[0], goods, paid),
        total=total,
        cutoff=cutoff,
        minutes_left=terms.clock.minutes(market.now, cutoff),
        there=cutoff_there(terms, cutoff),
        arrives=max(parcel.comes(market.now) for parcel in parcels),
        late=max(parcel.comes(market.now, LATE) for parcel in parcels),
        tax=tax_view(supplier.tax, total, market.now.date()),
        latest_useful=min(found.useful(key) for key in keys),
        chance=prod(_chance(found, parcel) for parcel in parcels),
        slip=max(_slip(market, cutoff, parcel) for parcel in parcels),
        own_total=_own_total(market, supplier, lines),
        cores=market.told(
            supplier.id, sum(line.packs * (market.offers[line.offer].core or 0) for line in lines)
        ),
    )


def rates_told(market: Market) -> tuple[RateView, ...]:
    """The stated rates that prices were converted by, with how old they are."""
    today = market.now.date()
    return tuple(
        RateView(rate.currency, market.currency, rate.value, rate.on, rate.age(today))
        for rate in sorted(set(market.rates.values()), key=lambda rate: rate.currency)
    )


def own_price(market: Market, line: Line) -> int:
    """What a pack of a line costs in the supplier's own currency, minor units."""
    price = price_each(market.own_priced[line.offer], line.packs)
    if price is None:
        raise KittingError(
            "{packs} packs of {part} have no price",
            packs=line.packs,
            part=market.offers[line.offer].part,
        )
    return price


def own_carriage(market: Market, supplier: int, lines: Sequence[Line]) -> int:
    """The carriage of what is ordered together, in the supplier's own currency, minor units."""
    terms = market.own_terms[supplier]
    goods = sum(line.packs * own_price(market, line) for line in lines)
    free = terms.carriage_free is not None and goods >= terms.carriage_free
    return 0 if free else terms.carriage


def _own_total(market: Market, supplier: SupplierTerms, lines: Sequence[Line]) -> Money | None:
    """What the supplier asks for in its own currency; None where that is bought in."""
    if supplier.id not in market.rates:
        return None
    goods = sum(line.packs * own_price(market, line) for line in lines)
    return Money(goods + own_carriage(market, supplier.id, lines), supplier.currency)


def cutoff_there(terms: Terms, cutoff: datetime) -> CutoffThere:
    """A cut-off by the supplier's own clock."""
    clock = terms.clock
    return CutoffThere(clock.there, clock.here, clock.at_supplier(cutoff))


def _chance(found: Found, parcel: Parcel) -> float:
    return chance_by(found.market.now, parcel.terms, found.useful(parcel.key))


def _slip(market: Market, cutoff: datetime, parcel: Parcel) -> int:
    """How many days later a parcel comes if the cut-off is missed."""
    missed = arrival(cutoff, parcel.terms, parcel.terms.lead.quantile(USUAL))
    return (missed - parcel.comes(market.now)).days


def carriage_note(market: Market, parcel: Parcel, goods: int, carriage: int) -> Reason | None:
    """Why there is no carriage, or how much more of goods would save it; None where neither is.

    `goods` and `carriage` are in parts of the market.
    """
    free = parcel.supplier.carriage_free
    if free is None or not parcel.supplier.carriage:
        return None
    if not carriage:
        return because(SupplyReason.CARRIAGE_FREE, limit=market.money(free))
    return because(
        SupplyReason.CARRIAGE_SAVED, gap=market.money(free - goods), saved=market.money(carriage)
    )


def _line(found: Found, line: Line, within: tuple[Parcel, int]) -> BuyLineView:
    """A line of a parcel whose goods come to so much (parts of the market).

    The sum is converted as one and rounded once: the price of a pack is rounded by itself.
    """
    market, parcel = found.market, within[0]
    quote = market.offers[line.offer]
    item = market.items[quote.item]
    each = own_price(market, line)
    return BuyLineView(
        part=quote.part,
        item=item.code,
        name=item.name,
        unit=item.unit,
        needed=found.needed.get(item.id, 0),
        packs=line.packs,
        pack=quote.pack,
        ordered=line.packs * quote.pack,
        price=market.told(quote.supplier, each),
        total=market.told(quote.supplier, line.packs * each),
        returnable=quote.returnable,
        core=None if quote.core is None else market.told(quote.supplier, quote.core),
        why=_why(found, item.id, line, within),
        arrives=parcel.comes(market.now),
        late=parcel.comes(market.now, LATE),
        chance=_chance(found, parcel),
    )


def _why(found: Found, item: int, line: Line, within: tuple[Parcel, int]) -> tuple[Reason, ...]:
    """Why so many: who wants it, and what is left over and why."""
    needed = found.needed.get(item, 0)
    if not needed:
        return (because(SupplyReason.CHEAPER_WITH_IT),)
    wanted = because(SupplyReason.FOR_BOOKINGS, bookings=found.wanted_by[item])
    quote = found.market.offers[line.offer]
    over = line.packs * quote.pack - needed
    if over <= 0:
        return (wanted,)
    left = Quantity(over, found.market.items[item].unit)
    if line.packs == -(-needed // quote.pack):
        return wanted, because(SupplyReason.PACK_SIZE, over=left)
    return wanted, _why_more(found, line, needed, within, left)


def _why_more(
    found: Found, line: Line, needed: int, within: tuple[Parcel, int], over: Quantity
) -> Reason:
    """Why more packs than are needed: what would be the matter with the fewest that are sold."""
    market, (parcel, goods) = found.market, within
    offer, terms = market.priced[line.offer], parcel.supplier
    fewest = fewest_packs(offer, needed)
    if line.packs == fewest:
        return because(SupplyReason.LEAST_PACKS, over=over)
    each = price_each(offer, fewest)
    saved = 0 if each is None else line.minor - each * fewest
    if goods - saved < terms.minimum_order:
        limit = market.money(terms.minimum_order)
        return because(SupplyReason.LEAST_ORDER, over=over, limit=limit)
    free = terms.carriage_free
    if saved > 0 and free is not None and goods - saved < free <= goods:
        return because(SupplyReason.SAVES_CARRIAGE, over=over, limit=market.money(free))
    return because(SupplyReason.PRICE_BREAK, over=over)


def extras(market: Market, least: Purchase, richer: Purchase | None) -> ExtrasView | None:
    """What would be worth taking along: beside the least purchase, never in it."""
    if richer is None or richer.lines == least.lines:
        return None
    packs = {line.offer: line.packs for line in least.lines}
    more = [line for line in richer.lines if line.packs != packs.get(line.offer)]
    return ExtrasView(
        more=market.money(abs(richer.spent - least.spent)),
        saved=richer.spent < least.spent,
        worth=market.money(richer.worth),
        lines=tuple(
            (quote.part, market.items[quote.item].code, line.packs)
            for line in more
            for quote in (market.offers[line.offer],)
        ),
    )


def others(found: Found) -> tuple[Reason, ...]:
    """What would change it: each supplier left out in turn."""
    market = found.market
    offers, deliveries = list(market.priced.values()), market.deliveries(found.by[0])
    names = {parcel.supplier.id: parcel.supplier.name for parcel in market.parcels.values()}
    reasons = []
    for supplier in sorted({market.offers[line.offer].supplier for line in found.purchase.lines}):
        barred = [key for key, quote in market.offers.items() if quote.supplier == supplier]
        other = source_by_days(found.days, offers, deliveries, (), Limits(barred=barred))
        name = names[supplier]
        reasons.append(
            because(SupplyReason.NOT_WITHOUT_SUPPLIER, supplier=name)
            if other is None
            else because(
                SupplyReason.WITHOUT_SUPPLIER,
                supplier=name,
                dearer=market.money(other.purchase.spent - found.purchase.spent),
            )
        )
    return tuple(reasons)
