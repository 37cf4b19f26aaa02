"""The day at a glance: what slips first, and what answers it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.actions import NextStep
from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason, ReasonCode
from kitting.facts.words import Word
from kitting.views.work_day import RampDayView


class Urgency(Word):
    """How near something is, the most urgent first: a time of today, what is late already …"""

    CLOCK = "by the clock"
    LATE = "late already"
    TODAY = "today"
    NEXT = "next working day"
    LATER = "later"


class TodayKind(Word):
    """What a row of the day is about; of equal deadlines what stands first comes first."""

    SEND = "send"
    LOAD = "load"
    ORDER = "order"
    NOT_IN_TIME = "not in time"
    NOT_OFFERED = "not offered"
    FAILED = "failed"
    DAY_DOES_NOT_FIT = "day does not fit"
    OVER_LIMIT = "over the limit"
    CANNOT_START = "cannot start"
    STARTS_INCOMPLETE = "starts incomplete"
    LOST = "lost"
    SPOILT = "spoilt"
    PAST = "past"
    PROMISE = "promise"
    CONFIRM = "confirm"
    UNPICKED = "unpicked"
    PICK = "pick"
    ORDER_OVERDUE = "order overdue"
    TRANSFER_OVERDUE = "transfer overdue"
    TRANSFER_UNKNOWN = "transfer unknown"
    ORDER_DUE = "order due"
    TRANSFER_DUE = "transfer due"
    CAME_EXPIRED = "came expired"
    HAND_BACK = "hand back"


# Work that is as it should be: it is shown, and nothing slips by it yet.
IN_ORDER = frozenset(
    {
        TodayKind.STARTS_INCOMPLETE,
        TodayKind.PROMISE,
        TodayKind.CONFIRM,
        TodayKind.PICK,
        TodayKind.ORDER_DUE,
        TodayKind.TRANSFER_DUE,
        TodayKind.HAND_BACK,
    }
)


class TodayReason(ReasonCode):
    """Why a row of the day is there, where nothing else says it."""

    BY_VAN = "by van"
    ONLY_BY_VAN = "only by van"
    OVER_BY = "over by"
    AT_BEST = "at best"
    CONFIRMED = "confirmed"
    AS_TOLD = "as told"
    FOUND = "found"
    STILL = "still"
    STILL_ASIDE = "still set aside"
    NEVER_CAME = "never came"
    DUE = "due"
    KEPT_TO = "kept to"
    VAN_UNKNOWN = "van unknown"
    VANS_SEEN = "vans seen"
    NO_VAN_SEEN = "no van seen"
    STILL_IN_TIME = "still in time"
    STILL_NOT_KNOWN = "still in time not known"


@dataclass(frozen=True, slots=True)
class TodayCar:
    """A booking that a row is about, its car and its fitting date."""

    booking: str
    registration: str
    fit_on: date


@dataclass(frozen=True, slots=True)
class TodayItem:
    """So much of an item: `quantity` in thousandths of `unit`."""

    item: str
    name: str
    unit: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class TodayRow:
    """One thing of the day.

    `when` is its deadline by the clock, `minutes_left` from now to it; `day` the day by which it
    matters; None where there is none. `supplier`, `order`, `transfer` and `lot` are what it is
    about, where it is; `source` is the branch that has the goods. `slips` says that something goes
    wrong, or will if nobody answers it by then; `then` is what answers it.
    """

    urgency: Urgency
    kind: TodayKind
    slips: bool
    branch: str
    day: date | None
    when: datetime | None
    minutes_left: int | None
    cars: tuple[TodayCar, ...]
    items: tuple[TodayItem, ...]
    supplier: str | None
    order: str | None
    transfer: int | None
    source: str | None
    lot: str | None
    why: tuple[Reason, ...]
    then: NextStep


@dataclass(frozen=True, slots=True)
class TodayView:
    """A day of a branch (None: of all), what slips first at the top.

    `asked` is the chance with which what is ordered has to be in time. `next_day` is the next
    working day of the first branch named. `slips` says whether anything does. `beyond` counts
    bookings for which something is to be ordered later than `ahead`, the last day whose cut-offs
    are listed; `bookings` counts all that are open. `ramps` is the day of each ramp.
    """

    branch: str | None
    now: datetime
    asked: float
    next_day: date
    ahead: date
    rows: tuple[TodayRow, ...]
    slips: bool
    beyond: int
    bookings: int
    ramps: tuple[RampDayView, ...] = ()
