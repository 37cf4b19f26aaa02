"""Buying for a kit that nobody has booked: what it would cost and how sure it is, only told."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from kitting.calc.stock.storage import fitted_on
from kitting.errors import KittingError
from kitting.facts.exchange_rates import AS_USUAL, PricedIn
from kitting.services.bookings.refuse_open import refuse_open
from kitting.services.bookings.unbooked import NOT_STORED, plan_unbooked
from kitting.services.branches import find_branch
from kitting.services.purchasing.free_goods import read_free
from kitting.services.purchasing.open_doubts import open_doubts_unbooked
from kitting.services.purchasing.purchase import TARGET, advised, proposal
from kitting.services.purchasing.safe_dates import CarRequest
from kitting.services.purchasing.unbooked import wanting_unbooked
from kitting.views.purchasing import OpenDoubtView, PurchaseView


def buy_unbooked(
    session: Session,
    request: CarRequest,
    now: datetime,
    target: float = TARGET,
    priced: PricedIn = AS_USUAL,
) -> PurchaseView:
    """The purchase that a booking of these jobs for the `first` day (None: tomorrow) would need.

    Nothing is written. Raises UnknownNameError as a plan does, and KittingError while a variant is
    open and for a day that is past.
    """
    owner = find_branch(session, request.branch)
    day = request.first or now.date() + timedelta(days=1)
    if day < now.date():
        raise KittingError("{day} is past; name a day from {date} on", day=day, date=now.date())
    case = plan_unbooked(session, owner, request.plan(day), now)
    refuse_open(case.view, request.model)
    called = case.view.vehicle.called
    wanting = wanting_unbooked(case, owner)
    wanting = replace(wanting, bookings=(replace(wanting.bookings[0], number=called),))
    days = {NOT_STORED: fitted_on(day, now.date())}
    short = wanting.lacking_on(days, read_free(session, wanting, now.date()))
    view = advised(session, proposal(session, short, now, target, priced), short)
    return replace(
        view,
        bookings=(),
        car=called,
        jobs=tuple(job.code for job in case.view.jobs),
        doubts=tuple(OpenDoubtView(None, one) for one in open_doubts_unbooked(session, case)),
        booked=case.booked,
    )
