"""Columns of offers: the sets of offers that close a gap alone, up to a price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST_COLUMNS = 40_000
Ways = Sequence[frozenset[str]]


class TooManyError(Exception):
    """More columns or nodes than this search is made for."""


@dataclass(frozen=True, slots=True)
class Cover:
    """Offers by number: their prices in minor units and tools; the ways to close each gap.

    A purchase that has all of one of the sets in `barred` (bits by number of an offer) is no
    answer.
    """

    prices: Sequence[int]
    brings: Sequence[frozenset[str]]
    gaps: Sequence[Ways]
    barred: Sequence[int] = ()


def columns_of(cover: Cover, ways: Ways, most: int) -> list[int]:
    """The sets of offers (as bits) that close a gap and cost no more than `most`.

    Every set of offers that closes the gap for no more has one of these in it. Raises TooManyError.
    """
    bringing: dict[str, list[int]] = {}
    for number, tools in enumerate(cover.brings):
        if cover.prices[number] <= most:
            for tool in tools:
                bringing.setdefault(tool, []).append(number)
    alone = 0
    for way in ways:
        for number in bringing.get(next(iter(way)), ()):
            if way <= cover.brings[number]:
                alone |= 1 << number
    found: dict[int, int] = {}
    for way in ways:
        makers = [[n for n in bringing.get(t, ()) if not alone >> n & 1] for t in way]
        found |= _joined(cover.prices, sorted(makers, key=lambda one: (len(one), one)), most)
    singles = [1 << n for n in range(len(cover.prices)) if alone >> n & 1]
    # Those found have two offers at least: only of three or more can one be left out.
    return singles + sorted(
        one
        for one in found
        if one.bit_count() < 3 or not any(one ^ bit in found for bit in bits(one))
    )


def _joined(prices: Sequence[int], makers: Sequence[Sequence[int]], most: int) -> dict[int, int]:
    """Sets with one of each of the `makers`, and what they cost."""
    sets = {0: 0}
    for makers_of_one in makers:
        each = [(1 << n, prices[n]) for n in makers_of_one]
        any_of = sum(bit for bit, _ in each)
        longer: dict[int, int] = {}
        for one, cost in sets.items():
            if one & any_of:
                longer[one] = cost
                continue
            for bit, price in each:
                if cost + price <= most:
                    longer[one | bit] = cost + price
        if len(longer) > MOST_COLUMNS:
            raise TooManyError
        sets = longer
    return sets


def bits(mask: int) -> list[int]:
    """The bits of a mask, one by one."""
    found = []
    while mask:
        found.append(mask & -mask)
        mask &= mask - 1
    return found
