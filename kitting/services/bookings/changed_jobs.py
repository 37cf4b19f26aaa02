"""The jobs of a booking that is changed, and the joints that are open when one is dropped."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from sqlalchemy import delete, insert
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.calc.planning.access import closure
from kitting.errors import KittingError, UnknownNameError
from kitting.facts.words import BookingState
from kitting.services.bookings.states import BookingFacts
from kitting.services.planning.judged import Draft
from kitting.tables.bookings import BookingJob


def changed_jobs(
    booking: BookingFacts, jobs: Sequence[str], add: Sequence[str], drop: Sequence[str]
) -> tuple[str, ...]:
    """The jobs after some are added and others dropped, by CODE or UNIT/CODE, in order.

    Raises KittingError for a job that it has already, UnknownNameError for one that it has not, and
    KittingError when none is left.
    """
    dropped = {_the_one(booking, jobs, name) for name in drop}
    for name in add:
        # One that is on record without its unit is dropped to say which unit it is of.
        if there := [job for job in _called(jobs, name) if not _says_unit(job, name, dropped)]:
            both = " It is named to be dropped too" if dropped & set(there) else ""
            raise KittingError(
                "{number} has the job {there} already.{both}",
                number=booking.number,
                there=there[0],
                both=both,
            )
    left = tuple(dict.fromkeys((*(job for job in jobs if job not in dropped), *add)))
    if not left:
        on_the_ramp = booking.state is BookingState.ON_THE_RAMP
        end = Action.CLOSE if on_the_ramp else Action.CANCEL_BOOKING
        what = "close" if on_the_ramp else "cancel"
        raise KittingError(
            "{dropped} is all that {number} is for: {what} the booking instead",
            dropped=", ".join(sorted(dropped)),
            number=booking.number,
            what=what,
            then=[next_step(end, booking=booking.number)],
        )
    return left


def _says_unit(job: str, name: str, dropped: Collection[str]) -> bool:
    return job in dropped and "/" not in job and "/" in name


def _called(jobs: Sequence[str], name: str) -> list[str]:
    """The jobs that a name may mean."""
    unit, _, code = name.strip().casefold().rpartition("/")
    found = []
    for job in jobs:
        own_unit, _, own = job.casefold().rpartition("/")
        if own == code and (not unit or not own_unit or unit == own_unit):
            found.append(job)
    return found


def _the_one(booking: BookingFacts, jobs: Sequence[str], name: str) -> str:
    found = _called(jobs, name)
    if len(found) > 1:
        raise UnknownNameError(
            "job {name!r} of {number} may be any of {found}. Say which",
            name=name,
            number=booking.number,
            found=" or ".join(found),
        )
    if not found:
        raise UnknownNameError(
            "{number} has no job {name!r}. It is booked for {jobs}",
            number=booking.number,
            name=name,
            jobs=", ".join(jobs),
        )
    return found[0]


def write_jobs(session: Session, booking: BookingFacts, jobs: Sequence[str]) -> None:
    """Write down the jobs of a booking instead of those of before."""
    session.execute(delete(BookingJob).where(BookingJob.booking_id == booking.id))
    session.execute(
        insert(BookingJob),
        [{"booking_id": booking.id, "seq": seq, "name": job} for seq, job in enumerate(jobs)],
    )


def closing_up(planned: Draft) -> tuple[str, ...]:
    """The joints of a plan that are open and that no job asks for, by name."""
    access, names = planned.access, planned.names.joints
    return tuple(names[joint] for joint in access.opened if not access.jobs_of_joint(joint))


def refuse_left_open(
    booking: BookingFacts, planned: Draft, before: Sequence[str], after: Collection[str]
) -> None:
    """Refuse to drop a job whose joints are open: they have to be closed up again.

    Raises KittingError naming those that only the dropped jobs ask for. A job that the catalogue
    knows no longer may have opened any of them.
    """
    dropped = [job for job in before if job not in after]
    if not dropped:
        return
    open_now = set(closing_up(planned))
    names = planned.names.joints
    opened: set[str] = set()
    for name in dropped:
        code = name.rpartition("/")[2].casefold()
        jobs = [job for job in planned.work.jobs if job.code.casefold() == code]
        if not jobs:
            opened = open_now
        nodes = planned.work.nodes
        for step in closure(nodes, [step for job in jobs for step in job.needs]):
            opened |= {names.get(one.joint, "") for one in nodes[step].opens}
    if found := sorted(open_now & opened):
        raise KittingError(
            "{dropped} cannot be dropped from {number} just like that: it has begun, and {found}"
            " is open. What was opened needs its new seals whether the job is done or not, and"
            " belongs in the history of the car. Say that it is closed up again: what it needs"
            " then stays in the kit and on the sheets",
            dropped=", ".join(dropped),
            number=booking.number,
            found=", ".join(found),
            then=[next_step(Action.CLOSE_UP)],
        )
