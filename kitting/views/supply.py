"""Supply: stock, bookings, orders, dates. Money is told as text, dates are dates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths


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
    keeps_why: str
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
    before_why: str
    after: date | None
    after_why: str
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
class BuyLineView:
    """One line of an order: `ordered` in thousandths of `unit`, money as text."""

    part: str
    item: str
    name: str
    unit: str
    needed: Thousandths
    packs: int
    pack: Thousandths
    ordered: Thousandths
    price: str
    total: str
    returnable: bool
    core: str | None
    why: str


@dataclass(frozen=True, slots=True)
class ParcelView:
    """What is ordered from one supplier to come together.

    `cutoff` is the next time by which to order; `arrives` the usual day and `late` the day within
    which nine of ten arrive, both if ordered by then; `latest_useful` the last day on which it can
    come and still be checked. `slip` is how many days later it comes if the cut-off is missed.
    """

    supplier: str
    supplier_name: str
    lines: tuple[BuyLineView, ...]
    goods: str
    carriage: str
    carriage_note: str | None
    total: str
    cutoff: datetime
    minutes_left: int
    arrives: date
    late: date
    latest_useful: date
    chance: float
    slip: int


@dataclass(frozen=True, slots=True)
class PurchaseView:
    """The least-cost purchase that makes some bookings whole in time with a chance, proven.

    Where something cannot be had in time, `lacking` names it, the purchase is that of the rest, and
    the chance is 0. Several bookings are judged at the first of their dates (`fit_on`).
    `transfers` tells what other branches have free of it, with both times; `alternatives` what may
    stand in for an item, the first choice first; `others` what leaving
    out a supplier would cost. Without a purchase, `lacking` names what cannot be had in time,
    `best_chance` is the highest that can be reached and `would_do` the earliest fitting date that
    can be had at the chance asked for.
    """

    bookings: tuple[str, ...]
    branch: str
    now: datetime
    fit_on: date
    asked: float
    chance: float
    total: str | None
    parcels: tuple[ParcelView, ...]
    lacking: tuple[str, ...]
    best_chance: float | None
    would_do: date | None
    others: tuple[str, ...]
    transfers: tuple[str, ...] = ()
    alternatives: tuple[str, ...] = ()
    orders: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DateView:
    """One possible fitting date: what the kit costs if it must be there, and the chance of it.

    `state` is safe (the chance asked for is reached), risky, or impossible.
    """

    on: date
    by: date
    cost: str | None
    chance: float
    state: str


@dataclass(frozen=True, slots=True)
class OrderByView:
    """When to order from a supplier at the latest for a date, by its usual and its late days."""

    supplier: str
    usual: datetime
    safe: datetime


@dataclass(frozen=True, slots=True)
class DatesView:
    """Possible dates for some bookings; `earliest` is the first safe one.

    What `nobody_offers` is not counted in the chances: while there is any, no date is safe.
    """

    bookings: tuple[str, ...]
    now: datetime
    asked: float
    dates: tuple[DateView, ...]
    earliest: date | None
    order_by: tuple[OrderByView, ...]
    closed: tuple[str, ...]
    nobody_offers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderLineView:
    """A line of an order that was placed. Amounts are thousandths of `unit`.

    `core` is what comes back for the old parts; `told` says what came damaged, wrong or too much.
    """

    seq: int
    part: str
    item: str
    name: str
    unit: str
    packs: int
    ordered: Thousandths
    received: Thousandths
    lost: Thousandths
    promised: tuple[str, ...]
    price: str
    total: str
    returnable: bool
    core: str | None = None
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderView:
    """An order as placed; `state` is placed, part received, complete or cancelled."""

    number: str
    supplier: str
    supplier_name: str
    branch: str
    placed_at: datetime
    due: date
    due_late: date
    state: str
    lines: tuple[OrderLineView, ...]
    goods: str
    carriage: str
    total: str


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
class VanView:
    """The van's day: stops, what to load, tools that are missing, what is not accounted for."""

    branch: str
    on: date
    stops: tuple[StopView, ...]
    load: tuple[LoadLineView, ...]
    tools: tuple[str, ...]
    untold: tuple[str, ...]


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
