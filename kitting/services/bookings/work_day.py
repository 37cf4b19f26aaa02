"""Bookings on their days: the ramps and people that they take, and what is the matter with that."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.calc.bookings.work_day import (
    DayBooking,
    DayTechnician,
    LicenceAsked,
    WorkDay,
    load_of,
    on_ramp,
    ramp_remarks,
    remarks_of,
)
from kitting.facts.times import minutes_of
from kitting.facts.weights import CarWeight
from kitting.facts.words import OPEN_BOOKINGS, BookingState
from kitting.services.bookings.planned import hours_of
from kitting.services.bookings.set_aside import FIT_ON
from kitting.services.bookings.staff import Staff, read_staff_of
from kitting.services.calendars import branch_calendar
from kitting.tables.bookings import Booking, BookingLicence
from kitting.tables.ramps import BookingSlot, BookingTechnician
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.tables.vocabulary import Licence
from kitting.views.work_day import BookingDayView, RampBookingView, RampDayView

_COLUMNS = (
    Booking.id, Booking.number, Booking.branch_id, FIT_ON, Booking.state, Booking.planned,
    BookingSlot.starts, BookingSlot.ramp, Vehicle.weight, Vehicle.weight_is,
)  # fmt: skip
_ASKED = (
    select(*_COLUMNS)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .outerjoin(BookingSlot, BookingSlot.booking_id == Booking.id)
    .where(Booking.id.in_(bindparam("keys", expanding=True)))
)
# What stands on a ramp since an earlier day stands there today.
_ON_DAYS = (
    select(*_COLUMNS)
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .outerjoin(BookingSlot, BookingSlot.booking_id == Booking.id)
    .where(
        Booking.branch_id.in_(bindparam("branches", expanding=True)),
        Booking.state != BookingState.CANCELLED,
        FIT_ON.in_(bindparam("days", expanding=True))
        | ((Booking.state == BookingState.ON_THE_RAMP) & (bindparam("today") > FIT_ON)),
    )
    .order_by(Booking.id)
)
_PEOPLE = (
    select(BookingTechnician.booking_id, BookingTechnician.technician)
    .where(BookingTechnician.booking_id.in_(bindparam("keys", expanding=True)))
    .order_by(BookingTechnician.technician)
)
_LICENCES = (
    select(BookingLicence.booking_id, Licence.code, Licence.name, BookingLicence.asked_by)
    .join(Licence, BookingLicence.licence_id == Licence.id)
    .where(BookingLicence.booking_id.in_(bindparam("keys", expanding=True)))
    .order_by(Licence.code)
)
_BRANCHES = select(Branch).where(Branch.id.in_(bindparam("branches", expanding=True)))


@dataclass(frozen=True, slots=True)
class WorkDays:
    """Days of branches, and of each booking that was asked for its day and itself on it."""

    days: Mapping[tuple[int, date], WorkDay]
    asked: Mapping[int, tuple[WorkDay, DayBooking]]
    starts: Mapping[str, str | None]  # as kept, by the number of the booking

    def of_booking(self, booking_id: int) -> BookingDayView:
        """The day of a booking that was asked for."""
        day, one = self.asked[booking_id]
        return BookingDayView(
            on=day.on,
            starts=self.starts[one.number],
            ramp=one.ramp,
            technicians=one.technicians,
            hours=one.hours,
            remarks=remarks_of(day, one),
        )

    def of_ramps(self, branch_id: int, on: date) -> tuple[RampDayView, ...]:
        """The ramps of a branch on a day that was read; last what is booked without one."""
        day = self.days[branch_id, on]
        others = {one.ramp for one in day.bookings if one.ramp is not None} - set(day.ramps)
        found = [self._ramp(day, ramp) for ramp in (*day.ramps, *sorted(others))]
        loose = tuple(one for one in day.bookings if one.ramp is None)
        if loose:
            found.append(self._view(day, None, loose))
        return tuple(found)

    def _ramp(self, day: WorkDay, ramp: str) -> RampDayView:
        return self._view(day, ramp, on_ramp(day, ramp))

    def _view(self, day: WorkDay, ramp: str | None, bookings: Sequence[DayBooking]) -> RampDayView:
        return RampDayView(
            branch=day.branch,
            ramp=ramp,
            hours=None if ramp is None else day.ramps.get(ramp),
            planned=load_of(bookings).most,
            bookings=tuple(
                RampBookingView(one.number, self.starts[one.number], one.technicians, one.hours)
                for one in bookings
            ),
            remarks=() if ramp is None else ramp_remarks(day, ramp),
        )


def booking_day(session: Session, booking_id: int, now: datetime) -> BookingDayView | None:
    """The day of an open booking; None of one that is closed or cancelled."""
    found = read_days(session, [booking_id], now)
    return found.of_booking(booking_id) if booking_id in found.asked else None


def read_days(
    session: Session, bookings: Sequence[int], now: datetime, branches: Iterable[int] = ()
) -> WorkDays:
    """The days of some bookings, and today at some branches, in ten statements at most.

    A car that stands on a ramp since an earlier day is judged today; how much of its hours is left
    nobody states. Bookings that are closed or cancelled are not asked for.
    """
    today = now.date()
    rows = [row for row in session.execute(_ASKED, {"keys": list(bookings)})
            if row.state in OPEN_BOOKINGS]  # fmt: skip
    wanted = dict.fromkeys(((row.branch_id, _day(row, today)) for row in rows), None)
    wanted |= dict.fromkeys(((branch, today) for branch in branches), None)
    places = sorted({branch for branch, _ in wanted})
    on = {"branches": places, "days": sorted({day for _, day in wanted} | {today}), "today": today}
    there = session.execute(_ON_DAYS, on).all()
    keys = {"keys": [row.id for row in there]}
    people, licences = defaultdict(list), defaultdict(list)
    for key, technician in session.execute(_PEOPLE, keys):
        people[key].append(technician)
    for key, code, name, asked_by in session.execute(_LICENCES, keys):
        licences[key].append(LicenceAsked(code, name, asked_by))
    on_day: dict[tuple[int, date], list[DayBooking]] = defaultdict(list)
    found: dict[int, tuple[tuple[int, date], DayBooking]] = {}
    for row in there:
        one = DayBooking(
            number=row.number,
            ramp=row.ramp,
            technicians=tuple(people[row.id]),
            starts=None if row.starts is None else minutes_of(row.starts),
            hours=_hours_left(row, today),
            licences=tuple(licences[row.id]),
            done=row.state is BookingState.CLOSED,
            weight=None if row.weight is None else CarWeight(row.weight, row.weight_is),
        )
        place = row.branch_id, _day(row, today)
        on_day[place].append(one)
        found[row.id] = place, one
    staff = read_staff_of(session)
    yards = {row.id: row for row in session.scalars(_BRANCHES, {"branches": places})}
    days = {
        (branch, day): _work_day(yards[branch], day, staff, on_day[branch, day])
        for branch, day in wanted
    }
    return WorkDays(
        days,
        {row.id: (days[found[row.id][0]], found[row.id][1]) for row in rows},
        {row.number: row.starts for row in there},
    )


def _day(row: Any, today: date) -> date:
    stands = row.state is BookingState.ON_THE_RAMP
    on: date = row.fit_on
    return max(on, today) if stands else on


def _hours_left(row: Any, today: date) -> int | None:
    """Planned hours; unknown of a car that was begun on an earlier day."""
    begun = row.state is BookingState.ON_THE_RAMP and row.fit_on < today
    return None if begun else hours_of(row.planned)


def _work_day(branch: Branch, on: date, staff: Staff, bookings: Sequence[DayBooking]) -> WorkDay:
    # The holidays of the years about the day itself.
    calendar = branch_calendar(branch, datetime(on.year, on.month, on.day))  # noqa: DTZ001
    return WorkDay(
        branch=branch.code,
        on=on,
        closed=not calendar.is_open(on),
        holiday=calendar.closed.get(on),
        ramps={row.code: row.hours for row in staff.ramps.get(branch.id, ())},
        technicians={
            row.code: _technician(staff, row.id, on) for row in staff.technicians.get(branch.id, ())
        },
        bookings=tuple(bookings),
        takes={row.code: row.takes for row in staff.ramps.get(branch.id, ()) if row.takes},
        lifts={row.code: row.lifts for row in staff.ramps.get(branch.id, ()) if row.lifts},
    )


def _technician(staff: Staff, key: int, on: date) -> DayTechnician:
    away = [last for first, last in staff.away.get(key, ()) if first <= on <= last]
    return DayTechnician(
        hours=staff.hours.get(key, {}).get(on.weekday()),
        away_until=max(away) if away else None,
        licences=staff.licences.get(key, {}),
    )
