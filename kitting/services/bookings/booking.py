"""Bookings: made from a plan, promised what is free, confirmed when the kit is certain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from sqlalchemy import Engine, bindparam, insert, select, update
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import KittingError
from kitting.facts.verdicts import Aspect
from kitting.facts.words import BookingState, ShelfPolicy
from kitting.services.bookings.booked_already import booked_already
from kitting.services.bookings.choices import write_choices
from kitting.services.bookings.refuse_open import refuse_open
from kitting.services.bookings.requirements import draft_kit, draft_of, write_plan
from kitting.services.bookings.reservations import (
    give_up_unfit,
    give_up_unneeded,
    move_promises,
    promise_free,
)
from kitting.services.bookings.slots import NOTHING_ASKED, Asked, settle
from kitting.services.bookings.states import (
    BookingFacts,
    find_booking,
    require_open,
    require_step,
)
from kitting.services.bookings.view import booking_view, booking_views
from kitting.services.bookings.work_day import booking_day
from kitting.services.branches import find_branch
from kitting.services.db.numbering import next_number
from kitting.services.planning.draft import judged
from kitting.services.planning.read import read_plan
from kitting.services.planning.read_car import registration_key
from kitting.services.planning.request import PlanRequest
from kitting.services.planning.stand_ins import KitRecord
from kitting.services.planning.variants import chosen_options
from kitting.services.planning.view import plan_view
from kitting.services.stock.lots import find_item
from kitting.store import writing
from kitting.tables.bookings import Booking, BookingJob
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.booking_change import TakenView
from kitting.views.bookings import BookingView, Lack

_VEHICLE = select(Vehicle.id).where(Vehicle.registration_key == bindparam("key"))


@dataclass(frozen=True, slots=True)
class BookingRequest:
    """A car, its jobs and the fitting date; which branch does it.

    `shelf_policy` where storage life is judged by another table than the branch's. `again` books a
    job that an open booking of the car has already. `chosen` is what the customer chose, split →
    option by code. `asked` is its time, ramp, technicians, price.
    """

    registration: str
    jobs: Sequence[str]
    fit_on: date
    branch: str | None = None
    shelf_policy: ShelfPolicy | None = None
    again: bool = False
    chosen: Mapping[str, str] = field(default_factory=dict)
    asked: Asked = NOTHING_ASKED


def book(engine: Engine, request: BookingRequest, at: datetime) -> BookingView:
    """Make a provisional booking and promise it what is free on the shelves and to come.

    Raises KittingError while a variant is not settled: nothing is promised past it; for a day that
    is past; and for a job that an open booking of the car has already, unless asked for again.
    """
    with writing(engine) as session:
        owner = find_branch(session, request.branch)
        facts = read_plan(
            session,
            PlanRequest(
                request.registration, tuple(request.jobs), request.fit_on, dict(request.chosen)
            ),
        )
        chosen_options(facts.car, request.chosen)
        planned = plan_view(judged(session, facts))
        refuse_open(planned)
        if request.fit_on < at.date():
            raise KittingError(
                "{fit_on} is past; name a day from {date} on", fit_on=request.fit_on, date=at.date()
            )
        vehicle = session.execute(
            _VEHICLE, {"key": registration_key(request.registration)}
        ).scalar_one()
        jobs = [job.code for job in planned.jobs]
        if not request.again:
            refuse_twice(session, planned.vehicle.registration, vehicle, jobs)
        booking = _written(session, request, owner.id, vehicle, at)
        session.execute(
            insert(BookingJob),
            [{"booking_id": booking.id, "seq": seq, "name": job} for seq, job in enumerate(jobs)],
        )
        write_choices(session, booking.id, facts.car, request.chosen)
        write_plan(session, booking, draft_kit(session, booking, facts, KitRecord()))
        promise_free(session, booking.id)
        settle(session, booking.id, booking.branch_id, request.asked, at)
        view = replace(booking_view(session, booking), day=booking_day(session, booking.id, at))
        session.commit()
        return view


def _written(
    session: Session, request: BookingRequest, branch_id: int, vehicle_id: int, at: datetime
) -> BookingFacts:
    number = next_number(session, Booking, "B")
    state = BookingState.PROVISIONAL
    key = session.execute(
        insert(Booking)
        .values(
            number=number,
            branch_id=branch_id,
            vehicle_id=vehicle_id,
            fit_on=request.fit_on,
            state=state,
            made_at=at,
            shelf_policy=request.shelf_policy,
        )
        .returning(Booking.id)
    ).scalar_one()
    return BookingFacts(
        id=key,
        number=number,
        branch_id=branch_id,
        vehicle_id=vehicle_id,
        fit_on=request.fit_on,
        state=state,
        override=None,
        shelf_policy=request.shelf_policy,
        made_at=at,
    )


def refuse_twice(
    session: Session, registration: str, vehicle_id: int, jobs: Sequence[str], but: int = 0
) -> None:
    """The same job on the same car twice is mostly a slip: all of it would be bought twice.

    Raises KittingError naming the other open booking; `but` is the key of one that is left aside.
    """
    found = booked_already(session, vehicle_id, jobs, but)
    if found:
        raise KittingError(
            "{registration} is booked for {job} already: {booking}. Cancel that one, or book it"
            " again",
            registration=registration,
            job=found[0].job,
            booking=found[0].booking,
            then=[next_step(Action.BOOK_AGAIN)],
        )


def take_from(engine: Engine, number: str, item: str, other: str) -> TakenView:
    """Move the promises of an item from one booking to another, by name.

    Only as much as the taking booking lacks, and only what still keeps on its date. A giver that
    was confirmed is provisional afterwards. Raises KittingError when the other has none waiting, or
    is of another branch.
    """
    with writing(engine) as session:
        taker, giver = find_booking(session, number), find_booking(session, other)
        require_open(taker)
        if taker.branch_id != giver.branch_id:
            codes = dict(session.execute(select(Branch.id, Branch.code)).all())
            raise KittingError(
                "{number} is of {branch}, {taker_number} of {taker_branch}: what lies there is not"
                " here. Send it",
                number=giver.number,
                branch=codes[giver.branch_id],
                taker_number=taker.number,
                taker_branch=codes[taker.branch_id],
                then=[next_step(Action.SEND_STOCK, item=item)],
            )
        if not move_promises(session, taker, giver, find_item(session, item).id):
            raise KittingError(
                "{number} has no {item} waiting that {taker_number} lacks",
                number=giver.number,
                item=item,
                taker_number=taker.number,
                then=[next_step(Action.SHOW_BOOKING, booking=taker.number)],
            )
        unconfirmed = giver.state is BookingState.CONFIRMED
        if unconfirmed:
            # What it was confirmed on is no longer there.
            _set(session, giver.id, BookingState.PROVISIONAL, giver.override)
        taking, giving = booking_views(session, [taker.id, giver.id])
        session.commit()
        return TakenView(taking, giving, unconfirmed)


def renew_promises(engine: Engine, number: str, today: date | None = None) -> BookingView:
    """Plan a booking again by the catalogue as it is now, and promise it what is free by now.

    What was promised and is on hold or does not keep by now is given up for something better.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        view = _renewed(session, booking, today)
        session.commit()
        return view


