"""What a day is asked for: its branches and their open bookings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from kitting.actions import NextStep
from kitting.calc.purchasing.workdays import WorkCalendar
from kitting.facts.reasons import Reason
from kitting.facts.time_zones import Clock
from kitting.facts.words import OPEN_BOOKINGS, BookingState
from kitting.services.bookings.set_aside import FIT_ON
from kitting.services.branches import find_branch
from kitting.services.calendars import branch_calendar
from kitting.tables.bookings import Booking
from kitting.tables.supply import Branch
from kitting.tables.vehicles import Vehicle
from kitting.views.today import IN_ORDER, TodayCar, TodayItem, TodayKind, TodayRow, Urgency

_BRANCHES = select(Branch).order_by(Branch.code)
_BOOKINGS = (
    select(
        Booking.id, Booking.number, Booking.branch_id, FIT_ON, Booking.state,
        Booking.override, Vehicle.registration,
    )
    .join(Vehicle, Booking.vehicle_id == Vehicle.id)
    .where(
        Booking.branch_id.in_(bindparam("branches", expanding=True)),
        Booking.state.in_(OPEN_BOOKINGS),
    )
    .order_by(Booking.fit_on, Booking.id)
)  # fmt: skip
# Late whatever its day is: the time to answer it is over.
_LATE = frozenset(
    {
        TodayKind.NOT_IN_TIME,
        TodayKind.PAST,
        TodayKind.ORDER_OVERDUE,
        TodayKind.TRANSFER_OVERDUE,
    }
)
# Nobody knows its day: it is asked about today.
_ASKED_TODAY = frozenset({TodayKind.TRANSFER_UNKNOWN})
_KINDS = tuple(TodayKind)
_URGENCIES = tuple(Urgency)


@dataclass(frozen=True, slots=True)
class Yard:
    """A branch, its working days, and when its van leaves."""

    id: int
    code: str
    calendar: WorkCalendar
    van_cutoff: time | None
    next_day: date
    clock: Clock


@dataclass(frozen=True, slots=True)
class OpenBooking:
    """An open booking as the day needs it."""

    id: int
    number: str
    branch_id: int
    fit_on: date
    state: BookingState
    override: str | None
    registration: str

    @property
    def car(self) -> TodayCar:
        """As rows name it."""
        return TodayCar(self.number, self.registration, self.fit_on)

    def needs_a_date(self, today: date) -> bool:
        """Whether its date went by and the car has not come."""
        return self.fit_on < today and self.state is not BookingState.ON_THE_RAMP


@dataclass(frozen=True, slots=True)
class Day:
    """A moment of a day: the branches asked for, all branches by id, the open bookings of theirs.

    `target` is the chance with which what is ordered has to come in time.
    """

    now: datetime
    target: float
    asked: tuple[Yard, ...]
    yards: dict[int, Yard]
    bookings: tuple[OpenBooking, ...]

    @property
    def today(self) -> date:
        """The day."""
        return self.now.date()


@dataclass(frozen=True, slots=True)
class About:
    """What a row is about, beside its kind and branch."""

    then: NextStep
    why: tuple[Reason, ...] = ()
    cars: tuple[TodayCar, ...] = ()
    items: tuple[TodayItem, ...] = ()
    supplier: str | None = None
    order: str | None = None
    transfer: int | None = None
    source: str | None = None
    lot: str | None = None


def read_day(session: Session, branch: str | None, now: datetime, target: float) -> Day:
    """The branches and bookings of a day, of one branch or of all. Raises UnknownNameError."""
    only = None if branch is None else find_branch(session, branch).id
    yards = {row.id: _yard(row, now) for row in session.scalars(_BRANCHES)}
    asked = tuple(yard for yard in yards.values() if only in (None, yard.id))
    if not asked:
        find_branch(session, None)  # says what to do while none is described
    rows = session.execute(_BOOKINGS, {"branches": [yard.id for yard in asked]})
    bookings = tuple(OpenBooking(**row._asdict()) for row in rows)
    return Day(now, target, asked, yards, bookings)


def _yard(branch: Branch, now: datetime) -> Yard:
    calendar = branch_calendar(branch, now)
    leaves = None if branch.van_cutoff is None else time.fromisoformat(branch.van_cutoff)
    next_day = calendar.next_open(now.date() + timedelta(days=1))
    return Yard(branch.id, branch.code, calendar, leaves, next_day, Clock(branch.zone))


def row(
    day: Day, yard: Yard, kind: TodayKind, at: date | datetime | None, about: About
) -> TodayRow:
    """A row of the day; `at` is its deadline by the clock, or the day by which it matters."""
    when = at if isinstance(at, datetime) else None
    on = at.date() if isinstance(at, datetime) else at
    left = None if when is None else yard.clock.minutes(day.now, when)
    return TodayRow(
        urgency=_urgency(day, yard, kind, (on, when)),
        kind=kind,
        slips=kind not in IN_ORDER,
        branch=yard.code,
        day=on,
        when=when,
        minutes_left=left,
        cars=about.cars,
        items=about.items,
        supplier=about.supplier,
        order=about.order,
        transfer=about.transfer,
        source=about.source,
        lot=about.lot,
        why=about.why,
        then=about.then,
    )


def _urgency(
    day: Day, yard: Yard, kind: TodayKind, at: tuple[date | None, datetime | None]
) -> Urgency:
    on, when = at
    if kind in _LATE or (on is not None and on < day.today):
        return Urgency.LATE
    if on == day.today:
        return Urgency.TODAY if when is None else Urgency.CLOCK
    if kind in _ASKED_TODAY:
        return Urgency.TODAY
    return Urgency.NEXT if on is not None and on <= yard.next_day else Urgency.LATER


def what_slips_first(rows: Sequence[TodayRow]) -> tuple[TodayRow, ...]:
    """Rows by urgency, then by deadline; a day without a time ends after every time of it."""
    return tuple(sorted(rows, key=_place))


def _place(one: TodayRow) -> tuple[int, date, bool, time, int, str, str]:
    return (
        _URGENCIES.index(one.urgency),
        one.day or date.max,
        one.when is None,
        time.min if one.when is None else one.when.time(),
        _KINDS.index(one.kind),
        one.branch,
        " ".join(car.booking for car in one.cars) or one.order or str(one.transfer or ""),
    )
