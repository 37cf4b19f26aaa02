"""The day of a workshop: whether ramps and people have room for what is booked, and may do it.

Hours are thousandths of an hour, times minutes from midnight. A booking counts with all its hours
on its one day: nobody states how much of it is done on the next. What is not known (hours, a time,
who does how much) is told as such; it never counts as room.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import combinations

from kitting.facts.day_reasons import DayReason, DayRemark
from kitting.facts.reasons import ReasonCode, because
from kitting.facts.units import Quantity
from kitting.facts.weights import CarWeight, WeightIs, kilograms

_HOUR, _MINUTES = 1000, 60


@dataclass(frozen=True, slots=True)
class LicenceAsked:
    """A qualification that a booking asks for, and what asks for it."""

    code: str
    name: str
    asked_by: str


@dataclass(frozen=True, slots=True)
class DayBooking:
    """A booking on the day: its ramp, its people, when it begins and how long it takes.

    `done`: it is closed and stands nowhere any more; its hours were used all the same. `weight` is
    that of the car, None where nobody stated it.
    """

    number: str
    ramp: str | None
    technicians: tuple[str, ...]
    starts: int | None
    hours: int | None
    licences: tuple[LicenceAsked, ...] = ()
    done: bool = False
    weight: CarWeight | None = None


@dataclass(frozen=True, slots=True)
class DayTechnician:
    """A technician on the day: hours (None: not stated), until when away, licences until when."""

    hours: int | None
    away_until: date | None
    licences: Mapping[str, date | None]


@dataclass(frozen=True, slots=True)
class WorkDay:
    """A day of a branch. `ramps` has the hours of each; None or empty: the branch states none.

    `takes` is what a ramp can take, and `lifts` the most that it carries (thousandths of a
    kilogram), where that is stated.
    """

    branch: str
    on: date
    closed: bool
    holiday: str | None
    ramps: Mapping[str, int | None]
    technicians: Mapping[str, DayTechnician]
    bookings: tuple[DayBooking, ...]
    takes: Mapping[str, str] = field(default_factory=dict)
    lifts: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Load:
    """What is planned for a ramp or a technician on a day, at least and at most.

    `unknown` are bookings whose hours nobody wrote down, `shared` those that others work at too.
    """

    least: int
    most: int
    unknown: tuple[str, ...]
    shared: tuple[str, ...]


def at_once(first: DayBooking, second: DayBooking) -> bool | None:
    """Whether two bookings take the same time of the day; None where that is not known.

    They do not when the earlier one ends at the very minute at which the other begins.
    """
    if first.starts is None or second.starts is None:
        return None
    if 0 in (first.hours, second.hours):
        return False
    if first.starts == second.starts:
        return True
    early, late = (first, second) if first.starts < second.starts else (second, first)
    if early.hours is None:
        return None
    return early.hours * _MINUTES > ((late.starts or 0) - (early.starts or 0)) * _HOUR


def load_of(bookings: Sequence[DayBooking], *, shared: bool = False) -> Load:
    """The hours of some bookings together; `shared`: of one of their technicians.

    Who of several does how much is not stated: one may do nothing of it, or all.
    """
    known = [one for one in bookings if one.hours is not None]
    parted = [one for one in known if shared and len(one.technicians) > 1 and one.hours]
    most = sum(one.hours or 0 for one in known)
    return Load(
        least=most - sum(one.hours or 0 for one in parted),
        most=most,
        unknown=tuple(one.number for one in bookings if one.hours is None),
        shared=tuple(one.number for one in parted),
    )


def on_ramp(day: WorkDay, ramp: str) -> tuple[DayBooking, ...]:
    """The bookings of a ramp, by time."""
    found = (one for one in day.bookings if one.ramp == ramp)
    return tuple(sorted(found, key=_when))


def remarks_of(day: WorkDay, booking: DayBooking) -> tuple[DayRemark, ...]:
    """Everything that is the matter with a booking on its day, what is certain first."""
    found = [
        *_closed(day),
        *_ramp(day, booking),
        *_people(day, booking),
        *_not_named(day, booking),
        *_licences(day, booking),
    ]
    return tuple(sorted(dict.fromkeys(found), key=lambda one: not one.certain))


def ramp_remarks(day: WorkDay, ramp: str) -> tuple[DayRemark, ...]:
    """Whether a ramp has room for what is booked on it."""
    if ramp not in day.ramps:
        return (_unknown(DayReason.NO_SUCH_RAMP, ramp=ramp, branch=day.branch),)
    bookings = on_ramp(day, ramp)
    hours = day.ramps[ramp]
    if hours is None and bookings:
        room = [_unknown(DayReason.RAMP_HOURS_UNKNOWN, ramp=ramp)]
    else:
        room = list(_room(f"ramp {ramp}", hours or 0, bookings, load_of(bookings)))
    return (*room, *_meeting(f"ramp {ramp}", bookings))


def _when(one: DayBooking) -> tuple[bool, int, str]:
    return one.starts is None, one.starts or 0, one.number


def _certain(code: ReasonCode, **values: object) -> DayRemark:
    return DayRemark(True, because(code, **values))  # type: ignore[arg-type]


def _unknown(code: ReasonCode, **values: object) -> DayRemark:
    return DayRemark(False, because(code, **values))  # type: ignore[arg-type]


def _hours(thousandths: int) -> Quantity:
    return Quantity(thousandths, "each")


def _closed(day: WorkDay) -> Iterator[DayRemark]:
    if day.closed and day.holiday:
        yield _certain(
            DayReason.CLOSED_FOR, branch=day.branch, on=day.on, holiday=day.holiday
        )  # fmt: skip
    elif day.closed:
        yield _certain(DayReason.CLOSED, branch=day.branch, on=day.on)


def _not_named(day: WorkDay, booking: DayBooking) -> Iterator[DayRemark]:
    """What of ramps and people is not named, or not even stated for the branch."""
    named = (
        ("ramp", booking.ramp is not None, day.ramps, DayReason.RAMPS_NOT_STATED),
        ("technician", bool(booking.technicians), day.technicians, DayReason.PEOPLE_NOT_STATED),
    )
    missing = tuple(what for what, there, stated, _ in named if stated and not there)
    if missing:
        yield _unknown(DayReason.NOT_NAMED, what=missing)
    for _, there, stated, code in named:
        if not stated and not there:
            yield _unknown(code, branch=day.branch)


def _ramp(day: WorkDay, booking: DayBooking) -> Iterator[DayRemark]:
    if booking.ramp is not None and booking.ramp in day.takes and not booking.done:
        # It is a text: nothing of a car can be held against it.
        yield _unknown(DayReason.RAMP_TAKES, ramp=booking.ramp, takes=day.takes[booking.ramp])
    if booking.ramp is not None and booking.ramp in day.lifts and not booking.done:
        yield from _lifted(booking.ramp, day.lifts[booking.ramp], booking.weight)
    if booking.ramp is not None:
        yield from _concerning(ramp_remarks(day, booking.ramp), booking)


def _lifted(ramp: str, lifts: int, weight: CarWeight | None) -> Iterator[DayRemark]:
    """Whether a ramp carries a car: what is not weighed with all that is in it may be heavier."""
    told = {"ramp": ramp, "lifts": kilograms(lifts)}
    if weight is None:
        yield _unknown(DayReason.WEIGHT_UNKNOWN, **told)
    elif weight.thousandths > lifts:
        yield _certain(DayReason.TOO_HEAVY, **told, weight=str(weight))
    elif weight.of is WeightIs.KERB:
        weighs = kilograms(weight.thousandths)
        yield _unknown(DayReason.WEIGHT_WITHOUT_LOAD, **told, weight=weighs)


def _people(day: WorkDay, booking: DayBooking) -> Iterator[DayRemark]:
    for code in booking.technicians:
        yield from _concerning(_technician(day, code), booking)


def _concerning(remarks: Iterable[DayRemark], booking: DayBooking) -> Iterator[DayRemark]:
    """Remarks without those of two bookings that are both others."""
    for one in remarks:
        pair = dict(one.because.values).get("pair")
        if not isinstance(pair, tuple) or booking.number in pair:
            yield one


def _technician(day: WorkDay, code: str) -> Iterator[DayRemark]:
    found = day.technicians.get(code)
    if found is None:
        yield _unknown(DayReason.NO_SUCH_TECHNICIAN, technician=code, branch=day.branch)
        return
    bookings = tuple(sorted((b for b in day.bookings if code in b.technicians), key=_when))
    if found.away_until is not None:
        yield _certain(DayReason.AWAY, technician=code, on=day.on, until=found.away_until)
    elif found.hours is None:
        yield _unknown(DayReason.TECHNICIAN_HOURS_UNKNOWN, technician=code, on=day.on)
    elif found.hours == 0:
        yield _certain(DayReason.NOT_AT_WORK, technician=code, on=day.on)
    else:
        load = load_of(bookings, shared=True)
        yield from _room(f"technician {code}", found.hours, bookings, load)
    yield from _meeting(f"technician {code}", bookings)


def _room(who: str, hours: int, bookings: Sequence[DayBooking], load: Load) -> Iterator[DayRemark]:
    """Whether the hours of a day are enough for the bookings."""
    if load.least > hours:
        yield _certain(
            DayReason.OVER_HOURS,
            who=who,
            planned=_hours(load.least),
            hours=_hours(hours),
            over=_hours(load.least - hours),
            bookings=tuple(one.number for one in bookings if one.hours),
        )
    elif load.most > hours:
        yield _unknown(
            DayReason.SHARES_UNKNOWN, who=who, bookings=load.shared, hours=_hours(hours)
        )  # fmt: skip
    if load.unknown:
        yield _unknown(DayReason.BOOKING_HOURS_UNKNOWN, who=who, bookings=load.unknown)


def _meeting(who: str, bookings: Sequence[DayBooking]) -> Iterator[DayRemark]:
    """Bookings that want the same ramp or person at the same time."""
    for first, second in combinations([one for one in bookings if not one.done], 2):
        meets = at_once(first, second)
        pair = (first.number, second.number)
        if meets:
            yield _certain(DayReason.AT_ONCE, who=who, pair=pair)
        elif meets is None:
            yield _unknown(DayReason.PERHAPS_AT_ONCE, who=who, pair=pair)


def _licences(day: WorkDay, booking: DayBooking) -> Iterator[DayRemark]:
    """Whether somebody who does the work may do all that asks for a licence, on that day."""
    people = [(code, day.technicians[code]) for code in booking.technicians
              if code in day.technicians]  # fmt: skip
    for asked in booking.licences:
        about = {"licence": asked.name, "asked_by": asked.asked_by}
        if not booking.technicians:
            yield _unknown(DayReason.LICENCE_OF_NOBODY, **about)
            continue
        dates = [(code, one.licences[asked.code]) for code, one in people
                 if asked.code in one.licences]  # fmt: skip
        if any(until is not None and until >= day.on for _, until in dates):
            continue
        undated = [code for code, until in dates if until is None]
        expired = [(code, until) for code, until in dates if until is not None]
        if undated:
            yield _unknown(DayReason.LICENCE_UNDATED, technicians=tuple(undated), **about)
        elif expired:
            code, until = max(expired, key=lambda one: (one[1], one[0]))
            yield _certain(DayReason.LICENCE_EXPIRED, technician=code, until=until, **about)
        else:
            yield _certain(
                DayReason.LICENCE_MISSING, technicians=booking.technicians, **about
            )  # fmt: skip
