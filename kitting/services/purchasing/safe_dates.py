"""Dates: what each possible fitting date costs and its chance; when to order for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from kitting.calc.purchasing.delivery import order_by
from kitting.calc.purchasing.last_cutoffs import last_cutoffs
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.errors import KittingError
from kitting.facts.exchange_rates import PricedIn
from kitting.facts.words import DateState
from kitting.services.bookings.refuse_open import refuse_open
from kitting.services.bookings.unbooked import plan_unbooked
from kitting.services.branches import find_branch
from kitting.services.calendars import calendar_of
from kitting.services.planning.request import PlanRequest
from kitting.services.purchasing.asked import Asked, asked_on
from kitting.services.purchasing.awaiting import everything, not_known
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
# So much of the best chance is as good as all of it, where it is cheaper (our choice).
_HARDLY_LESS = 0.999


@dataclass(frozen=True, slots=True)
class _Kits:
    """What is wanted, the days that are judged for it, and what is in doubt on each of them."""

    wanting: Wanting
    days: tuple[date, ...]
    doubts: tuple[OpenDoubtView, ...]


@dataclass(frozen=True, slots=True)
class CarRequest:
    """Jobs on a car at a branch, on any day from the `first` on (None: from tomorrow).

    `model` (its code) where no car is named: then the registration is not read. `chosen` is what
    the customer would choose, split → option by code.
    """

    registration: str
    jobs: Sequence[str]
    branch: str | None = None
    first: date | None = None
    model: str | None = None
    chosen: Mapping[str, str] = field(default_factory=dict)

    def plan(self, on: date) -> PlanRequest:
        """What is asked of the plan for a day."""
        jobs, chosen = tuple(self.jobs), dict(self.chosen)
        return PlanRequest(self.registration, jobs, on, chosen, model=self.model)


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
    case = plan_unbooked(session, owner, request.plan(found[0]), now)
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
        raise KittingError(
            "{first} is past; name a day from {date} on", first=first, date=now.date()
        )
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
    found = [asked_on(market, some, day, target) for day, some in short.items()]
    judged = [_judged(one) for one in found]
    safe = (
        (day, one) for one, day in zip(found, judged, strict=True) if day.state is DateState.SAFE
    )
    earliest, asked = next(safe, (None, None))
    last = judged[-1].on if judged else now.date()
    return DatesView(
        bookings=(),
        now=now,
        asked=target,
        dates=tuple(_proven(view, doubts) for view in judged),
        earliest=None if earliest is None else earliest.on,
        order_by=() if asked is None else _order_by(asked),
        closed=_closed(market, now.date(), last),
        nobody_offers=tuple(lack(market, item, amount) for item, amount in _not_offered(found)),
        doubts=doubts,
        left_out=market.left_out,
        tax_mixed=market.tax_mixed,
        vans=_vans(short.values()),
        not_known=not_known(short.values(), now.date()),
        weekend=tuple(sorted(market.own.weekend)),
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
    view = _judged(asked_on(market, short, day, target))
    return _proven(view, open_doubts(session, wanting.bookings, short.unproven))


def _not_offered(asked: Iterable[Asked]) -> Iterator[tuple[int, int]]:
    """What nobody offers and some date lacks: the most that one lacks, by item."""
    found: dict[int, int] = {}
    for one in asked:
        for item, amount in one.nobody_offers.items():
            found[item] = max(amount, found.get(item, 0))
    yield from found.items()


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


def _judged(asked: Asked) -> DateView:
    """A date, by the best of relying on what is on its way and buying it again.

    However surely the rest comes, a kit that lacks what nobody offers is safe on no date, and how
    sure it is to be whole nobody knows: the chance of the rest is told apart.
    """
    if asked.nobody_offers:
        offered = asked.of_what_is_offered
        rest = _offered(offered)
        if offered.short.needs or offered.short.awaited:
            state = rest.state if rest.state is DateState.IMPOSSIBLE else DateState.RISKY
            return replace(rest, chance=0.0, state=state, rest=rest.chance)
        return replace(rest, chance=0.0, state=DateState.RISKY)
    return _offered(asked)


def _offered(asked: Asked) -> DateView:
    """A date of a kit of which somebody offers everything."""
    sought = asked.sought()
    answer = sought.answer()
    if not answer.missing:
        cost = None if answer.found is None else answer.found.purchase.spent
        return _date(asked, answer.chances[0], DateState.SAFE, cost)
    best = sought.best_chance(0)
    if best:
        # Whatever is hardly less sure may be cheaper.
        return _date(asked, best, DateState.RISKY, sought.cheapest_for(best * _HARDLY_LESS))
    # What is so late that nobody knows when it comes may still come.
    hangs = asked.sought(unknown=1.0).best_chance(0) > 0
    return _date(asked, 0.0, DateState.RISKY if hangs else DateState.IMPOSSIBLE)


def _date(asked: Asked, chance: float, state: DateState, cost: int | None = None) -> DateView:
    return DateView(
        on=asked.short.fit_on,
        by=asked.by[0],
        cost=None if cost is None else asked.market.money(cost),
        chance=chance,
        state=state,
    )


def _order_by(asked: Asked) -> tuple[OrderByView, ...]:
    """The last cut-offs: with all of them kept, the chance asked for still holds."""
    answer, market, by = asked.sought().answer(), asked.market, asked.by[0]
    if answer.found is None:
        return ()
    used = {market.priced[line.offer].delivery for line in answer.found.purchase.lines}
    parcels = [parcel for key, parcel in sorted(market.parcels.items()) if key in used]
    wanted = min(1.0, asked.target / answer.waited[0])
    last = last_cutoffs(market.now, [parcel.terms for parcel in parcels], by, wanted)
    return tuple(
        OrderByView(
            supplier=parcel.supplier.name,
            usual=order_by(parcel.terms, by, parcel.terms.lead.quantile(USUAL)),
            safe=safe,
        )
        for parcel, safe in zip(parcels, last or (), strict=True)
    )


def _closed(market: Market, first: date, last: date) -> tuple[ClosedDayView, ...]:
    """Days on which the branch is closed, by name, within the span."""
    return tuple(
        ClosedDayView(on=day, reason=reason)
        for day, reason in sorted(market.own.closed.items())
        if first <= day <= last
    )
