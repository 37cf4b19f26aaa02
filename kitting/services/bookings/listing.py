"""Bookings in a list, each with its verdict and how many lines nothing covers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, case, func, or_, select
from sqlalchemy.orm import Session

from kitting.errors import UnknownNameError
from kitting.facts.words import OPEN_BOOKINGS, NeedRule
from kitting.services.bookings.edition import EDITION
from kitting.services.bookings.kit_record import job_names
from kitting.services.bookings.view import booking_views
from kitting.services.planning.read_car import near_registration, registration_key
from kitting.services.stock.lots import find_item
from kitting.tables.bookings import (
    IN_KIT,
    SPARES_OF_NEED,
    TAKEN_SPARES,
    Booking,
    BookingNeed,
    BookingSpare,
    Promise,
)
from kitting.tables.ramps import BookingSlot
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.bookings import BookingLine

_MUST = case((BookingNeed.rule == NeedRule.INSPECT, TAKEN_SPARES), else_=BookingNeed.quantity)
_CARS = select(Vehicle.registration_key, Vehicle.registration)


@dataclass(frozen=True, slots=True)
class BookingFilter:
    """Which bookings are asked for, beside their states: all that is given has to hold.

    `overdue` are open bookings whose date is past, `spoilt` those that were promised something that
    may not be fitted. `car` is a registration, `item` the code of one that is needed or promised.
    """

    overdue: bool = False
    spoilt: bool = False
    short: bool = False
    car: str | None = None
    item: str | None = None


EVERY = BookingFilter()


def list_bookings(
    session: Session,
    branch_id: int | None,
    states: Sequence[str],
    today: date | None = None,
    asked: BookingFilter = EVERY,
) -> tuple[BookingLine, ...]:
    """Bookings in some states by fitting date, each with its verdict as it stands today.

    How many must lines nothing covers is counted too. Raises UnknownNameError for an unknown car or
    item.
    """
    wanted = (
        select(
            Booking.id, Booking.number, Booking.fit_on, Booking.state,
            Branch.code.label("branch"), Vehicle.registration, Booking.edition,
            EDITION.scalar_subquery().label("edition_now"), BookingSlot.starts, BookingSlot.ramp,
        )
        .join(Branch, Booking.branch_id == Branch.id)
        .join(Vehicle, Booking.vehicle_id == Vehicle.id)
        .outerjoin(BookingSlot, BookingSlot.booking_id == Booking.id)
        .where(Booking.state.in_(states))
        .order_by(Booking.fit_on, Booking.id)
    )  # fmt: skip
    if branch_id is not None:
        wanted = wanted.where(Booking.branch_id == branch_id)
    rows = session.execute(wanted.where(*_conditions(session, asked, today))).all()
    if not rows:
        return ()
    keys = [row.id for row in rows]
    jobs, short = job_names(session, keys), _short(session, keys)
    views = booking_views(session, keys, today)
    lines = (
        BookingLine(
            number=row.number,
            branch=row.branch,
            registration=row.registration,
            jobs=jobs[row.id],
            fit_on=row.fit_on,
            state=row.state,
            verdict=view.verdict,
            short=short.get(row.id, 0),
            set_aside=view.set_aside.place if view.set_aside else None,
            outdated=row.edition != row.edition_now and row.state in OPEN_BOOKINGS,
            spoilt=sum(bool(need.unfit) for need in view.needs),
            starts=row.starts,
            ramp=row.ramp,
        )
        for row, view in zip(rows, views, strict=True)
    )
    return tuple(
        line
        for line in lines
        if (line.short or not asked.short) and (line.spoilt or not asked.spoilt)
    )


def _conditions(
    session: Session, asked: BookingFilter, today: date | None
) -> Iterator[ColumnElement[bool]]:
    if asked.overdue:
        yield Booking.state.in_(OPEN_BOOKINGS)
        yield Booking.fit_on < (today or date.min)
    if asked.car is not None:
        key = registration_key(asked.car)
        known = dict(session.execute(_CARS).all())
        if key not in known:
            step = near_registration(asked.car, known.values(), "Load it first")
            raise UnknownNameError("car {car!r}: unknown name. {step}", car=asked.car, step=step)
        yield Vehicle.registration_key == key
    if asked.item is not None:
        item = find_item(session, asked.item).id
        yield or_(
            Booking.id.in_(select(BookingNeed.booking_id).where(BookingNeed.item_id == item)),
            Booking.id.in_(select(Promise.booking_id).where(Promise.item_id == item)),
        )


def _short(session: Session, bookings: Sequence[int]) -> Mapping[int, int]:
    """How many items of each booking nothing covers; of spares only those that were taken."""
    covered = (
        select(
            Promise.booking_id,
            Promise.item_id,
            func.sum(Promise.waiting + IN_KIT).label("amount"),
        )
        .group_by(Promise.booking_id, Promise.item_id)
        .subquery()
    )
    rows = session.execute(
        select(BookingNeed.booking_id, BookingNeed.item_id)
        .outerjoin(
            covered,
            (covered.c.booking_id == BookingNeed.booking_id)
            & (covered.c.item_id == BookingNeed.item_id),
        )
        .join(Booking, BookingNeed.booking_id == Booking.id)
        .outerjoin(BookingSpare, SPARES_OF_NEED)
        .where(BookingNeed.booking_id.in_(bookings))
        .group_by(BookingNeed.booking_id, BookingNeed.item_id, covered.c.amount)
        .having(func.sum(_MUST) > func.coalesce(covered.c.amount, 0))
    )
    counts: dict[int, int] = defaultdict(int)
    for booking, _ in rows:
        counts[booking] += 1
    return counts
