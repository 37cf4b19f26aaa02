"""What is the matter with open bookings today: what keeps cars from starting, kits to pick."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import Action, NextStep, next_step
from kitting.facts.doubt_reasons import DoubtReason
from kitting.facts.reasons import Reason, because
from kitting.facts.verdicts import Aspect
from kitting.facts.words import BookingState, FindingResult, LotState
from kitting.services.bookings.lacks import unfit_reason
from kitting.services.bookings.view import booking_views
from kitting.services.day.lacking import Lacking
from kitting.services.day.scope import About, Day, OpenBooking, Yard, row
from kitting.tables.bookings import Finding
from kitting.tables.items import Item
from kitting.views.bookings import BookingView, NeededView, PromisedView
from kitting.views.today import TodayItem, TodayKind, TodayReason, TodayRow

# Kits of so many working days after today are worth laying out (our choice).
PICK_AHEAD = 3
_FAILED = (
    select(Finding.booking_id, Item.code, Finding.joint, Finding.position, Finding.reason)
    .join(Item, Finding.item_id == Item.id)
    .where(
        Finding.booking_id.in_(bindparam("keys", expanding=True)),
        Finding.found == FindingResult.FAILED,
    )
    .order_by(Finding.id)
)
_NEXT_STATE: Mapping[BookingState, Action] = {
    BookingState.PROVISIONAL: Action.MOVE_BOOKING,
    BookingState.CONFIRMED: Action.PUT_ON_RAMP,
    BookingState.ON_THE_RAMP: Action.CLOSE,
}


def booking_rows(session: Session, day: Day, lacking: Sequence[Lacking]) -> Iterator[TodayRow]:
    """Rows of every open booking, each judged at its fitting date, today if that is past."""
    keys = [one.id for one in day.bookings]
    views = booking_views(session, keys, day.today) if keys else ()
    failed: dict[int, list[Any]] = defaultdict(list)
    for found in session.execute(_FAILED, {"keys": keys}) if keys else ():
        failed[found.booking_id].append(found)
    free = {one.booking.id: one for one in lacking if one.free}
    for booking, view in zip(day.bookings, views, strict=True):
        yard = day.yards[booking.branch_id]
        yield from _start(day, yard, booking, view)
        yield from _spoilt(day, yard, booking, view)
        yield from _failures(day, yard, booking, (view, failed[booking.id]))
        yield from _picking(day, yard, booking, view)
        if booking.id in free:
            yield _free(day, yard, booking, (view, free[booking.id]))
        if booking.fit_on < day.today:
            yield row(day, yard, TodayKind.PAST, booking.fit_on, _still_open(booking, view))


def _still_open(booking: OpenBooking, view: BookingView) -> About:
    """Why a booking of a former day is open, and what answers that."""
    if view.set_aside is not None:
        aside = view.set_aside
        still = because(TodayReason.STILL_ASIDE, place=aside.place, reason=aside.why)
        action = Action.TAKE_UP
    else:
        never = booking.state is BookingState.PROVISIONAL
        kind = TodayReason.NEVER_CAME if never else TodayReason.STILL
        still = because(kind, state=booking.state)
        action = _NEXT_STATE[booking.state]
    then = next_step(action, booking=booking.number)
    return About(then=then, why=(still,), cars=(booking.car,))


def _start(day: Day, yard: Yard, booking: OpenBooking, view: BookingView) -> Iterator[TodayRow]:
    """That a car cannot start today or on the next working day, or lost what it was sure of."""
    if booking.state is BookingState.ON_THE_RAMP or booking.fit_on < day.today:
        return
    soon = booking.fit_on <= yard.next_day
    confirmed = booking.state is BookingState.CONFIRMED
    if view.ready:
        if soon and not confirmed:
            then = next_step(Action.CONFIRM, booking=booking.number)
            about = About(then=then, cars=(booking.car,))
            yield row(day, yard, TodayKind.CONFIRM, booking.fit_on, about)
        return
    why: tuple[Reason, ...] = view.lacking
    if confirmed and booking.override is not None:
        kind = TodayKind.STARTS_INCOMPLETE
        why = (because(TodayReason.AS_TOLD, reason=booking.override), *why)
        if not soon:
            return
    elif soon:
        kind = TodayKind.CANNOT_START
        if confirmed:
            why = (because(TodayReason.CONFIRMED), *why)
    elif confirmed:
        kind = TodayKind.LOST
    else:
        return
    about = About(then=_answer(view), why=why, cars=(booking.car,))
    yield row(day, yard, kind, booking.fit_on, about)


def _answer(view: BookingView) -> NextStep:
    """What to do about a kit that is not fine: the first that applies."""
    waits_unfit = any(_waits(need, source) for need in view.needs for source in need.unfit)
    catalogue = any(doubt.aspect is Aspect.CATALOGUE for doubt in view.doubts)
    must = [need for need in view.needs if need.needed and need.must]
    if waits_unfit or catalogue:
        return next_step(Action.PROMISE, booking=view.number)
    if any(need.lacking for need in must):
        return next_step(Action.DATES, booking=view.number)
    orders = [s.order for need in must if need.awaited for s in need.sources if s.order is not None]
    if orders:
        return next_step(Action.RECEIVE, order=orders[0])
    return next_step(Action.SHOW_BOOKING, booking=view.number)


def _waits(need: NeededView, source: PromisedView) -> bool:
    """Whether some of it is not in the kit yet: promising again gives it up."""
    return source.quantity > source.picked


def _spoilt(day: Day, yard: Yard, booking: OpenBooking, view: BookingView) -> Iterator[TodayRow]:
    """What was promised or picked and is on hold, expired, or opened too long before."""
    on = max(booking.fit_on, day.today)
    for need in view.needs:
        for source in need.unfit:
            reason = unfit_reason(need, source, booking.fit_on)
            keeps = source.keeps_why if source.state is LotState.EXPIRED else None
            action = Action.PROMISE if _waits(need, source) else Action.SHOW_BOOKING
            about = About(
                then=next_step(action, booking=booking.number),
                why=(reason,) if keeps is None else (reason, keeps),
                cars=(booking.car,),
                items=(TodayItem(need.item, need.name, need.unit, source.quantity),),
                order=source.order,
                lot=source.lot,
            )
            yield row(day, yard, TodayKind.SPOILT, on, about)


def _failures(
    day: Day, yard: Yard, booking: OpenBooking, seen: tuple[BookingView, Sequence[Any]]
) -> Iterator[TodayRow]:
    """What failed its look and nothing in the kit, on a shelf or on its way stands for."""
    view, failed = seen
    for need in view.needs:
        of_it = [one for one in failed if one.code == need.item or one.code in need.stands_for]
        if not of_it or need.spare or not need.short:
            continue
        why = tuple(
            because(TodayReason.FOUND, joint=f.joint, position=f.position, reason=f.reason)
            for f in of_it
        )
        about = About(
            then=next_step(Action.BUY, booking=booking.number),
            why=why,
            cars=(booking.car,),
            items=(TodayItem(need.item, need.name, need.unit, need.short),),
        )
        yield row(day, yard, TodayKind.FAILED, _needed_on(day, booking), about)
    open_now = tuple(
        doubt.because for doubt in view.doubts if doubt.because.code is DoubtReason.FAILED_AND_OPEN
    )
    if open_now:
        then = next_step(Action.SHOW_BOOKING, booking=booking.number)
        about = About(then=then, why=open_now, cars=(booking.car,))
        yield row(day, yard, TodayKind.FAILED, _needed_on(day, booking), about)


def _needed_on(day: Day, booking: OpenBooking) -> date:
    """The day on which the parts of a booking are needed: now, once it is on the ramp."""
    on_ramp = booking.state is BookingState.ON_THE_RAMP
    return day.today if on_ramp else max(booking.fit_on, day.today)


def _picking(day: Day, yard: Yard, booking: OpenBooking, view: BookingView) -> Iterator[TodayRow]:
    """A kit that waits on its shelves: late on the day before, else work of the next days."""
    if booking.state is BookingState.PROVISIONAL and not view.ready:
        return
    waiting = [need for need in view.needs if need.to_pick]
    if not waiting or booking.fit_on > yard.calendar.add(day.today, PICK_AHEAD):
        return
    soon = booking.fit_on <= yard.next_day
    about = About(
        then=next_step(Action.PICK, booking=booking.number),
        cars=(booking.car,),
        items=tuple(TodayItem(n.item, n.name, n.unit, n.to_pick) for n in waiting),
    )
    on = day.today if soon else _day_before(yard, booking.fit_on)
    yield row(day, yard, TodayKind.UNPICKED if soon else TodayKind.PICK, on, about)


def _day_before(yard: Yard, on: date) -> date:
    return yard.calendar.add(yard.calendar.last_open(on), -1)


def _free(
    day: Day, yard: Yard, booking: OpenBooking, there: tuple[BookingView, Lacking]
) -> TodayRow:
    """That what a booking lacks is free by now, or on its way, and only has to be promised."""
    view, one = there
    codes = {need.item: need for need in view.needs}
    items = tuple(
        TodayItem(code, codes[code].name, codes[code].unit, amount)
        for code, amount in one.free.items()
        if code in codes
    )
    about = About(
        then=next_step(Action.PROMISE, booking=booking.number), cars=(booking.car,), items=items
    )
    return row(day, yard, TodayKind.PROMISE, max(booking.fit_on, day.today), about)
