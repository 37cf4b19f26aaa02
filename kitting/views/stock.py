"""Stock: lots on shelves, movements, recalls, goods between branches."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason


@dataclass(frozen=True, slots=True)
class LotView:
    """One lot on a shelf. Amounts are thousandths of `unit`; `free` is what nobody is promised.

    `keeps_to` is the last day by the shelf-life policy, `keeps_why` how that was found, `state`
    is good, expired, held, or age unknown. `looked_over` is when somebody looked it over so that
    its storage may be extended, `seen` what was seen.
    """

    branch: str
    item: str
    name: str
    lot: str
    bin: str | None
    unit: str
    on_hand: Thousandths
    promised: Thousandths
    free: Thousandths
    keeps_to: date | None
    keeps_why: Reason
    state: str
    held: str | None
    looked_over: date | None = None
    seen: str | None = None


@dataclass(frozen=True, slots=True)
class ExtendedView:
    """A look at a lot that extends its storage: the limit before and after, both with the reason.

    `after` is the day by ISO 2230; `before` None where the lot had no limit. `still` tells what
    goes on hindering its use, or has to be looked over too.
    """

    branch: str
    item: str
    lot: str
    looked_over: date
    seen: str
    before: date | None
    before_why: Reason
    after: date | None
    after_why: Reason
    still: tuple[str, ...]
    warning: str


@dataclass(frozen=True, slots=True)
class MovementView:
    """One movement of a lot's ledger."""

    at: datetime
    kind: str
    quantity: Thousandths
    balance: Thousandths
    booking: str | None
    note: str | None


@dataclass(frozen=True, slots=True)
class RecallBookingView:
    """A booking that a lot went to: the car, the day, and how much of it."""

    booking: str
    vehicle: str
    state: str
    fit_on: date
    waiting: Thousandths
    picked: Thousandths
    used: Thousandths


@dataclass(frozen=True, slots=True)
class RecallView:
    """Where everything of a lot is: closed jobs, kits, shelves, on the way, gone."""

    lot: str
    items: tuple[str, ...]
    unit: str
    shelves: tuple[LotView, ...]
    bookings: tuple[RecallBookingView, ...]
    on_the_way: Thousandths
    movements: tuple[MovementView, ...]


@dataclass(frozen=True, slots=True)
class OnTheWayView:
    """Goods between two branches, on neither shelf. `quantity` is thousandths of `unit`."""

    number: int
    item: str
    lot: str
    source: str
    to: str
    unit: str
    quantity: Thousandths
    due: date
