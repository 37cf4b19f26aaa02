"""Bookings: made from a plan, promised what is free, confirmed when the kit is certain."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime

from sqlalchemy import Engine, func, insert, select, update
from sqlalchemy.orm import Session

from kitting.calc.stock.allocation import allocate
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.names import nearest
from kitting.facts.words import OPEN_BOOKINGS
from kitting.services.bookings.requirements import write_plan
from kitting.services.bookings.view import booking_view, car_of, coverage
from kitting.services.branches import find_branch
from kitting.services.db.numbering import next_number
from kitting.services.planning.plan import plan
from kitting.services.planning.read_car import registration_key
from kitting.services.planning.request import PlanRequest
from kitting.services.stock.ledger import TakenError, let_go, set_arrival_aside, set_aside
from kitting.services.stock.lots import POLICY, read_shelves, shelf_of, unfit
from kitting.store import writing
from kitting.tables.bookings import (
    Booking,
    BookingJob,
    BookingNeed,
    Promise,
)
from kitting.tables.items import Item
from kitting.tables.stock import Lot
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.bookings import BookingView
from kitting.views.plan import PlanView

# From which states a booking may go where.
_STEPS: Mapping[str, tuple[str, ...]] = {
    "confirmed": ("provisional",),
    "on the ramp": ("confirmed",),
    "closed": ("on the ramp",),
    "cancelled": ("provisional", "confirmed"),
}
# What to do first where a step is missing.
_NEXT: Mapping[tuple[str, str], str] = {
    ("provisional", "closed"): ". First: kitting booking confirm, then kitting booking ramp",
    ("confirmed", "closed"): ". First: kitting booking ramp",
    ("provisional", "on the ramp"): ". First: kitting booking confirm",
    ("on the ramp", "cancelled"): ". Close it: kitting close",
}
_TRIES = 5


def book(
    engine: Engine,
    registration: str,
    jobs: Sequence[str],
    fit_on: date,
    at: datetime,
    branch: str | None = None,
    policy: str = POLICY,
    again: bool = False,
) -> BookingView:
    """Make a provisional booking and promise it what is free on the shelves and to come.

    Raises KittingError while a variant is not settled: nothing is promised past it; for a day that
    is past; and for a job that an open booking of the car has already, unless `again` is said.
    """
    with writing(engine) as session:
        owner = find_branch(session, branch)
        planned = plan(session, PlanRequest(registration, tuple(jobs), fit_on))
        _refuse_open(planned)
        if fit_on < at.date():
            raise KittingError(f"{fit_on} is past; name a day from {at.date()} on")
        vehicle = session.scalars(
            select(Vehicle).where(Vehicle.registration_key == registration_key(registration))
        ).one()
        if not again:
            _refuse_twice(session, vehicle, [job.code for job in planned.jobs])
        booking = Booking(
            number=next_number(session, Booking, "B"),
            branch_id=owner.id,
            vehicle_id=vehicle.id,
            fit_on=fit_on,
            state="provisional",
            made_at=at,
        )
        session.add(booking)
        session.flush()
        session.execute(
            insert(BookingJob),
            [
                {"booking_id": booking.id, "seq": seq, "name": job.code}
                for seq, job in enumerate(planned.jobs)
            ],
        )
        write_plan(session, booking, planned, policy)
        promise_free(session, booking, policy)
        view = booking_view(session, booking, policy)
        session.commit()
        return view


def _refuse_open(planned: PlanView) -> None:
    if planned.unresolved:
        checks = "; ".join(f"{u.question} {u.check}" for u in planned.unresolved)
        raise KittingError(
            f"{planned.vehicle.registration} cannot be booked for these jobs yet: {checks}"
            " Then record it: kitting settle"
        )


def _refuse_twice(session: Session, vehicle: Vehicle, jobs: Sequence[str]) -> None:
    """The same job on the same car twice is mostly a slip: all of it would be bought twice."""
    found = session.execute(
        select(Booking.number, BookingJob.name)
        .join(BookingJob, BookingJob.booking_id == Booking.id)
        .where(
            Booking.vehicle_id == vehicle.id,
            Booking.state.in_(OPEN_BOOKINGS),
            BookingJob.name.in_(jobs),
        )
        .order_by(Booking.id)
    ).first()
    if found is not None:
        raise KittingError(
            f"{vehicle.registration} is booked for {found.name} already: {found.number}."
            " Cancel that one, or say --again"
        )


def find_booking(session: Session, number: str) -> Booking:
    """A booking by number; raises UnknownNameError naming near ones."""
    booking = session.scalar(select(Booking).where(Booking.number == number.strip().upper()))
    if booking is None:
        numbers = session.scalars(select(Booking.number)).all()
        near = nearest(number, numbers) or list(numbers)[-5:]
        told = f"Known: {', '.join(near)}" if near else "Make one: kitting book"
        raise UnknownNameError(f"no booking {number!r}. {told}")
    return booking


def promise_free(
    session: Session, booking: Booking, policy: str = POLICY, bought: Collection[int] = ()
) -> None:
    """Promise a booking what it lacks and nobody else has: shelves first, then arrivals.

    First expired, first out, of what still keeps on the fitting date. Spares for inspections are
    promised too, after everything that never goes back. Arrivals count that come by the fitting
    date even if they are late; those of the order lines in `bought` count whenever they come,
    else what was bought for a booking would be bought again. Somebody may be quicker: then the
    shelves are read again, and what is left is what can be had.
    """
    for _ in range(_TRIES):
        try:
            with session.begin_nested():
                _promise_once(session, booking, policy, bought)
        except TakenError:
            continue
        return
    raise TakenError(f"{booking.number}: others are promising the same stock just now. Try again")


def _promise_once(session: Session, booking: Booking, policy: str, bought: Collection[int]) -> None:
    lacking = {item: need for item, need in _lacking(session, booking.id).items() if need > 0}
    if not lacking:
        return
    shelves = read_shelves(session, booking.branch_id, list(lacking), policy)
    for item, amount in sorted(lacking.items()):
        takes, missing = allocate(shelves.of(item), amount, booking.fit_on)
        for one in takes:
            set_aside(session, booking.id, item, one.lot, one.quantity)
        for arrival in shelves.coming(item):
            free = min(missing, arrival.quantity - arrival.promised)
            if free > 0 and (arrival.due <= booking.fit_on or arrival.key in bought):
                set_arrival_aside(session, booking.id, item, arrival.key, free)
                missing -= free


def _lacking(session: Session, booking_id: int) -> dict[int, int]:
    """What nothing covers yet, by item."""
    needed = dict(
        session.execute(
            select(BookingNeed.item_id, func.sum(BookingNeed.quantity))
            .where(BookingNeed.booking_id == booking_id)
            .group_by(BookingNeed.item_id)
        ).all()
    )
    covered = coverage(session, booking_id)
    return {item: int(amount) - covered.get(item, 0) for item, amount in needed.items()}


def take_from(
    engine: Engine, number: str, item: str, other: str, policy: str = POLICY
) -> BookingView:
    """Move the promises of an item from one booking to another, by name.

    Only as much as the taking booking lacks, and only what still keeps on its date. Raises
    KittingError when the other has none waiting, or is of another branch.
    """
    with writing(engine) as session:
        taker, giver = find_booking(session, number), find_booking(session, other)
        _require_open(taker)
        if taker.branch_id != giver.branch_id:
            codes = dict(session.execute(select(Branch.id, Branch.code)).all())
            raise KittingError(
                f"{giver.number} is of {codes[giver.branch_id]}, {taker.number} of"
                f" {codes[taker.branch_id]}: what lies there is not here. Send it: kitting stock"
                " send"
            )
        known = session.scalar(select(Item).where(Item.code == item))
        if known is None:
            raise UnknownNameError(f"no item {item!r}")
        spoilt = _spoilt(session, giver.id, known, taker.fit_on, policy)
        lacking = _lacking(session, taker.id).get(known.id, 0)
        moved = 0
        for promise in session.scalars(
            select(Promise)
            .where(Promise.booking_id == giver.id, Promise.item_id == known.id, Promise.waiting > 0)
            .order_by(Promise.id)
        ).all():
            if promise.id in spoilt:
                continue
            some = min(promise.waiting, lacking - moved)
            if some <= 0:
                break
            lot, line = promise.lot_id, promise.order_line_id
            let_go(session, promise.id, some)
            if lot is not None:
                set_aside(session, taker.id, known.id, lot, some)
            elif line is not None:
                set_arrival_aside(session, taker.id, known.id, line, some)
            moved += some
        if not moved:
            raise KittingError(
                f"{giver.number} has no {item} waiting that {taker.number} lacks."
                f" See: kitting booking show {taker.number}"
            )
        if giver.state == "confirmed":
            # What it was confirmed on is no longer there.
            session.execute(
                update(Booking).where(Booking.id == giver.id).values(state="provisional")
            )
        session.expire_all()
        view = booking_view(session, taker, policy)
        session.commit()
        return view


def renew_promises(engine: Engine, number: str, policy: str = POLICY) -> BookingView:
    """Plan a booking again by the catalogue as it is now, and promise it what is free by now.

    What was promised and is held or does not keep by now is given up for something better.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        _require_open(booking)
        planned = plan(session, PlanRequest(*car_of(session, booking), booking.fit_on))
        _refuse_open(planned)
        write_plan(session, booking, planned, policy)
        give_up_spoilt(session, booking, policy)
        promise_free(session, booking, policy)
        view = booking_view(session, booking, policy)
        session.commit()
        return view


