"""Cheapest covers by columns: the sets of offers that close a gap, tried within a proven bound.

A column is a set of offers that closes a gap alone. The price of an offer is shared out among the
gaps; with any shares, the cheapest columns together are a bound from below (Lagrangian relaxation),
which subgradient steps raise. Whatever that bound shows to be too dear is left out, and what
remains is branched on, offer by offer. Bounds are counted in whole numbers, so nothing is left out
by a rounding.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

MOST_COLUMNS = 40_000
MOST_NODES = 1_000
_PARTS = 1024  # of a minor unit, in which shares of a price are counted
_MOST_MONEY = 2**34  # in minor units, so that every sum of parts is a whole number of 64 bits
# Subgradient steps of the first node and of each other; how far the first goes.
_FIRST_STEPS, _STEPS, _PACE = 60, 15, 2.0
_STALE = 5  # steps without a higher bound, after which they are halved
_LOOK = 10  # steps after which they have to have closed a part of what is lacking
_PART = 0.1
Ways = Sequence[frozenset[str]]
_Numbers = np.ndarray[tuple[int, ...], np.dtype[np.int64]]
_Money = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


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
    return singles + sorted(one for one in found if not any(one ^ b in found for b in _bits(one)))


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


def _bits(mask: int) -> list[int]:
    found = []
    while mask:
        found.append(mask & -mask)
        mask &= mask - 1
    return found


@dataclass(frozen=True, slots=True)
class _Node:
    """What is left to decide: columns (rows of pairs of a gap and an offer), gap by gap.

    Pair 0 stands for an offer that is taken already.
    """

    columns: _Numbers
    gap: _Numbers
    shares: _Money
    taken: int
    paid: int


class _Cheapest:
    """The cheapest column of each gap of a node, for any shares."""

    def __init__(self, search: Search, node: _Node) -> None:
        self.search, self.node = search, node
        self.starts = np.flatnonzero(np.diff(node.gap, prepend=-1))
        counts = np.diff(self.starts, append=len(node.gap))
        self.within = np.repeat(np.arange(len(counts)), counts)

    def at(self, shares: Any) -> tuple[float, Any, Any]:
        """The bound, the offers whose shares exceed their price, the pairs of those columns."""
        prices, columns = self.search.prices, self.node.columns
        worth = shares[columns].sum(axis=0)
        least = np.minimum.reduceat(worth, self.starts)
        spare = prices - np.bincount(self.search.offer_of, shares, minlength=len(prices))
        over = spare < 0
        cheap = (worth <= least[self.within]).nonzero()[0]
        first = columns[:, cheap[cheap.searchsorted(self.starts)]]
        return self.node.paid + least.sum() + spare[over].sum(), over, first[first > 0]


class Search:
    """Branch and bound over the columns of a cover."""

    def __init__(self, cover: Cover) -> None:
        """Raises TooManyError for a cover this search is not made for."""
        if sum(cover.prices) > _MOST_MONEY:
            raise TooManyError
        self.cover = cover
        tools = {tool for ways in cover.gaps for way in ways for tool in way}
        bit = {tool: 1 << n for n, tool in enumerate(sorted(tools))}
        self.brings = [sum(bit.get(tool, 0) for tool in one) for one in cover.brings]
        self.ways = [[sum(bit[tool] for tool in way) for way in ways] for ways in cover.gaps]
        self.seen = set[frozenset[int]]()
        self.best: tuple[int, ...] | None = None
        self.limit = sum(cover.prices)  # the most that an answer still to be found may cost
        self.nodes = 0
        self._offer(self._quick())
        self.prices = np.array(cover.prices, dtype=np.int64)

    def run(self) -> tuple[int, ...] | None:
        """The numbers of a cheapest set of offers, None where there is none.

        Raises TooManyError.
        """
        if (root := self._root()) is not None:
            waiting = [(root, _FIRST_STEPS)]
            while waiting:
                self.nodes += 1
                if self.nodes > MOST_NODES:
                    raise TooManyError
                node, steps = waiting.pop()
                waiting += [(child, _STEPS) for child in self._children(node, steps)]
        return self.best

    def _quick(self) -> frozenset[int]:
        """A purchase, not the cheapest: gap by gap whatever is cheapest besides what is taken."""
        cheapest: dict[str, int] = {}
        for number in sorted(range(len(self.cover.prices)), key=lambda n: -self.cover.prices[n]):
            cheapest |= dict.fromkeys(self.cover.brings[number], number)
        taken, brought = set[int](), set[str]()
        for ways in self.cover.gaps:
            added = [
                {cheapest[tool] for tool in way - brought}
                for way in ways
                if way <= brought | cheapest.keys()
            ]
            if added:
                fewest = min(added, key=lambda one: sum(self.cover.prices[n] for n in one))
                taken |= fewest
                brought.update(*(self.cover.brings[n] for n in fewest))
        return frozenset(taken)

    def _offer(self, chosen: frozenset[int]) -> None:
        """Keep a purchase, less what is not needed, if it is an answer and cheaper."""
        if chosen in self.seen or not self._closed_by(chosen):
            return
        self.seen.add(chosen)
        kept = set(chosen)
        for number in sorted(chosen, key=lambda n: (-self.cover.prices[n], n)):
            if self._closed_by(kept - {number}):
                kept.discard(number)
        cost = sum(self.cover.prices[n] for n in kept)
        if cost <= self.limit and not self._barred(sum(1 << n for n in kept)):
            self.best, self.limit = tuple(sorted(kept)), cost - 1

    def _closed_by(self, chosen: Iterable[int]) -> bool:
        lacking = -1
        for number in chosen:
            lacking &= ~self.brings[number]
        for ways in self.ways:
            for way in ways:
                if not way & lacking:
                    break
            else:
                return False
        return True

    def _barred(self, taken: int) -> bool:
        return any(one & taken == one for one in self.cover.barred)

    def _root(self) -> _Node | None:
        sets, pairs = list[list[int]](), dict[tuple[int, int], int]()
        gap = list[int]()
        for number, ways in enumerate(self.cover.gaps):
            found = columns_of(self.cover, ways, self.limit)
            if not found:
                return None
            for one in found:
                members = [bit.bit_length() - 1 for bit in _bits(one)]
                sets.append([pairs.setdefault((number, n), len(pairs) + 1) for n in members])
            gap += [number] * len(found)
            if len(sets) > MOST_COLUMNS:
                raise TooManyError
        width = max(map(len, sets))
        columns = np.array([one + [0] * (width - len(one)) for one in sets]).T.copy()
        self.offer_of = np.array([0, *(offer for _, offer in pairs)])
        among = np.bincount(self.offer_of[1:], minlength=len(self.prices))
        shares = (self.prices / np.maximum(among, 1))[self.offer_of]
        shares[0] = 0.0
        return _Node(columns, np.array(gap), shares, 0, 0)

    def _children(self, node: _Node, steps: int) -> list[_Node]:
        """The two sides of a choice, the likelier last; none if nothing cheaper is left."""
        shares, often = self._raised(node, steps)
        left = self._possible(replace(node, shares=shares))
        if left is None:
            return []
        weight = np.bincount(self.offer_of, often, minlength=len(self.prices))
        there = np.unique(self.offer_of[left.columns[left.columns > 0]])
        number = int(there[np.argmax(weight[there] * self.prices[there])])
        return [one for one in (self._without(left, number), self._with(left, number)) if one]

    def _raised(self, node: _Node, steps: int) -> tuple[Any, Any]:
        """Shares of a high bound, and how often each pair was among the cheapest columns."""
        active = np.zeros(len(self.offer_of), dtype=bool)
        active[node.columns] = True
        active[0] = False
        shares = best = np.where(active, node.shares, 0.0)
        cheapest = _Cheapest(self, node)
        often, highest, before, pace, stale = np.zeros(len(shares)), -1.0, 0.0, _PACE, 0
        for step in range(steps):
            bound, over, members = cheapest.at(shares)
            stale += 1
            if bound > highest + 1e-9:
                highest, best, stale = bound, shares, 0
            pace /= 2 if stale and stale % _STALE == 0 else 1
            used = np.zeros(len(shares))
            used[members] = 1.0
            often += used
            if step % 8 in (0, 7):
                self._offer(frozenset([*_numbers(node.taken), *self.offer_of[members].tolist()]))
            way = np.where(active, used - over[self.offer_of], 0.0)
            way[(shares <= 0) & (way < 0)] = 0.0
            lacking, length = self.limit + 1 - highest, way @ way
            if lacking < 0.99 or not length:
                break
            if step % _LOOK == _LOOK - 1:
                if highest - before < _PART * lacking:
                    break
                before = highest
            shares = np.maximum(shares + pace * (self.limit + 1 - bound) / length * way, 0.0)
        return best, often

    def _possible(self, node: _Node) -> _Node | None:
        """The node without columns too dear for a cheaper answer; None if that is all of a gap."""
        shared = np.minimum(node.shares, self.prices[self.offer_of])
        parts = np.floor(shared * _PARTS).astype(np.int64)
        totals = np.zeros(len(self.prices), dtype=np.int64)
        np.add.at(totals, self.offer_of, parts)
        spare = self.prices * _PARTS - totals
        starts = np.flatnonzero(np.diff(node.gap, prepend=-1))
        counts = np.diff(starts, append=len(node.gap))
        worth = parts[node.columns].sum(axis=0)
        least = np.minimum.reduceat(worth, starts)
        bound = node.paid * _PARTS + int(least.sum()) + int(spare[spare < 0].sum())
        rest = np.maximum(spare, 0)[self.offer_of]
        rest[0] = 0
        at_least = bound - np.repeat(least, counts) + worth + rest[node.columns].sum(axis=0)
        kept = at_least <= self.limit * _PARTS
        if not np.logical_or.reduceat(kept, starts).all():
            return None
        return replace(node, columns=node.columns[:, kept], gap=node.gap[kept])

    def _without(self, node: _Node, number: int) -> _Node | None:
        """The node in which an offer is not taken; None if a gap stays open then."""
        kept = ~((self.offer_of[node.columns] == number) & (node.columns > 0)).any(axis=0)
        starts = np.flatnonzero(np.diff(node.gap, prepend=-1))
        if not np.logical_or.reduceat(kept, starts).all():
            return None
        return replace(node, columns=node.columns[:, kept], gap=node.gap[kept])

    def _with(self, node: _Node, number: int) -> _Node | None:
        """The node in which an offer is taken; None if that is an answer, or cannot be one."""
        taken, paid = node.taken | 1 << number, node.paid + self.cover.prices[number]
        if paid > self.limit or self._barred(taken):
            return None
        columns = np.where(self.offer_of[node.columns] == number, 0, node.columns)
        closed = np.unique(node.gap[~columns.any(axis=0)])
        kept = ~np.isin(node.gap, closed)
        if not kept.any():
            self._offer(frozenset(_numbers(taken)))
            return None
        return _Node(columns[:, kept], node.gap[kept], node.shares, taken, paid)


def _numbers(mask: int) -> list[int]:
    return [bit.bit_length() - 1 for bit in _bits(mask)]
