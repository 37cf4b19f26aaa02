"""Bookings in a list, each with its verdict and how many lines nothing covers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from kitting.facts.words import OPEN_BOOKINGS, NeedRule
from kitting.services.bookings.edition import EDITION
from kitting.services.bookings.kit_record import job_names
from kitting.services.bookings.view import booking_views
from kitting.tables.bookings import IN_KIT, Booking, BookingNeed, Promise
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.bookings import BookingLine


def list_bookings(
    session: Session, branch_id: int | None, states: Sequence[str], today: date | None = None
) -> tuple[BookingLine, ...]:
    """Bookings in some states by fitting date, each with its verdict as it stands today.

    How many must lines nothing covers is counted too.
    """
    wanted = (
        select(
            Booking.id, Booking.number, Booking.fit_on, Booking.state,
            Branch.code.label("branch"), Vehicle.registration, Booking.edition,
            EDITION.scalar_subquery().label("edition_now"),
        )
        .join(Branch, Booking.branch_id == Branch.id)
        .join(Vehicle, Booking.vehicle_id == Vehicle.id)
        .where(Booking.state.in_(states))
        .order_by(Booking.fit_on, Booking.id)
    )  # fmt: skip
    if branch_id is not None:
        wanted = wanted.where(Booking.branch_id == branch_id)
    rows = session.execute(wanted).all()
    if not rows:
        return ()
    keys = [row.id for row in rows]
    jobs, short = job_names(session, keys), _short(session, keys)
    views = booking_views(session, keys, today)
    return tuple(
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
        )
        for row, view in zip(rows, views, strict=True)
    )


def _short(session: Session, bookings: Sequence[int]) -> Mapping[int, int]:
    """How many items of each booking nothing covers, spares left aside."""
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
        .where(BookingNeed.booking_id.in_(bookings), BookingNeed.rule != NeedRule.INSPECT)
        .group_by(BookingNeed.booking_id, BookingNeed.item_id, covered.c.amount)
        .having(func.sum(BookingNeed.quantity) > func.coalesce(covered.c.amount, 0))
    )
    counts: dict[int, int] = defaultdict(int)
    for booking, _ in rows:
        counts[booking] += 1
    return counts
