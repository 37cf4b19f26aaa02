"""Bookings: what each needs, what covers it, the day of a van."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from kitting.facts.amounts import Thousandths
from kitting.facts.reasons import Reason
from kitting.views.tools import RequirementView


@dataclass(frozen=True, slots=True)
class PromisedView:
    """A part of a need that is covered: by a lot, by goods to come, or in the kit already."""

    source: str
    quantity: Thousandths
    picked: Thousandths
    keeps_to: date | None
    due: date | None
    warning: str | None


@dataclass(frozen=True, slots=True)
class NeededView:
    """What a booking needs of one item. `rule` is renew, inspect (a spare), or use.

    `on_shelf` is promised stock, `coming` promised arrivals, `short` what nothing covers;
    `elsewhere` tells who holds what would cover it, `note` what the item stands in for.
    """

    item: str
    name: str
    rule: str
    unit: str
    needed: Thousandths
    picked: Thousandths
    on_shelf: Thousandths
    coming: Thousandths
    short: Thousandths
    sources: tuple[PromisedView, ...]
    elsewhere: tuple[str, ...]
    note: str | None


@dataclass(frozen=True, slots=True)
class BookingView:
    """A booking and how far its kit is. `ready` means that every must line is here and checked."""

    number: str
    branch: str
    registration: str
    vehicle: str
    jobs: tuple[str, ...]
    fit_on: date
    state: str
    ready: bool
    lacking: tuple[str, ...]
    override: str | None
    needs: tuple[NeededView, ...]


@dataclass(frozen=True, slots=True)
class BookingLine:
    """A booking in a list."""

    number: str
    branch: str
    registration: str
    jobs: tuple[str, ...]
    fit_on: date
    state: str
    short: int


@dataclass(frozen=True, slots=True)
class StopView:
    """A stop of the van's day; `lacking` is what its kit still waits for."""

    booking: str
    registration: str
    vehicle: str
    jobs: tuple[str, ...]
    state: str
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LoadLineView:
    """An item to load once for several stops; `quantity` in thousandths of `unit`."""

    item: str
    name: str
    unit: str
    quantity: Thousandths
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VanGapView:
    """What the van's boxes cannot do, why, and at which stops."""

    what: RequirementView
    reasons: tuple[Reason, ...]
    stops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VanView:
    """The van's day: stops, what to load, tools that are missing, what is not accounted for."""

    branch: str
    on: date
    stops: tuple[StopView, ...]
    load: tuple[LoadLineView, ...]
    tools: tuple[VanGapView, ...]
    untold: tuple[str, ...]