def give_up_spoilt(session: Session, booking: Booking, policy: str = POLICY) -> None:
    """Let go of what waits for a booking and is held or does not keep until its date."""
    for promise, amount in _spoilt(session, booking.id, None, booking.fit_on, policy).items():
        let_go(session, promise, amount)


def _spoilt(
    session: Session, booking_id: int, item: Item | None, fit_on: date, policy: str
) -> dict[int, int]:
    """Promises of stock (of an item) that may not be fitted on a day: how much waits of each."""
    wanted = (
        select(Promise, Lot, Item)
        .join(Lot, Promise.lot_id == Lot.id)
        .join(Item, Lot.item_id == Item.id)
        .where(Promise.booking_id == booking_id, Promise.waiting > 0)
    )
    if item is not None:
        wanted = wanted.where(Promise.item_id == item.id)
    return {
        promise.id: promise.waiting
        for promise, lot, row in session.execute(wanted).all()
        if unfit(lot, shelf_of(lot, row, policy), fit_on) is not None
    }


def _require_open(booking: Booking) -> None:
    if booking.state not in OPEN_BOOKINGS:
        raise KittingError(f"{booking.number} is {booking.state}; nothing of it can be changed")


def step_to(
    engine: Engine,
    number: str,
    state: str,
    reason: str | None = None,
    policy: str = POLICY,
) -> BookingView:
    """Confirm a booking or put it on the ramp.

    Both only when every must line is received, checked and fit to use, or with a reason (that of
    the confirmation holds for the ramp).
    Returns the booking as it is afterwards: `state` tells whether it went through.
    """
    with writing(engine) as session:
        booking = find_booking(session, number)
        require_step(booking, state)
        view = booking_view(session, booking, policy)
        if reason is not None and not reason.strip():
            raise KittingError("an empty reason is none: say why it goes on incomplete")
        told = reason is not None or (state == "on the ramp" and booking.override is not None)
        if not view.ready and not told:
            return view
        # Why it was confirmed incomplete stays told when the car goes on the ramp.
        override = booking.override
        if not view.ready and reason is not None:
            override = reason
        session.execute(
            update(Booking).where(Booking.id == booking.id).values(state=state, override=override)
        )
        session.expire_all()
        view = booking_view(session, booking, policy)
        session.commit()
        return view


def require_step(booking: Booking, state: str) -> None:
    """Raise KittingError if a booking cannot go to a state from where it is."""
    if booking.state not in _STEPS[state]:
        allowed = " or ".join(_STEPS[state])
        raise KittingError(
            f"{booking.number} is {booking.state}; only what is {allowed} can become {state}"
            f"{_NEXT.get((booking.state, state), '')}"
        )
