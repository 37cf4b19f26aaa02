"""What was agreed of money for a booking, compared with what it will cost by now.

The estimate is of the parts as `price_estimate` has them and of the hours of the plan at the price
of an hour that was stated. What has no price makes it unknown whether it stays within the limit: it
is over it where already what is known is more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, because
from kitting.facts.units import Quantity
from kitting.services.advice.completion import estimate_of
from kitting.services.advice.weighed_case import work_of_booking
from kitting.services.bookings.slots import Terms, terms_of
from kitting.services.bookings.states import BookingFacts
from kitting.views.completion import EstimateView
from kitting.views.plan import PlanView
from kitting.views.work_day import AgreedView, LimitState, Unpriced

_HOUR = 1000


def agreed_price(session: Session, booking: BookingFacts, now: datetime) -> AgreedView | None:
    """What was agreed for a booking and how its estimate stands to that; None: nothing was."""
    terms = terms_of(session, [booking.id]).get(booking.id)
    return None if terms is None else weighed(session, booking.number, terms, now)


def agreed_terms(session: Session, booking: BookingFacts) -> AgreedView | None:
    """What was agreed for a booking, without an estimate: of one that is closed; None: nothing."""
    terms = terms_of(session, [booking.id]).get(booking.id)
    return None if terms is None else replace(_unweighed(terms), against=None)


def weighed(session: Session, number: str, terms: Terms, now: datetime) -> AgreedView:
    """The estimate of a booking beside what was agreed for it."""
    view = _unweighed(terms)
    if view.against is None:
        return view
    try:
        parts, plan = estimate_of(session, work_of_booking(session, number), now)
    except KittingError as error:
        # What cannot be planned or priced to the end can be agreed on all the same.
        return replace(view, unknown=(because(Unpriced.NOT_ESTIMATED, why=error.message),))
    if parts.now.currency != view.against.currency:
        currencies = because(
            Unpriced.CURRENCIES, prices=parts.now.currency, agreed=view.against.currency
        )
        return replace(view, unknown=(currencies,))
    work = _work(plan, terms)
    now_all, most = parts.now.minor + work, parts.upper.minor + work
    unknown = tuple(_unknown(parts, plan, terms))
    state, by = limit_state(view.against.minor, now_all, most, whole=not unknown)
    currency = view.against.currency
    return replace(
        view,
        now=Money(now_all, currency),
        most=Money(most, currency),
        state=state,
        by=None if by is None else Money(by, currency),
        unknown=unknown,
    )


def limit_state(limit: int, now: int, most: int, *, whole: bool) -> tuple[LimitState, int | None]:
    """How what is needed in any case, and at most, stands to a limit, and by how much.

    `whole`: nothing lacks a price. What is known alone may be over the limit, never within it.

    >>> limit_state(100, 80, 120, whole=True)
    (<LimitState.MAY_GO_OVER: 'may go over'>, 20)
    """
    if now > limit:
        return LimitState.OVER, now - limit
    if not whole:
        return LimitState.NOT_KNOWN, None
    if most > limit:
        return LimitState.MAY_GO_OVER, most - limit
    return LimitState.WITHIN, limit - most


def _unweighed(terms: Terms) -> AgreedView:
    to_pay = None
    if terms.agreed is not None:
        paid = terms.deposit.minor if terms.deposit else 0
        to_pay = Money(terms.agreed.minor - paid, terms.agreed.currency)
    return AgreedView(
        agreed=terms.agreed,
        limit=terms.limit,
        deposit=terms.deposit,
        hour_price=terms.hour_price,
        open=to_pay,
        against=terms.limit or terms.agreed,
        now=None,
        most=None,
        state=LimitState.NOT_KNOWN,
        by=None,
        unknown=(),
    )


def _work(plan: PlanView, terms: Terms) -> int:
    """What the hours of a plan cost, in minor units, rounded up."""
    price = terms.hour_price
    return 0 if price is None else -(-plan.hours.total * price.minor // _HOUR)


def _unknown(parts: EstimateView, plan: PlanView, terms: Terms) -> Iterator[Reason]:
    if terms.hour_price is None and plan.hours.total:
        yield because(Unpriced.NO_HOUR_PRICE, hours=Quantity(plan.hours.total, "each"))
    for service in plan.services:
        yield because(Unpriced.SERVICE, service=service.name)
    for item in parts.unpriced:
        yield because(Unpriced.PART, item=item)
