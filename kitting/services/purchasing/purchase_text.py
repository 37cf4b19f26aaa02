"""Purchases in words: why this supplier, why so many, what would change it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from kitting.calc.purchasing.delivery import arrival, chance_by, next_cutoff
from kitting.calc.purchasing.sourcing import Line, Purchase, Worth, source
from kitting.facts.money import format_money
from kitting.facts.units import format_quantity
from kitting.services.purchasing.market import Market, Parcel
from kitting.services.purchasing.shortages import Shortage
from kitting.views.purchasing import BuyLineView, ParcelView


def money_of(market: Market, minor: int) -> str:
    """An amount in the currency of the market."""
    currencies = {parcel.supplier.currency for parcel in market.parcels.values()}
    return format_money(minor, next(iter(sorted(currencies)), "GBP"))


def lack(market: Market, item: int, amount: int) -> str:
    """What of an item cannot be had in time, and why."""
    row = market.items[item]
    offered = any(offer.item == item for offer in market.priced.values())
    why = (
        "nobody offers it (load a price list that has it)"
        if not offered
        else "no delivery is sure enough to be in time"
    )
    return f"{format_quantity(amount, row.unit)} {row.code} {row.name}: {why}"


def parcels(market: Market, short: Shortage, found: Purchase, by: date) -> tuple[ParcelView, ...]:
    """The orders, the one that moves the finish most when its cut-off is missed first."""
    carriage = dict(found.carriage)
    views = []
    for key, parcel in market.parcels.items():
        lines = [line for line in found.lines if market.priced[line.offer].delivery == key]
        if lines:
            goods = sum(line.minor for line in lines)
            views.append(_parcel(market, short, parcel, lines, goods, carriage.get(key, 0), by))
    return tuple(sorted(views, key=lambda view: (-view.slip, view.cutoff, view.supplier)))


def _parcel(
    market: Market,
    short: Shortage,
    parcel: Parcel,
    lines: Sequence[Line],
    goods: int,
    carriage: int,
    by: date,
) -> ParcelView:
    supplier, terms = parcel.supplier, parcel.terms
    cutoff = next_cutoff(market.now, terms)
    arrives = arrival(market.now, terms, terms.lead.quantile(0.5))
    missed = arrival(cutoff, terms, terms.lead.quantile(0.5))
    return ParcelView(
        supplier=supplier.code,
        supplier_name=supplier.name,
        lines=tuple(_line(market, short, line, supplier.currency) for line in lines),
        goods=format_money(goods, supplier.currency),
        carriage=format_money(carriage, supplier.currency),
        carriage_note=_carriage_note(parcel, goods, carriage),
        total=format_money(goods + carriage, supplier.currency),
        cutoff=cutoff,
        minutes_left=int((cutoff - market.now).total_seconds() // 60),
        arrives=arrives,
        late=arrival(market.now, terms, terms.lead.quantile(0.9)),
        latest_useful=by,
        chance=chance_by(market.now, terms, by),
        slip=(missed - arrives).days,
    )


def _carriage_note(parcel: Parcel, goods: int, carriage: int) -> str | None:
    supplier = parcel.supplier
    if supplier.carriage_free is None or not supplier.carriage:
        return None
    if not carriage:
        return f"carriage free over {format_money(supplier.carriage_free, supplier.currency)}"
    gap = format_money(supplier.carriage_free - goods, supplier.currency)
    return f"{gap} more of goods would save {format_money(carriage, supplier.currency)} carriage"


def _line(market: Market, short: Shortage, line: Line, currency: str) -> BuyLineView:
    offer = market.offers[line.offer]
    priced = market.priced[offer.id]
    item = market.items[priced.item]
    packs: int = line.packs
    minor: int = line.minor
    needed = short.needs.get(item.id, 0)
    ordered = packs * offer.pack
    return BuyLineView(
        part=offer.part,
        item=item.code,
        name=item.name,
        unit=item.unit,
        needed=needed,
        packs=packs,
        pack=offer.pack,
        ordered=ordered,
        price=format_money(minor // packs, currency),
        total=format_money(minor, currency),
        returnable=offer.returnable,
        core=None if offer.core is None else format_money(offer.core, currency),
        why=_why(market, short, item.id, needed, ordered, packs, offer.pack),
    )


def _why(
    market: Market, short: Shortage, item: int, needed: int, ordered: int, packs: int, pack: int
) -> str:
    """Why so many: who wants it, and what is left over and why."""
    unit = market.items[item].unit
    if not needed:
        return "in use anyway: it makes carriage free or an order large enough"
    parts = [f"for {', '.join(short.wanted_by[item])}"]
    if ordered > needed:
        over = format_quantity(ordered - needed, unit)
        least = -(-needed // pack)
        why = "the pack is that large" if packs == least else "so many cost less than fewer"
        parts.append(f"{over} over: {why}")
    return "; ".join(parts)


def others(
    market: Market,
    needs: Mapping[int, int],
    found: Purchase,
    by: date,
    sure: float,
    worth: Sequence[Worth],
) -> list[str]:
    """What would change it: each supplier left out in turn."""
    offers, deliveries = list(market.priced.values()), market.deliveries(by)
    told = []
    used = {market.offers[line.offer].supplier_id for line in found.lines}
    for supplier_id in sorted(used):
        barred = [key for key, offer in market.offers.items() if offer.supplier_id == supplier_id]
        name = next(
            p.supplier.name for p in market.parcels.values() if p.supplier.id == supplier_id
        )
        other = source(needs, offers, deliveries, sure, worth, barred=barred)
        if other is None:
            told.append(f"without {name} it cannot be had in time")
        else:
            dearer = money_of(market, other.spent - found.spent)
            told.append(f"without {name} it would cost {dearer} more")
    return told
