"""Buying: what is short of some bookings, bought at least cost so that it comes in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from kitting.calc.delivery import arrival, chance_by, next_cutoff
from kitting.calc.sourcing import Purchase, Worth, best_chance, lacking, source
from kitting.errors import KittingError
from kitting.facts.money import format_money
from kitting.facts.units import format_quantity
from kitting.services.alternatives import alternatives
from kitting.services.booking_views import coverage
from kitting.services.bookings import OPEN, find_booking, promise_free
from kitting.services.market import Market, Parcel, read_market
from kitting.services.transfers import transfer_advice
from kitting.store import writing
from kitting.tables.bookings import Booking, BookingNeed
from kitting.tables.stock import Lot, Movement
from kitting.tables.supply import Branch, OrderLine, PurchaseOrder
from kitting.views import BuyLineView, ParcelView, PurchaseView

SURE = 0.95
# What is in use anyway is worth nearly its price on the shelf, not all of it (our choice).
KEPT = 0.9
_LOOK_AHEAD = 60


@dataclass(frozen=True, slots=True)
class Shortage:
    """What some bookings of one branch lack: thousandths by item, and which bookings want it."""

    branch: Branch
    bookings: tuple[Booking, ...]
    needs: Mapping[int, int]
    wanted_by: Mapping[int, tuple[str, ...]]

    @property
    def fit_on(self) -> date:
        """The first fitting date among the bookings."""
        return min(booking.fit_on for booking in self.bookings)


def shortage(session: Session, numbers: Sequence[str]) -> Shortage:
    """What the bookings lack together; spares for inspections are left out.

    Raises KittingError for bookings of two branches, or one that is closed.
    """
    bookings = tuple(find_booking(session, number) for number in dict.fromkeys(numbers))
    if len({booking.branch_id for booking in bookings}) > 1:
        raise KittingError(
            "these bookings are of two branches; an order goes to one. Buy for each branch"
        )
    needs: dict[int, int] = defaultdict(int)
    wanted: dict[int, list[str]] = defaultdict(list)
    for booking in bookings:
        if booking.state not in OPEN:
            raise KittingError(f"{booking.number} is {booking.state}; nothing is bought for it")
        covered = coverage(session, booking.id)
        for item, amount in session.execute(
            select(BookingNeed.item_id, func.sum(BookingNeed.quantity))
            .where(BookingNeed.booking_id == booking.id, BookingNeed.rule != "inspect")
            .group_by(BookingNeed.item_id)
        ):
            short = int(amount) - covered.get(item, 0)
            if short > 0:
                needs[item] += short
                wanted[item].append(booking.number)
    branch = session.get_one(Branch, bookings[0].branch_id)
    return Shortage(
        branch, bookings, dict(needs), {item: tuple(names) for item, names in wanted.items()}
    )


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
    view, found, market = _view(session, short, now, fitted, sure)
    return _advised(session, view, short, found, market)


def _advised(
    session: Session, view: PurchaseView, short: Shortage, found: Purchase | None, market: Market
) -> PurchaseView:
    """The purchase with what other branches could send instead."""
    if not short.needs:
        return view
    comes = {
        market.priced[line.offer].item: _comes(market, market.priced[line.offer].delivery)
        for line in (found.lines if found is not None else ())
    }
    advice = transfer_advice(session, short.branch, short.needs, comes, view.fit_on, market.now)
    instead = alternatives(session, short.branch.id, list(short.needs))
    return replace(view, transfers=advice, alternatives=instead)


def _comes(market: Market, parcel: int) -> date:
    """When a parcel usually comes if it is ordered now."""
    terms = market.parcels[parcel].terms
    return arrival(market.now, terms, terms.lead.quantile(0.5))


def _view(
    session: Session, short: Shortage, now: datetime, fit_on: date, sure: float
) -> tuple[PurchaseView, Purchase | None, Market]:
    usage = _usage(session, short)
    market = read_market(session, short.branch, {*short.needs, *usage}, now)
    by = market.latest_arrival(fit_on)
    offers, deliveries = list(market.priced.values()), market.deliveries(by)
    worth = _worth(market, usage)
    found = source(short.needs, offers, deliveries, sure, worth) if short.needs else None
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
        missing = lacking(short.needs, offers, deliveries, sure)
        return (
            replace(
                empty,
                lacking=tuple(_lack(market, item, short.needs[item]) for item in missing),
                best_chance=best_chance(short.needs, offers, deliveries),
                would_do=_would_do(market, short.needs, fit_on, sure),
            ),
            None,
            market,
        )
    parcels = _parcels(market, short, found, by)
    view = replace(
        empty,
        chance=found.chance,
        total=_money(market, found.spent),
        parcels=parcels,
        others=tuple(_others(market, short.needs, found, by, sure, worth)),
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


def _money(market: Market, minor: int) -> str:
    currencies = {parcel.supplier.currency for parcel in market.parcels.values()}
    return format_money(minor, next(iter(sorted(currencies)), "GBP"))


def _lack(market: Market, item: int, amount: int) -> str:
    row = market.items[item]
    offered = any(offer.item == item for offer in market.priced.values())
    why = "nobody offers it" if not offered else "no delivery is sure enough to be in time"
    return f"{format_quantity(amount, row.unit)} {row.code} {row.name}: {why}"


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


def _parcels(market: Market, short: Shortage, found: Purchase, by: date) -> tuple[ParcelView, ...]:
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
    lines: Sequence[object],
    goods: int,
    carriage: int,
    by: date,
) -> ParcelView:
    supplier, terms = parcel.supplier, parcel.terms
    cutoff = next_cutoff(market.now, terms)
    arrives = arrival(market.now, terms, terms.lead.quantile(0.5))
    missed = arrival(cutoff, terms, terms.lead.quantile(0.5))
    money = lambda minor: format_money(minor, supplier.currency)  # noqa: E731
    return ParcelView(
        supplier=supplier.code,
        supplier_name=supplier.name,
        lines=tuple(_line(market, short, line, supplier.currency) for line in lines),
        goods=money(goods),
        carriage=money(carriage),
        carriage_note=_carriage_note(parcel, goods, carriage),
        total=money(goods + carriage),
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


def _line(market: Market, short: Shortage, line: object, currency: str) -> BuyLineView:
    offer = market.offers[line.offer]  # type: ignore[attr-defined]
    priced = market.priced[offer.id]
    item = market.items[priced.item]
    packs: int = line.packs  # type: ignore[attr-defined]
    minor: int = line.minor  # type: ignore[attr-defined]
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


def _others(
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
            dearer = _money(market, other.spent - found.spent)
            told.append(f"without {name} it would cost {dearer} more")
    return told


def place(
    engine: Engine,
    numbers: Sequence[str],
    now: datetime,
    fit_on: date | None = None,
    sure: float = SURE,
) -> PurchaseView:
    """Buy as `buy` proposes: write the orders and promise what comes to the bookings.

    The earliest fitting date is served first. Returns the purchase with the numbers of its orders.
    """
    with writing(engine) as session:
        short = shortage(session, numbers)
        view, found, market = _view(session, short, now, fit_on or short.fit_on, sure)
        view = _advised(session, view, short, found, market)
        if found is None:
            return view
        orders = [
            _order(session, short.branch, market, parcel, found)
            for parcel in market.parcels.values()
            if any(market.priced[line.offer].delivery == parcel.key for line in found.lines)
        ]
        session.flush()
        for booking in sorted(short.bookings, key=lambda b: (b.fit_on, b.id)):
            promise_free(session, booking)
        session.commit()
        return replace(view, orders=tuple(orders))


def _order(
    session: Session, branch: Branch, market: Market, parcel: Parcel, found: Purchase
) -> str:
    newest = session.scalar(select(func.max(PurchaseOrder.id))) or 0
    terms = parcel.terms
    order = PurchaseOrder(
        number=f"P{newest + 1:04d}",
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
