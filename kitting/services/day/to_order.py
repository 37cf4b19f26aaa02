"""What to order before which cut-off: every open booking at its own date."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from kitting.actions import Action, NextStep, next_step
from kitting.calc.purchasing.awaited import Answer
from kitting.calc.purchasing.last_cutoffs import last_cutoffs
from kitting.facts.reasons import Reason, because
from kitting.facts.words import BookingState
from kitting.services.day.lacking import Lacking
from kitting.services.day.scope import About, Day, OpenBooking, Yard, row
from kitting.services.purchasing.asked import asked_on, would_do
from kitting.services.purchasing.awaiting import everything, orders_told
from kitting.services.purchasing.market import Market, read_market
from kitting.services.purchasing.purchase_view import lack
from kitting.views.purchasing import LackView, SupplyReason
from kitting.views.today import TodayItem, TodayKind, TodayReason, TodayRow

# Cut-offs of so many working days are listed; what may wait longer is counted (our choice).
AHEAD = 5


@dataclass(frozen=True, slots=True)
class ToOrder:
    """What is to be ordered of one branch: rows, and the bookings whose orders may wait longer.

    `sure` is how surely an order is here in time for a booking that waits for it, by both numbers;
    None where that is not known.
    """

    rows: tuple[TodayRow, ...]
    beyond: frozenset[str]
    sure: Mapping[tuple[str, str], float | None]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A part of what is to be bought: so much of an item for a booking."""

    booking: OpenBooking
    item: TodayItem


@dataclass(frozen=True, slots=True)
class _Missing:
    """What cannot be bought with the chance asked for; `best` is that of all that is offered."""

    items: tuple[LackView, ...] = ()
    best: float = 0.0


@dataclass(frozen=True, slots=True)
class BranchWants:
    """What bookings of a branch want that nothing surely brings: what is bought is found with it.

    `answers` are by the number of the booking. For a car whose date went by nothing is ordered
    before it has another: it is not among them.
    """

    market: Market | None
    lacking: Sequence[Lacking]
    answers: Mapping[str, Answer]

    def of(self, one: Lacking) -> Mapping[int, int]:
        """What of each item one booking wants, beside what is here or surely comes; thousandths.

        What waits for an order that is too late to be relied on is among it, but for what is free
        here or on a van and may stand for it.
        """
        found = self.answers.get(one.booking.number)
        if found is None:
            return one.short.needs
        (needs,) = found.needs
        sure = one.short.needs
        left = {
            item: max(amount - one.instead.get(item, 0), sure.get(item, 0))
            for item, amount in needs.items()
        }
        return {item: amount for item, amount in left.items() if amount}


@dataclass(frozen=True, slots=True)
class _Buying:
    """What the purchases of a branch are found with; `elsewhere` is what another branch has."""

    day: Day
    yard: Yard
    market: Market
    ahead: date
    answers: Mapping[str, Answer]
    elsewhere: Mapping[tuple[str, int], Sequence[str]]


def read_wants(session: Session, day: Day, lacking: Sequence[Lacking]) -> BranchWants:
    """What the bookings of one branch want that nothing surely brings; one market for all."""
    bookings = {one.number: one for one in day.bookings}
    wanting = [
        one
        for one in lacking
        if one.short.needs or one.short.awaited
        if not bookings[one.booking.number].needs_a_date(day.today)
    ]
    if not wanting:
        return BranchWants(None, (), {})
    items = {item for one in wanting for item in everything(one.short)}
    suppliers = {some.supplier for one in wanting for some in one.short.awaited}
    market = read_market(session, wanting[0].short.branch, items, day.now, suppliers)
    answers = {
        one.booking.number: asked_on(market, one.short, one.on, day.target).sought().answer()
        for one in wanting
    }
    return BranchWants(market, wanting, answers)


def to_order(
    day: Day,
    yard: Yard,
    wants: BranchWants,
    elsewhere: Mapping[tuple[str, int], Sequence[str]],
) -> ToOrder:
    """Orders by supplier and cut-off, and what cannot be had in time.

    `elsewhere` names the branches that have some of what a booking (number, item) wants.
    """
    if wants.market is None:
        return ToOrder((), frozenset(), {})
    bookings = {one.number: one for one in day.bookings}
    ahead = yard.calendar.add(day.today, AHEAD)
    buying = _Buying(day, yard, wants.market, ahead, wants.answers, elsewhere)
    by_cutoff: dict[tuple[str, datetime], list[_Wanted]] = defaultdict(list)
    rows: list[TodayRow] = []
    for one in wants.lacking:
        booking = bookings[one.booking.number]
        bought, missing = _purchase(buying, one, booking)
        rows += _missing(buying, booking, one, missing)
        for key, some in bought:
            by_cutoff[key].append(some)
    orders = {key: some for key, some in by_cutoff.items() if key[1].date() <= ahead}
    rows += [_order(buying, key, some) for key, some in orders.items()]
    beyond = {
        some.booking.number for key, wanted in by_cutoff.items() if key not in orders
        for some in wanted
    }  # fmt: skip
    return ToOrder(tuple(rows), frozenset(beyond), _sure(wants.market, wants.lacking))


def _sure(market: Market, wanting: Sequence[Lacking]) -> dict[tuple[str, str], float | None]:
    """How surely each order is here in time for each booking that waits for it, as things stand.

    Of lines with days of their own the least sure counts; one that is not known, as not known.
    """
    found: dict[tuple[str, str], float | None] = {}
    for one in wanting:
        by = market.latest_arrival(one.on)
        for order in orders_told(market, one.short, [by]):
            key = order.order, one.booking.number
            known = found.get(key, 1.0)
            found[key] = None if order.chance is None or known is None else min(order.chance, known)
    return found


