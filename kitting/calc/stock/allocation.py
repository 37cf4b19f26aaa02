"""Free stock: what is there and not promised, which lot to take first, packs and opened life.

Amounts are whole numbers of one unit throughout (pieces, or thousandths of a base unit).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from kitting.calc.stock.storage import may_be_fitted, state_on
from kitting.errors import FigureError


@dataclass(frozen=True, slots=True)
class Lot:
    """Stock of an item that came in together.

    `expires` is the last day on which it may be fitted; None: no date is known or it keeps, and
    it is for the caller to tell which (`age_known`). Raises FigureError for negative amounts.
    """

    key: int
    item: int
    quantity: int
    promised: int = 0
    expires: date | None = None
    on_hold: bool = False
    received: date | None = None
    age_known: bool = True

    def __post_init__(self) -> None:
        _not_negative(f"lot {self.key}", self.quantity, self.promised)

    @property
    def free(self) -> int:
        """What is not promised; nothing if more is promised than is there."""
        return max(0, self.quantity - self.promised)


@dataclass(frozen=True, slots=True)
class Arrival:
    """What is on order: due in on a day, some of it promised. FigureError if negative."""

    key: int
    item: int
    due: date
    quantity: int
    promised: int = 0

    def __post_init__(self) -> None:
        _not_negative(f"arrival {self.key}", self.quantity, self.promised)


@dataclass(frozen=True, slots=True)
class Take:
    """So much of a lot, named by its key."""

    lot: int
    quantity: int


def usable(lot: Lot, fit_on: date) -> bool:
    """Whether a lot may be fitted on a day; the day of expiry is the last."""
    return may_be_fitted(state_on(fit_on, lot.expires, on_hold=lot.on_hold))


def proven(lot: Lot, fit_on: date) -> bool:
    """Whether a lot is certain to be fit on a day: usable, and its age is known."""
    return lot.age_known and usable(lot, fit_on)


def free_on(
    lots: Iterable[Lot], arrivals: Iterable[Arrival], on: date, fit_on: date | None = None
) -> int:
    """What of one item can be promised for a day.

    On hand − promised + due by the day − what is promised of that − on hold − expired by
    `fit_on` (the day itself if None). A promise on a lot that may not be fitted stands: it has
    to be met from the rest. Below 0 more is promised than there will be.

    Raises FigureError if lots and arrivals are of several items.
    """
    there, due = tuple(lots), tuple(arrivals)
    _one_item(*(lot.item for lot in there), *(arrival.item for arrival in due))
    fitted = on if fit_on is None else fit_on
    good = sum(lot.quantity for lot in there if usable(lot, fitted))
    inflow = sum(arrival.quantity - arrival.promised for arrival in due if arrival.due <= on)
    return good - sum(lot.promised for lot in there) + inflow


def allocate(lots: Iterable[Lot], quantity: int, fit_on: date) -> tuple[tuple[Take, ...], int]:
    """Take what is needed from the lots that expire first; returns the takings and what lacks.

    Lots without a date of expiry come last; among equals the first received, then the lowest
    key. Only what is not promised and may be fitted on the day is taken.

    Raises FigureError for a negative quantity or lots of several items.
    """
    there = tuple(lots)
    _one_item(*(lot.item for lot in there))
    _not_negative("what is needed", quantity)
    takes: list[Take] = []
    lacking = quantity
    for lot in sorted(there, key=_expiry_order):
        taken = min(lacking, lot.free)
        if taken and usable(lot, fit_on):
            takes.append(Take(lot.key, taken))
            lacking -= taken
    return tuple(takes), lacking


def packs_needed(uses: Sequence[tuple[date, int]], pack: int, opened_days: int | None) -> int:
    """The fewest packs to open for uses in order of their days.

    `uses` gives day and amount, `pack` the amount in one. A pack is fit to use up to
    `opened_days` after the day it was opened, None meaning that it keeps. A use may finish one
    pack and go on with the next. Opening a pack only once the last is used up or past its time
    is never worse than opening it sooner, so the count is exact.

    The worked example of our rules: two beads of 18.9 ml from tubes of 70 ml.

    >>> packs_needed([(date(2026, 5, 4), 18_900), (date(2026, 5, 9), 18_900)], 70_000, 60)
    1

    Raises FigureError for a pack of nothing and negative amounts or days.
    """
    _not_negative("uses and opened life", *(amount for _, amount in uses), opened_days or 0)
    if pack <= 0:
        raise FigureError("a pack of {pack} holds nothing", pack=pack)
    packs = 0
    left = 0
    fit_until: date | None = None
    for day, amount in sorted(uses):
        if fit_until is not None and day > fit_until:
            left = 0
        need = amount - min(left, amount)
        left -= amount - need
        if need:
            opened = -(-need // pack)
            packs += opened
            left = opened * pack - need
            fit_until = None if opened_days is None else day + timedelta(days=opened_days)
    return packs


def _expiry_order(lot: Lot) -> tuple[bool, date, bool, date, int]:
    return (
        lot.expires is None,
        lot.expires or date.max,
        lot.received is None,
        lot.received or date.max,
        lot.key,
    )


def _one_item(*items: int) -> None:
    if len(set(items)) > 1:
        raise FigureError(
            "items {items} cannot be counted together; take one", items=sorted(set(items))
        )


def _not_negative(what: str, *amounts: int) -> None:
    if min(amounts, default=0) < 0:
        raise FigureError(
            "{what}: {listed} must not be negative; check the count",
            what=what,
            listed=list(amounts),
        )
