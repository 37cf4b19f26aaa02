"""The day of a workshop: its ramps and people, what is booked on them, what was agreed of money."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.day_reasons import DayRemark
from kitting.facts.money import Money
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.words import Word


@dataclass(frozen=True, slots=True)
class RampView:
    """A ramp: what it can take, and its hours of a working day in thousandths, where stated.

    `lifts` is the most that it carries, in thousandths of a kilogram.
    """

    ramp: str
    takes: str | None
    hours: Thousandths | None
    lifts: Thousandths | None = None


@dataclass(frozen=True, slots=True)
class HeldView:
    """A licence that somebody holds, and its last day where that is stated."""

    licence: str
    until: date | None


@dataclass(frozen=True, slots=True)
class AbsenceView:
    """Days on which somebody is away, both among them."""

    first: date
    last: date


@dataclass(frozen=True, slots=True)
class TechnicianView:
    """A technician; `hours` are those of each weekday from Monday on, None where not stated."""

    code: str
    hours: tuple[Thousandths | None, ...]
    licences: tuple[HeldView, ...]
    away: tuple[AbsenceView, ...]


@dataclass(frozen=True, slots=True)
class StaffView:
    """The ramps and technicians of a branch."""

    branch: str
    ramps: tuple[RampView, ...]
    technicians: tuple[TechnicianView, ...]


@dataclass(frozen=True, slots=True)
class BookingDayView:
    """When and where a booking is done, by whom, and what is the matter with that.

    `on` is the day that is judged, `hours` its planned hours in thousandths, None where nobody
    wrote them down. What of `remarks` is not certain is not known.
    """

    on: date
    starts: str | None
    ramp: str | None
    technicians: tuple[str, ...]
    hours: Thousandths | None
    remarks: tuple[DayRemark, ...]


@dataclass(frozen=True, slots=True)
class RampBookingView:
    """A booking on a ramp of a day."""

    booking: str
    starts: str | None
    technicians: tuple[str, ...]
    hours: Thousandths | None


@dataclass(frozen=True, slots=True)
class RampDayView:
    """A ramp on a day; `ramp` None: what is booked without one. Hours in thousandths.

    `planned` counts the bookings whose hours are known.
    """

    branch: str
    ramp: str | None
    hours: Thousandths | None
    planned: Thousandths
    bookings: tuple[RampBookingView, ...]
    remarks: tuple[DayRemark, ...]


class LimitState(Word):
    """How the estimate of a booking stands to what was agreed."""

    OVER = "over"
    NOT_KNOWN = "not known"
    MAY_GO_OVER = "may go over"
    WITHIN = "within"


class Unpriced(ReasonCode):
    """Why what a booking will cost is not known."""

    PART = "part"
    SERVICE = "service"
    NO_HOUR_PRICE = "no hour price"
    NOT_ESTIMATED = "not estimated"
    CURRENCIES = "currencies"


@dataclass(frozen=True, slots=True)
class AgreedView:
    """What was agreed of money for a booking, and how its estimate stands to that.

    `limit` is what it may cost at most, `open` what is still to be paid of the agreed price after
    the deposit (below nothing: to be given back). `against` is the limit, else the agreed price;
    None where neither is stated. `now` is what is needed in any case, `most` that and every look
    failed; both leave out what is `unknown`, and are None where nothing could be estimated. `by` is
    how far `now` (of what may go over: `most`) is over `against`, or how far `most` is below it.
    """

    agreed: Money | None
    limit: Money | None
    deposit: Money | None
    hour_price: Money | None
    open: Money | None
    against: Money | None
    now: Money | None
    most: Money | None
    state: LimitState
    by: Money | None
    unknown: tuple[Reason, ...]
