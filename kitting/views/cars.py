"""Cars: what is known of one, what that leaves open, its history; apart from it, the owner."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths
from kitting.facts.car_facts import CarFact
from kitting.facts.reasons import Reason
from kitting.facts.weights import CarWeight
from kitting.facts.words import BookingState, RefitOutcome


@dataclass(frozen=True, slots=True)
class EquipmentView:
    """Whether a car has something; None where that is unknown and variants depend on it."""

    code: str
    present: bool | None


@dataclass(frozen=True, slots=True)
class OpenVariantView:
    """A variant that what is known of a car leaves open: why, and the look that decides it.

    Jobs that meet it cannot be booked before.
    """

    variant: str
    question: str
    check: str
    why: Reason


@dataclass(frozen=True, slots=True)
class ToldView:
    """A fact of a car as it was told at the garage; `code` is of equipment.

    `why` says why what was known before was wrong.
    """

    at: datetime
    told_by: str | None
    fact: CarFact
    code: str | None
    value: str
    why: str | None


@dataclass(frozen=True, slots=True)
class NoteView:
    """A note on the history of a car."""

    at: datetime
    told_by: str
    text: str


@dataclass(frozen=True, slots=True)
class CarBookingView:
    """A booking of a car."""

    number: str
    branch: str
    jobs: tuple[str, ...]
    fit_on: date
    state: BookingState


@dataclass(frozen=True, slots=True)
class FittedView:
    """What a closed booking used of a lot."""

    booking: str
    on: date
    item: str
    name: str
    lot: str
    unit: str
    quantity: Thousandths


@dataclass(frozen=True, slots=True)
class PositionHistoryView:
    """What became of a position; `booking` is None of an earlier visit that a file states."""

    on: date
    booking: str | None
    joint: str
    position: str
    outcome: RefitOutcome


@dataclass(frozen=True, slots=True)
class CarView:
    """A car: what is known of it, what is not and what that leaves open, and its history.

    `check_digit` is what position 9 of its VIN would have to be, if it is a check digit and is
    another. Nothing of the owner is in here.
    """

    registration: str
    model: str
    vin: str | None
    check_digit: str | None
    build_date: date | None
    weight: CarWeight | None
    units: tuple[str, ...]
    equipment: tuple[EquipmentView, ...]
    build_date_decides: bool
    open: tuple[OpenVariantView, ...]
    told: tuple[ToldView, ...]
    notes: tuple[NoteView, ...]
    bookings: tuple[CarBookingView, ...]
    fitted: tuple[FittedView, ...]
    positions: tuple[PositionHistoryView, ...]

    @property
    def unknown(self) -> tuple[str, ...]:
        """The equipment that variants depend on and nobody has told."""
        return tuple(one.code for one in self.equipment if one.present is None)


@dataclass(frozen=True, slots=True)
class OwnerView:
    """Whose car it is and how to call them: personal data, shown only when it is asked for."""

    registration: str
    name: str
    telephone: str | None
    since: datetime


@dataclass(frozen=True, slots=True)
class ForgottenView:
    """That an owner was forgotten; `notes` of the car name them and cannot be altered."""

    registration: str
    notes: int


@dataclass(frozen=True, slots=True)
class FoundPartView:
    """A part as it was found on a car while it was stripped; what was not seen is None.

    `figure` has its stages one after the other, as they were written. `number` is what it is taken
    back by, `photo` the number of its newest photo.
    """

    number: int
    at: datetime
    told_by: str | None
    joint: str
    position: str
    kind: str | None
    count: int | None
    thread: str | None
    head: str | None
    figure: str | None
    source: str | None
    size: str | None
    seen: str | None
    photo: int | None = None


@dataclass(frozen=True, slots=True)
class FoundPartsView:
    """What was found on a car, in the order in which it was noted."""

    registration: str
    found: tuple[FoundPartView, ...]
