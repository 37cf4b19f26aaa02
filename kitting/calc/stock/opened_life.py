"""Opened life: a pack that one kit opens may be past its time when the next one wants the rest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from kitting.facts.shelf_life import days_on


def left_of_opened(quantity: int, there: int, pack: int) -> int:
    """What is left in the pack that was opened last, when so much was taken of what was there.

    A part of a pack is used up first: what is left of that is as it was, and was not opened now.

    >>> left_of_opened(30, 200, 100), left_of_opened(30, 130, 100), left_of_opened(50, 130, 100)
    (70, 0, 80)
    """
    over = (quantity - there % pack) % pack
    return pack - over if quantity > there % pack and over else 0


@dataclass(frozen=True, slots=True)
class Use:
    """So much of some packs is wanted on a day; `key` tells the uses apart."""

    key: int
    on: date
    quantity: int


@dataclass(frozen=True, slots=True)
class Packs:
    """Unopened stock: how much is `there`, in packs of `pack`, fit for `days` after opening.

    A part of a pack counts as a small one and is opened first.
    """

    there: int
    pack: int
    days: int


@dataclass(frozen=True, slots=True)
class Spoilt:
    """What a use gets only of a pack that is past its time, and the day it was opened."""

    quantity: int
    opened: date


def opened_part(quantity: int, pack: int | None, *, pieces: bool) -> int:
    """How much of what was taken for one kit came of a pack that was opened for it.

    Whole packs stay sealed; of a size that nobody states only single pieces are whole.

    >>> opened_part(700, 500, pieces=False)
    200
    """
    if not pack:
        return 0 if pieces else quantity
    return quantity % pack


def spoilt(uses: Iterable[Use], packs: Packs) -> Mapping[int, Spoilt]:
    """Which uses are left with what is past its time, by key, in order of their days.

    The next pack is opened once the last is used up or past its time. What is wanted beyond all
    that is there is not of this sum.
    """
    fresh, left = packs.there, 0
    opened: date | None = None
    wasted: date | None = None
    found: dict[int, Spoilt] = {}
    for use in sorted(uses, key=lambda use: (use.on, use.key)):
        if left and opened is not None and use.on > days_on(opened, packs.days):
            wasted, left = opened, 0
        lacking = use.quantity - min(left, use.quantity)
        left -= use.quantity - lacking
        while lacking and fresh:
            size = fresh % packs.pack or packs.pack
            fresh -= size
            opened, taken = use.on, min(size, lacking)
            lacking -= taken
            left = size - taken
        if lacking and wasted is not None:
            found[use.key] = Spoilt(lacking, wasted)
    return found


def free_for(uses: Iterable[Use], packs: Packs, on: date, free: int) -> int:
    """How much of `free` can be promised for a day so that nothing more is left to spoil."""
    there = tuple(uses)
    last = 1 + max((use.key for use in there), default=0)
    before = _total(spoilt(there, packs))
    low, high = 0, free
    while low < high:
        middle = (low + high + 1) // 2
        if _total(spoilt((*there, Use(last, on, middle)), packs)) > before:
            high = middle - 1
        else:
            low = middle
    return low


def _total(found: Mapping[int, Spoilt]) -> int:
    return sum(one.quantity for one in found.values())
