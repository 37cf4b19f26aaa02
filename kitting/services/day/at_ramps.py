"""Days that do not fit their ramps and people, and bookings that cost more than was agreed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.facts.day_reasons import DayReason
from kitting.facts.reasons import Reason, ReasonCode, because
from kitting.services.advice.agreed_price import weighed
from kitting.services.bookings.slots import terms_of
from kitting.services.bookings.work_day import WorkDays, read_days
from kitting.services.day.scope import About, Day, row
from kitting.services.day.to_order import AHEAD
from kitting.views.today import TodayKind, TodayReason, TodayRow
from kitting.views.work_day import LimitState

# What answers a remark about a day: another day of it, another time, somebody else.
_ANSWERS: Mapping[ReasonCode, Action] = {
    DayReason.CLOSED: Action.CHANGE_DAY,
    DayReason.CLOSED_FOR: Action.CHANGE_DAY,
    DayReason.OVER_HOURS: Action.CHANGE_DAY,
    DayReason.TOO_HEAVY: Action.CHANGE_RAMP,
    DayReason.AT_ONCE: Action.CHANGE_TIME,
    DayReason.AWAY: Action.NAME_TECHNICIAN,
    DayReason.NOT_AT_WORK: Action.NAME_TECHNICIAN,
    DayReason.LICENCE_MISSING: Action.NAME_TECHNICIAN,
    DayReason.LICENCE_EXPIRED: Action.NAME_TECHNICIAN,
}


def ramp_days(session: Session, day: Day) -> WorkDays:
    """The days of all open bookings, and today at every branch that is asked for."""
    keys = [one.id for one in day.bookings]
    return read_days(session, keys, day.now, [yard.id for yard in day.asked])


def ramp_rows(day: Day, days: WorkDays) -> Iterator[TodayRow]:
    """What certainly does not fit into the days until the last whose cut-offs are listed.

    What is the matter with several bookings together is told at the one that was booked last: it is
    the first to be asked whether it can be moved.
    """
    told: set[tuple[str, object, Reason]] = set()
    for booking in sorted(day.bookings, key=lambda one: one.id, reverse=True):
        yard, found = day.yards[booking.branch_id], days.of_booking(booking.id)
        if not day.today <= found.on <= yard.calendar.add(day.today, AHEAD):
            continue
        why = [one.because for one in found.remarks if one.certain]
        new = tuple(one for one in why if (yard.code, found.on, one) not in told)
        told |= {(yard.code, found.on, one) for one in new}
        together = (DayReason.OVER_HOURS, DayReason.AT_ONCE)
        own = tuple(one for one in why if one in new or one.code not in together)
        if own:
            then = next_step(_ANSWERS[own[0].code], booking=booking.number)
            about = About(then=then, why=own, cars=(booking.car,))
            yield row(day, yard, TodayKind.DAY_DOES_NOT_FIT, found.on, about)


def price_rows(session: Session, day: Day) -> Iterator[TodayRow]:
    """Bookings that already cost more than was agreed; each with a price is planned anew."""
    if not day.bookings:
        return
    agreed = terms_of(session, [one.id for one in day.bookings])
    for booking in day.bookings:
        if booking.id not in agreed:
            continue
        view = weighed(session, booking.number, agreed[booking.id], day.now)
        if view.state is LimitState.OVER:
            why = because(TodayReason.OVER_BY, now=view.now, by=view.by, limit=view.against)
            then = next_step(Action.AGREE_LIMIT, booking=booking.number)
            about = About(then=then, why=(why,), cars=(booking.car,))
            yard = day.yards[booking.branch_id]
            yield row(day, yard, TodayKind.OVER_LIMIT, max(booking.fit_on, day.today), about)
