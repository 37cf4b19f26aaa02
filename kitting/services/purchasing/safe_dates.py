"""Dates: what each possible fitting date costs and its chance; when to order for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import order_by
from kitting.calc.purchasing.sourcing import Purchase, best_chance, source
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import KittingError
from kitting.facts.exchange_rates import PricedIn
from kitting.facts.words import DateState
from kitting.services.bookings.booking import refuse_open
from kitting.services.bookings.unbooked import plan_unbooked
from kitting.services.branches import find_branch
from kitting.services.calendars import calendar_of
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.awaiting import everything, expected, not_known
from kitting.services.purchasing.free_goods import read_free
from kitting.services.purchasing.market import USUAL, Market, read_market
from kitting.services.purchasing.open_doubts import (
    free_doubts,
    open_doubts,
    open_doubts_unbooked,
)
from kitting.services.purchasing.purchase import TARGET
from kitting.services.purchasing.purchase_view import lack
from kitting.services.purchasing.short_facts import Shortage
from kitting.services.purchasing.shortages import Wanting, read_wanting
from kitting.services.purchasing.unbooked import wanting_unbooked
from kitting.views.on_the_way import VanComingView
from kitting.views.possible_dates import ClosedDayView, DatesView, DateView, OrderByView
from kitting.views.purchasing import OpenDoubtView

DAYS = 12


@dataclass(frozen=True, slots=True)
class _Asked:
    """Who offers what may be lacking, and the chance asked for."""

    market: Market
    target: float

    @property
    def offered(self) -> frozenset[int]:
        """Items that somebody offers."""
        return frozenset(offer.item for offer in self.market.priced.values())


@dataclass(frozen=True, slots=True)
class _Kits:
    """What is wanted, the days that are judged for it, and what is in doubt on each of them."""

    wanting: Wanting
    days: tuple[date, ...]
    doubts: tuple[OpenDoubtView, ...]


@dataclass(frozen=True, slots=True)
class CarRequest:
    """Jobs on a car at a branch, on any day from the `first` on (None: from tomorrow).

    `model` (its code) where no car is named: then the registration is not read.
    """

    registration: str
    jobs: Sequence[str]
    branch: str | None = None
    first: date | None = None
    model: str | None = None


@dataclass(frozen=True, slots=True)
class BookedRequest:
    """Some bookings of one branch, on any day from the `first` on (None: from tomorrow)."""

    numbers: Sequence[str]
    first: date | None = None


def dates(
    session: Session,
    numbers: Sequence[str],
    now: datetime,
    target: float = TARGET,
    days: int = DAYS,
    currency: str | None = None,
) -> DatesView:
    """Cost and chance of the next working days of the branch, and the earliest safe one.

    Goods have to be there one working day before the fitting date, to be checked. What is ordered
    is judged by its own delivery until it is here. What is promised and does not keep until a date
    is lacking on that date. While nobody offers something that is needed, or
    something of a kit is in doubt that no purchase settles, no date is safe.
    """
    return dates_booked(session, BookedRequest(numbers), now, target, days, currency)


def dates_booked(
    session: Session, request: BookedRequest, now: datetime, target: float = TARGET,
    days: int = DAYS, currency: str | None = None,
) -> DatesView:  # fmt: skip
    """As `dates`, from a day on. Raises KittingError for a day that is past."""
    first = _first(request.first, now)
    wanting = read_wanting(session, request.numbers)
    doubts = open_doubts(session, wanting.bookings)
    own = calendar_of(wanting.branch.country, wanting.branch.subdivision, {}, now)
    found = tuple(_next_days(own, first, days))
    view = _dates(session, _Kits(wanting, found, doubts), now, target, currency)
    return replace(view, bookings=tuple(booking.number for booking in wanting.bookings))


def dates_unbooked(
    session: Session, request: CarRequest, now: datetime, target: float = TARGET,
    days: int = DAYS, currency: str | None = None,
) -> DatesView:  # fmt: skip
    """As `dates`, for jobs that nobody has booked, planned for the first of the dates.

    Nothing is written. Raises UnknownNameError as a plan does, and KittingError while a variant is
    open and for a day that is past.
    """
    owner = find_branch(session, request.branch)
    first = _first(request.first, now)
    own = calendar_of(owner.country, owner.subdivision, {}, now)
    found = tuple(_next_days(own, first, days))
    asked = PlanRequest(request.registration, tuple(request.jobs), found[0], model=request.model)
    case = plan_unbooked(session, owner, asked, now)
    refuse_open(case.view, request.model)
    doubts = tuple(OpenDoubtView(None, one) for one in open_doubts_unbooked(session, case))
    kits = _Kits(wanting_unbooked(case, owner), found, doubts)
    return replace(
        _dates(session, kits, now, target, currency),
        car=case.view.vehicle.called,
        jobs=tuple(job.code for job in case.view.jobs),
        booked=case.booked,
    )


def _first(asked: date | None, now: datetime) -> date:
    """The first day asked about, else tomorrow."""
    first = now.date() + timedelta(days=1) if asked is None else asked
    if first < now.date():
        raise KittingError(f"{first} is past; name a day from {now.date()} on")
    return first


def _dates(
    session: Session, kits: _Kits, now: datetime, target: float, currency: str | None
) -> DatesView:
    wanting = kits.wanting
    free = read_free(session, wanting, now.date())
    short = {day: wanting.lacking_all_on(day, free) for day in kits.days}
    unproven = dict.fromkeys(one for some in short.values() for one in some.unproven)
    counted = free_doubts(session, wanting.bookings, unproven)
    doubts = tuple(dict.fromkeys((*kits.doubts, *counted)))
    items = {item for one in short.values() for item in everything(one)}
    suppliers = {one.supplier for some in short.values() for one in some.awaited}
    market = read_market(session, wanting.branch, sorted(items), now, suppliers, PricedIn(currency))
    asked = _Asked(market, target)
    missing = _not_offered(asked, short.values())
    judged = [_judged(asked, day, some) for day, some in short.items()]
    safe = (pair for pair in judged if pair[0].state is DateState.SAFE)
    earliest, bought = next(safe, (None, None))
    last = judged[-1][0].on if judged else now.date()
    return DatesView(
        bookings=(),
        now=now,
        asked=target,
        dates=tuple(_proven(view, doubts) for view, _ in judged),
        earliest=None if earliest is None else earliest.on,
        order_by=() if earliest is None or bought is None
        else _order_by(market, bought, earliest.by, target),
        closed=_closed(market, now.date(), last),
        nobody_offers=tuple(lack(market, item, amount) for item, amount in missing.items()),
        doubts=doubts,
        left_out=market.left_out,
        tax_mixed=market.tax_mixed,
        vans=_vans(short.values()),
        not_known=not_known(short.values(), now.date()),
    )  # fmt: skip


def _vans(short: Iterable[Shortage]) -> tuple[VanComingView, ...]:
    """The transfers that some date counts on, each with the most that one takes of it."""
    found: dict[tuple[int, str], VanComingView] = {}
    for one in short:
        for van in one.vans:
            key = van.transfer, van.item
            if key not in found or found[key].quantity < van.quantity:
                found[key] = van
    return tuple(found[key] for key in sorted(found))


def judged_date(
    session: Session, numbers: Sequence[str], now: datetime, day: date, target: float = TARGET
) -> DateView:
    """One date, whatever day it is, judged as `dates` judges it."""
    wanting = read_wanting(session, numbers)
    short = wanting.lacking_all_on(day, read_free(session, wanting, now.date()))
    suppliers = {one.supplier for one in short.awaited}
    market = read_market(session, wanting.branch, sorted(everything(short)), now, suppliers)
    view, _ = _judged(_Asked(market, target), day, short)
    return _proven(view, open_doubts(session, wanting.bookings, short.unproven))


def _not_offered(asked: _Asked, short: Iterable[Shortage]) -> dict[int, int]:
    """What nobody offers and some date lacks: the most that one lacks, by item."""
    found: dict[int, int] = {}
    for one in short:
        for item, amount in one.needs.items():
            if item not in asked.offered:
                found[item] = max(amount, found.get(item, 0))
    return found


def _proven(day: DateView, doubts: Sequence[OpenDoubtView]) -> DateView:
    """A date for which all comes in time is not safe while something is in doubt."""
    return (
        replace(day, state=DateState.NOT_PROVEN) if doubts and day.state is DateState.SAFE else day
    )


def _next_days(own: WorkCalendar, first: date, days: int) -> Iterator[date]:
    """So many working days of the branch, from a day on."""
    day = first
    for _ in range(days):
        day = own.next_open(day)
        yield day
        day += timedelta(days=1)


def _judged(asked: _Asked, day: date, short: Shortage) -> tuple[DateView, Purchase | None]:
    """A date, with the purchase that was found for it if something is to be bought.

    However surely the rest comes, a kit that lacks what nobody offers is safe on no date.
    """
    market = asked.market
    by = market.latest_arrival(day)
    coming = expected(market, short, [by], asked.target)
    (lacks,), (sure,) = coming.needs, coming.chances
    needs = {item: some for item, some in lacks.items() if item in asked.offered}
    complete = len(needs) == len(lacks)
    if not lacks:
        return _date(asked, (day, by), sure, DateState.SAFE), None
    offers, deliveries = list(market.priced.values()), market.deliveries(by)
    wanted = min(1.0, asked.target / sure)
    found = source(needs, offers, deliveries, wanted) if needs else None
    if found is not None:
        state = DateState.SAFE if complete else DateState.RISKY
        return _date(asked, (day, by), found.chance * sure, state, found.spent), found
    best = best_chance(needs, offers, deliveries) if needs else 0.0
    cheapest = source(needs, offers, deliveries, best * 0.999) if best else None
    waiting = _waiting(asked, short, by) if complete else 0.0
    if waiting > best * sure:
        # Nothing quicker can be had: it hangs on what is on its way.
        return _date(asked, (day, by), waiting, DateState.RISKY), None
    # What is so late that nobody knows when it comes may still come.
    hangs = not short.needs and any(order.chance is None for order in coming.orders)
    state = DateState.RISKY if best or hangs else DateState.IMPOSSIBLE
    cost = None if cheapest is None else cheapest.spent
    return _date(asked, (day, by), best * sure, state, cost), None


def _waiting(asked: _Asked, short: Shortage, by: date) -> float:
    """The chance of a date if nothing is bought and all that is on its way is waited for."""
    if short.needs:
        return 0.0
    return expected(asked.market, short, [by], 0.0).chances[0]


def _date(
    asked: _Asked,
    days: tuple[date, date],
    chance: float,
    state: DateState,
    cost: int | None = None,
) -> DateView:
    return DateView(
        on=days[0],
        by=days[1],
        cost=None if cost is None else asked.market.money(cost),
        chance=chance,
        state=state,
    )


def _order_by(market: Market, found: Purchase, by: date, target: float) -> tuple[OrderByView, ...]:
    """The last cut-offs: with all of them kept, the chance asked for still holds."""
    used = {market.priced[line.offer].delivery for line in found.lines}
    each = target ** (1 / len(used))
    return tuple(
        OrderByView(
            supplier=parcel.supplier.name,
            usual=order_by(parcel.terms, by, parcel.terms.lead.quantile(USUAL)),
            safe=order_by(parcel.terms, by, parcel.terms.lead.quantile(each)),
        )
        for key, parcel in market.parcels.items()
        if key in used
    )


def _closed(market: Market, first: date, last: date) -> tuple[ClosedDayView, ...]:
    """Days on which the branch is closed, by name, within the span."""
    return tuple(
        ClosedDayView(on=day, reason=reason)
        for day, reason in sorted(market.own.closed.items())
        if first <= day <= last
    )
