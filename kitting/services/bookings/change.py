"""Changing a booking: another day or branch, jobs more or less, the catalogue as it is now.

What is promised or picked already stays for it. What it does not need any more is free again: what
waited for it at once, what lies in its kit before the car is on the ramp.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from sqlalchemy import bindparam, select, update
from sqlalchemy.orm import Session

from kitting.errors import KittingError
from kitting.facts.words import BookingState
from kitting.services.bookings.booking import refuse_twice
from kitting.services.bookings.changed_jobs import (
    changed_jobs,
    closing_up,
    refuse_left_open,
    write_jobs,
)
from kitting.services.bookings.choices import write_choices
from kitting.services.bookings.kit_place import require_home
from kitting.services.bookings.pick import promises_of
from kitting.services.bookings.promised import Promised, read_promised
from kitting.services.bookings.refuse_open import refuse_open
from kitting.services.bookings.requirements import draft_of, write_plan
from kitting.services.bookings.reservations import (
    beyond_need,
    give_up_late,
    give_up_unfit,
    give_up_unneeded,
    promise_free,
)
from kitting.services.bookings.slots import NOTHING_ASKED, Asked, leave_places, settle
from kitting.services.bookings.states import BookingFacts
from kitting.services.bookings.view import booking_view
from kitting.services.bookings.work_day import booking_day
from kitting.services.branches import find_branch
from kitting.services.planning.read_car import read_car
from kitting.services.planning.view import plan_view
from kitting.services.stock.kit_ledger import put_back
from kitting.services.stock.ledger import let_all_go
from kitting.services.stock.opened_packs import keep_opened
from kitting.tables.bookings import Booking
from kitting.tables.stock import Lot
from kitting.views.booking_change import GoesBecause
from kitting.views.bookings import BookingView

_LOTS = select(Lot.id, Lot.code, Lot.bin).where(Lot.id.in_(bindparam("keys", expanding=True)))


@dataclass(frozen=True, slots=True)
class Change:
    """What is to become different of a booking; nothing named: it is planned again as it is.

    `again` adds a job that another open booking of the car has already. `close_up` says that joints
    which are open and which no job asks for any more are closed up again. `chosen` is what the
    customer chooses now, split → option by code. `asked` is its
    time, ramp, technicians, price; ramp and technicians of a branch that it leaves are given up.
    """

    on: date | None = None
    branch: str | None = None
    add: tuple[str, ...] = ()
    drop: tuple[str, ...] = ()
    again: bool = False
    close_up: bool = False
    chosen: Mapping[str, str] = field(default_factory=dict, hash=False)
    asked: Asked = NOTHING_ASKED


@dataclass(frozen=True, slots=True)
class Stand:
    """A booking at a moment: as it is shown with its day, what is promised to it, and its hours."""

    view: BookingView
    promised: Mapping[int, Promised]
    hours: int | None


@dataclass(frozen=True, slots=True)
class Apart:
    """So much (thousandths) that came back opened, and the lot that it lies in by itself."""

    lot: str
    bin: str | None
    quantity: int


@dataclass(frozen=True, slots=True)
class Changed:
    """A booking before and after a change; `went` is why each promise was given up, by its key.

    `apart` is, by the lot that pieces came from, the lot (by code and bin) that those of them lie
    in now that came back opened, and how much that is.
    """

    before: Stand
    after: Stand
    went: Mapping[int, GoesBecause]
    apart: Mapping[int, Apart]
    closing_up: tuple[str, ...]


# Takes the spares of a changed booking anew, if any were taken.
TakeAnew = Callable[[Session, BookingFacts, datetime], None]


def change_in(
    session: Session,
    booking: BookingFacts,
    change: Change,
    at: datetime,
    take_anew: TakeAnew | None = None,
) -> Changed:
    """Change an open booking in a writing transaction, which the caller commits or leaves.

    Raises KittingError for a day that is past, a branch where the car is not once it is on the
    ramp, a job that it has or another open booking of the car has, its last job, joints that are
    open and would be forgotten, and a variant that is not settled.
    """
    before = _stand(session, booking, at)
    jobs = changed_jobs(booking, before.view.jobs, change.add, change.drop)
    after = _moved(session, booking, change, at)
    write_jobs(session, booking, jobs)
    if change.chosen:
        car = read_car(session, before.view.registration, after.fit_on)
        write_choices(session, booking.id, car, change.chosen)
    planned = draft_of(session, after)
    if not change.close_up:
        refuse_left_open(booking, planned, before.view.jobs, jobs)
    view = plan_view(planned)
    refuse_open(view, booking=booking.number)
    codes = [job.code for job in view.jobs]
    if change.add and not change.again:
        added = [code for code in codes if code not in before.view.jobs]
        refuse_twice(session, before.view.registration, booking.vehicle_id, added, booking.id)
    write_jobs(session, booking, codes)
    write_plan(session, after, planned)
    opened: dict[int, tuple[int, int]] = {}
    went = _give_up(session, booking, after, at, opened)
    promise_free(session, booking.id, today=at.date())
    if after.branch_id != booking.branch_id:
        leave_places(session, booking.id)
    settle(session, booking.id, after.branch_id, change.asked, at)
    if take_anew is not None:
        take_anew(session, after, at)
    return Changed(
        before=before,
        after=_settled(session, before, after, at),
        went=went,
        apart=_apart(session, opened),
        closing_up=closing_up(planned),
    )


def _stand(session: Session, booking: BookingFacts, at: datetime) -> Stand:
    promised, hours = read_promised(session, booking.id)
    view = booking_view(session, booking, at.date())
    return Stand(replace(view, day=booking_day(session, booking.id, at)), promised, hours)


def _moved(session: Session, booking: BookingFacts, change: Change, at: datetime) -> BookingFacts:
    """The booking on its day and at its branch, as they are to be."""
    if change.on is not None and change.on != booking.fit_on and change.on < at.date():
        raise KittingError("{on} is past; name a day from {date} on", on=change.on, date=at.date())
    branch = booking.branch_id if change.branch is None else find_branch(session, change.branch).id
    if branch != booking.branch_id and booking.state is BookingState.ON_THE_RAMP:
        raise KittingError(
            "{number} is on the ramp: the car and its kit are here. Only a car that is not on the"
            " ramp changes its branch",
            number=booking.number,
        )
    if branch != booking.branch_id:
        # What lies in its kit goes back to the shelves of the branch that it leaves.
        require_home(session, booking)
    moved = replace(booking, fit_on=change.on or booking.fit_on, branch_id=branch)
    if moved != booking:
        session.execute(
            update(Booking)
            .where(Booking.id == booking.id)
            .values(fit_on=moved.fit_on, branch_id=moved.branch_id)
            .execution_options(synchronize_session=False)
        )
    return moved


def _settled(session: Session, before: Stand, booking: BookingFacts, at: datetime) -> Stand:
    """How the booking stands; confirmed only while it is ready.

    What somebody confirmed incomplete stays confirmed where nothing more is in doubt than then.
    """
    stand = _stand(session, booking, at)
    view = stand.view
    excused = view.override is not None and set(view.doubts) <= set(before.view.doubts)
    if view.state is not BookingState.CONFIRMED or view.ready or excused:
        return stand
    session.execute(
        update(Booking)
        .where(Booking.id == booking.id)
        .values(state=BookingState.PROVISIONAL)
        .execution_options(synchronize_session=False)
    )
    return replace(stand, view=replace(view, state=BookingState.PROVISIONAL))


def _apart(session: Session, opened: Mapping[int, tuple[int, int]]) -> dict[int, Apart]:
    if not opened:
        return {}
    keys = {"keys": sorted({into for into, _ in opened.values()})}
    lots = {row.id: row for row in session.execute(_LOTS, keys)}
    return {
        lot: Apart(lots[into].code, lots[into].bin, amount)
        for lot, (into, amount) in opened.items()
    }


def _give_up(
    session: Session,
    before: BookingFacts,
    after: BookingFacts,
    at: datetime,
    opened: dict[int, tuple[int, int]],
) -> dict[int, GoesBecause]:
    """Give up what is not for the booking any more; why, by promise.

    What came back `opened` is noted there: the lot that it lies in now, and how much.

    Out of the kit it comes only while the car is not on the ramp.
    """
    went: dict[int, GoesBecause] = {}
    in_kit = after.state is not BookingState.ON_THE_RAMP
    if after.branch_id != before.branch_id:
        rows = promises_of(session, after.id)
        opened |= _back_on_shelf(
            session, after, {row.id: row.picked for row in rows if row.picked}, at
        )
        let_all_go(session, [(row.id, row.waiting) for row in rows if row.waiting])
        return {row.id: GoesBecause.OTHER_BRANCH for row in rows}
    kept = _waiting(session, after.id)
    if in_kit:
        unfit = _unfit(session, after, at.date())
        opened |= _back_on_shelf(session, after, unfit, at)
        went |= dict.fromkeys(unfit, GoesBecause.NOT_FIT)
    give_up_unfit(session, after.id, at.date())
    kept = _noted(session, after.id, kept, went, GoesBecause.NOT_FIT)
    if after.fit_on != before.fit_on:
        give_up_late(session, after.id, after.fit_on)
        kept = _noted(session, after.id, kept, went, GoesBecause.TOO_LATE)
    give_up_unneeded(session, after.id)
    _noted(session, after.id, kept, went, GoesBecause.NOT_NEEDED)
    if in_kit:
        opened |= _back_on_shelf(session, after, _over(session, after.id), at)
    return went


def _waiting(session: Session, booking_id: int) -> dict[int, int]:
    return {row.id: row.waiting for row in promises_of(session, booking_id)}


def _noted(
    session: Session,
    booking_id: int,
    before: Mapping[int, int],
    went: dict[int, GoesBecause],
    why: GoesBecause,
) -> dict[int, int]:
    """Note why promises wait for less than before; returns what waits now."""
    now = _waiting(session, booking_id)
    for key, waiting in before.items():
        if now.get(key, 0) < waiting:
            went.setdefault(key, why)
    return now


def _unfit(session: Session, booking: BookingFacts, today: date) -> dict[int, int]:
    """What lies in the kit and may not be fitted on the day of the booking, by promise."""
    found: dict[tuple[str, str | None], int] = defaultdict(int)
    for need in booking_view(session, booking, today).needs:
        for source in need.unfit:
            found[need.item, source.lot] += source.picked
    promised, _ = read_promised(session, booking.id)
    amounts = {key: found[one.item, one.lot] for key, one in promised.items() if one.lot}
    return {key: amount for key, amount in amounts.items() if amount}


def _over(session: Session, booking_id: int) -> dict[int, int]:
    """What lies in the kit and is more than the booking needs, by promise, the last made first."""
    over = beyond_need(session, booking_id)
    found = {}
    for row in reversed(promises_of(session, booking_id)):
        some = min(row.picked, max(0, over[row.item_id]))
        if some:
            found[row.id] = some
            over[row.item_id] -= some
    return found


def _back_on_shelf(
    session: Session, booking: BookingFacts, parts: Mapping[int, int], at: datetime
) -> dict[int, tuple[int, int]]:
    """Book parts of a kit back into their lots; what was opened for it stays opened.

    Returns, by the lot that it came from, the lot of its own that it is in then, and how much.
    """
    if not parts:
        return {}
    require_home(session, booking)
    lots: Sequence[tuple[int, int]] = [
        (row.lot_id, parts[row.id]) for row in promises_of(session, booking.id) if row.id in parts
    ]
    put_back(session, parts, at)
    return keep_opened(session, booking.id, dict(lots), at)