_Bought = list[tuple[tuple[str, datetime], _Wanted]]


def _purchase(buying: _Buying, one: Lacking, booking: OpenBooking) -> tuple[_Bought, _Missing]:
    """The cheapest purchase for one booking, by supplier and last cut-off, and what it lacks."""
    market, target = buying.market, buying.day.target
    by = market.latest_arrival(one.on)
    answer = buying.answers[booking.number]
    (needs,), (had,), (waited,), found = answer.needs, answer.had, answer.waited, answer.found
    if not needs:
        return [], _Missing()
    keys = (
        sorted({market.priced[line.offer].delivery for line in found.purchase.lines})
        if found
        else []
    )
    parcels = [market.parcels[key] for key in keys]
    wanted = min(1.0, target / waited)
    last = last_cutoffs(market.now, [parcel.terms for parcel in parcels], by, wanted)
    if found is None or last is None:
        had, keys, last = {}, [], ()
    lacks = {item: amount for item, amount in needs.items() if item not in had}
    asked = asked_on(market, one.short, one.on, target)
    best = asked.of_what_is_offered.sought().best_chance(0) if lacks else 0.0
    views = tuple(lack(market, item, amount) for item, amount in lacks.items())
    if found is None or not had:
        return [], _Missing(views, best)
    cutoffs = dict(zip(keys, last, strict=True))
    left = dict(had)
    bought: _Bought = []
    for line in found.purchase.lines:
        quote, key = market.offers[line.offer], market.priced[line.offer].delivery
        some = min(left[quote.item], line.packs * quote.pack) if quote.item in left else 0
        if some:
            left[quote.item] -= some
            item = market.items[quote.item]
            wants = TodayItem(item.code, item.name, item.unit, some)
            place = (market.parcels[key].supplier.name, cutoffs[key])
            bought.append((place, _Wanted(booking, wants)))
    return bought, _Missing(views, best)


def _order(buying: _Buying, key: tuple[str, datetime], wanted: Sequence[_Wanted]) -> TodayRow:
    supplier, cutoff = key
    bookings = list(dict.fromkeys(one.booking for one in wanted))
    why = [
        reason
        for one in wanted
        for reason in _by_van(buying, TodayReason.BY_VAN, one.booking, one.item.item)
    ]
    return row(
        buying.day,
        buying.yard,
        TodayKind.ORDER,
        cutoff,
        About(
            then=next_step(Action.BUY, booking=" ".join(one.number for one in bookings)),
            why=tuple(dict.fromkeys(why)),
            cars=tuple(one.car for one in bookings),
            items=_summed(one.item for one in wanted),
            supplier=supplier,
        ),
    )


def _by_van(
    buying: _Buying, code: TodayReason, booking: OpenBooking, item: str
) -> Iterator[Reason]:
    """That other branches have some of what a booking lacks of an item."""
    codes = {one.code: one.id for one in buying.market.items.values()}
    if branches := tuple(buying.elsewhere.get((booking.number, codes[item]), ())):
        yield because(code, item=item, branches=branches)


def _summed(items: Iterator[TodayItem]) -> tuple[TodayItem, ...]:
    """Items, each once with how much of it, in the order they come."""
    amounts: dict[tuple[str, str, str], int] = defaultdict(int)
    for one in items:
        amounts[one.item, one.name, one.unit] += one.quantity
    return tuple(TodayItem(*key, amount) for key, amount in amounts.items())


def _missing(
    buying: _Buying, booking: OpenBooking, one: Lacking, missing: _Missing
) -> Iterator[TodayRow]:
    """What cannot be had in time, and apart what nobody offers."""
    apart: dict[bool, list[LackView]] = defaultdict(list)
    for view in missing.items:
        apart[view.why.code is SupplyReason.NOBODY_OFFERS].append(view)
    for nobody, views in apart.items():
        why = [
            reason
            for view in views
            for reason in _by_van(buying, TodayReason.ONLY_BY_VAN, booking, view.item)
        ]
        why += [view.why for view in views if view.why.code is SupplyReason.OTHER_CURRENCY]
        if missing.best and not nobody:
            why.insert(0, because(TodayReason.AT_BEST, chance=missing.best))
        yield row(
            buying.day,
            buying.yard,
            TodayKind.NOT_OFFERED if nobody else TodayKind.NOT_IN_TIME,
            one.on,
            About(
                then=(
                    next_step(Action.LOAD_PRICES) if nobody else _another_day(buying, booking, one)
                ),
                why=tuple(why),
                cars=(booking.car,),
                items=tuple(TodayItem(v.item, v.name, v.unit, v.quantity) for v in views),
            ),
        )


def _another_day(buying: _Buying, booking: OpenBooking, one: Lacking) -> NextStep:
    """What to do about what does not come in time: look for a date, or buy for the first that is.

    The car on the ramp is there already: no date is agreed anew for it.
    """
    if booking.state is BookingState.ON_THE_RAMP:
        day = would_do(buying.market, one.short, buying.day.target)
        if day is not None:
            return next_step(Action.BUY_FOR_DATE, booking=booking.number, on=day.isoformat())
    return next_step(Action.DATES, booking=booking.number)


def answered(rows: Sequence[TodayRow]) -> list[TodayRow]:
    """Rows in which what failed is answered as what cannot be bought in time, if it is of that."""
    answers = {
        (car.booking, item.item): one.then
        for one in rows
        if one.kind in (TodayKind.NOT_OFFERED, TodayKind.NOT_IN_TIME)
        for car in one.cars
        for item in one.items
    }
    return [
        replace(one, then=answers.get((one.cars[0].booking, one.items[0].item), one.then))
        if one.kind is TodayKind.FAILED and one.items
        else one
        for one in rows
    ]
