"""Changing a booking, shown or made: with what buying the rest costs, and whether the day is safe.

Shown, the same is done as when it is made, and left undone: both say the same.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Engine, bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.stock.storage import fitted_on
from kitting.errors import KittingError
from kitting.facts.reasons import because
from kitting.facts.words import MovementKind
from kitting.services.bookings.change import Change, TakeAnew, change_in
from kitting.services.bookings.change_view import change_view
from kitting.services.bookings.states import BookingFacts, find_booking, require_open
from kitting.services.db.idempotency import earlier, record
from kitting.services.purchasing.purchase import TARGET, Proposal, proposal, short_of
from kitting.services.purchasing.safe_dates import judged_date
from kitting.store import writing
from kitting.tables.items import ITEM_NAME, Item
from kitting.tables.stock import Lot, Movement
from kitting.views.booking_change import (
    BookingChangeView,
    BuyingView,
    GoesBecause,
    NotJudged,
    OutOfKitView,
)
from kitting.views.work_day import AgreedView

_PUT_BACK = (
    select(
        Item.code,
        ITEM_NAME,
        Item.unit,
        Movement.quantity,
        Lot.code.label("lot"),
        Lot.bin,
    )
    .join(Lot, Movement.lot_id == Lot.id)
    .join(Item, Lot.item_id == Item.id)
    .where(
        Movement.booking_id == bindparam("booking"),
        Movement.at == bindparam("at"),
        Movement.kind == MovementKind.PUT_BACK,
    )
    .order_by(Movement.id)
)


# How a booking stands to what was agreed of its price.
Weigh = Callable[[Session, BookingFacts, datetime], AgreedView | None]


@dataclass(frozen=True, slots=True)
class Advice:
    """What advice adds to a change: it is made of purchases, so whoever changes brings it along."""

    take_anew: TakeAnew | None = None
    weigh: Weigh | None = None


NO_ADVICE = Advice()


def show_change(
    engine: Engine, number: str, change: Change, at: datetime, advice: Advice = NO_ADVICE
) -> BookingChangeView:
    """What a change of a booking would come to; nothing is kept of it.

    Raises as `change_in`, and KittingError for a booking that is closed or cancelled.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        return _changed(session, booking, change, at, advice)


def make_change(
    engine: Engine,
    number: str,
    change: Change,
    at: datetime,
    token: str | None = None,
    advice: Advice = NO_ADVICE,
) -> BookingChangeView:
    """Change a booking, all or nothing; its spares are taken anew. Raises as `show_change`.

    Sent again with the same token it changes nothing, and tells how the booking stands and what has
    to come out of the kit.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        request = f"change {booking.number} {change}"
        if earlier(session, token, request) is not None:
            view = _changed(session, booking, Change(), at, Advice(weigh=advice.weigh))
            back = _taken_out(session, booking, at)
            return replace(view, made=True, out_of_kit=(*back, *view.out_of_kit))
        require_open(booking)
        view = _changed(session, booking, change, at, advice)
        record(session, token, request, booking.branch_id, at)
        session.commit()
        return replace(view, made=True)


def _changed(
    session: Session,
    booking: BookingFacts,
    change: Change,
    at: datetime,
    advice: Advice,
) -> BookingChangeView:
    changed = change_in(session, booking, change, at, advice.take_anew)
    view = _priced(session, change_view(session, changed), at, advice.weigh)
    day = fitted_on(view.after.fit_on, at.date())
    try:
        short = short_of(session, [booking.number], at, day)
        bought = proposal(session, short, at, TARGET)
        judged = judged_date(session, [booking.number], at, day)
    except KittingError as error:
        # What cannot be priced, in two currencies for instance, is no reason not to change it.
        return replace(view, not_judged=because(NotJudged.PRICES, why=error.message))
    return replace(view, buying=_buying(bought), date=judged)


def _priced(
    session: Session, view: BookingChangeView, at: datetime, weigh: Weigh | None
) -> BookingChangeView:
    if weigh is None:
        return view
    return replace(view, price=weigh(session, find_booking(session, view.number), at))


def _buying(bought: Proposal) -> BuyingView:
    nothing = bought.view.total is None and bought.view.best_chance is None
    total = bought.market.money(0) if nothing else bought.view.total
    view = bought.view
    return BuyingView(total, view.lacking, view.left_out, view.tax_mixed, view.vans)


def _taken_out(session: Session, booking: BookingFacts, at: datetime) -> tuple[OutOfKitView, ...]:
    """What a change booked back at a moment, as its movements tell."""
    return tuple(
        OutOfKitView(
            item=row.code,
            name=row.name,
            unit=row.unit,
            quantity=row.quantity,
            lot=row.lot,
            bin=row.bin,
            why=GoesBecause.NOT_NEEDED,
            booked_back=True,
        )
        for row in session.execute(_PUT_BACK, {"booking": booking.id, "at": at})
    )