def judge_by(
    engine: Engine, number: str, policy: ShelfPolicy | None, today: date | None = None
) -> BookingView:
    """Judge the storage life of a booking by another policy from now on; None: by its branch's.

    It is planned and promised again, as `renew_promises` does.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_open(booking)
        session.execute(update(Booking).where(Booking.id == booking.id).values(shelf_policy=policy))
        view = _renewed(session, replace(booking, shelf_policy=policy), today)
        session.commit()
        return view


def _renewed(session: Session, booking: BookingFacts, today: date | None) -> BookingView:
    planned = draft_of(session, booking)
    refuse_open(plan_view(planned), booking=booking.number)
    write_plan(session, booking, planned)
    give_up_unneeded(session, booking.id)
    give_up_unfit(session, booking.id, today)
    promise_free(session, booking.id, today=today)
    return booking_view(session, booking, today)


def step_to(
    engine: Engine,
    number: str,
    state: BookingState,
    reason: str | None = None,
    today: date | None = None,
) -> BookingView:
    """Confirm a booking or put it on the ramp, judged at its fitting date (today if that is past).

    Both only when every must line is received, checked and fit to use, or with a reason (that of
    the confirmation holds for the ramp, unless the catalogue says otherwise by now or something
    expired since the fitting date).
    Returns the booking as it is afterwards: `state` tells whether it went through.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_step(booking, state)
        view = booking_view(session, booking, today)
        if reason is not None and not reason.strip():
            raise KittingError("a reason is required: say why it goes on incomplete")
        on_the_ramp = state is BookingState.ON_THE_RAMP
        changed = any(doubt.aspect is Aspect.CATALOGUE for doubt in view.doubts)
        expired = any(doubt.because.code is Lack.EXPIRED_SINCE for doubt in view.doubts)
        before = on_the_ramp and booking.override is not None and not (changed or expired)
        excused = reason is not None or before
        if not view.ready and not excused:
            return view
        # Why it was confirmed incomplete stays on record when the car goes on the ramp.
        override = booking.override
        if not view.ready and reason is not None:
            override = reason
        _set(session, booking.id, state, override)
        session.commit()
        return replace(view, state=state, override=override)


def _set(session: Session, booking_id: int, state: BookingState, override: str | None) -> None:
    session.execute(
        update(Booking)
        .where(Booking.id == booking_id)
        .values(state=state, override=override)
        .execution_options(synchronize_session=False)
    )
