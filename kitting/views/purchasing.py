"""Purchasing: what to buy, possible dates, orders as placed. Money is told as text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from kitting.facts.amounts import Thousandths


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
