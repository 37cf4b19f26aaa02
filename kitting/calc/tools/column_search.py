"""Cheapest covers by columns: the sets of offers that close a gap, tried within a proven bound.

Subgradient steps raise the bound of all shares of prices. Whatever it shows to be too dear is left
out, whatever it shows to be needed is taken, and what remains is branched on, offer by offer.
Bounds are counted in whole numbers, so nothing is left out by a rounding.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from kitting.calc.tools.column_bounds import PARTS, Cheapest, Counted, Node, starts_of
from kitting.calc.tools.columns import MOST_COLUMNS, Cover, TooManyError, bits, columns_of

MOST_NODES = 1_000
_MOST_MONEY = 2**34  # in minor units, so that every sum of parts is a whole number of 64 bits
# Subgradient steps of the first node and of each other; how far the first goes.
_FIRST_STEPS, _STEPS, _PACE = 60, 15, 2.0
_TRY = 8  # steps after which the cheapest columns are tried as a purchase
_STALE = 5  # steps without a higher bound, after which they are halved
_LOOK = 10  # steps after which they have to have closed a part of what is lacking
_PART = 0.1


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
        for chosen in self._quick():
            self._offer(chosen)
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

    def _quick(self) -> Iterator[frozenset[int]]:
        """Purchases, not the cheapest: of each tool the cheapest offer, gap by gap in four orders.

        As given and back, and by what closing a gap costs alone, the dearest or the cheapest first.
        """
        prices = self.cover.prices
        cheapest: dict[str, int] = {}
        for number in sorted(range(len(prices)), key=lambda n: -prices[n]):
            cheapest |= dict.fromkeys(self.cover.brings[number], number)
        gaps = [
            [(way, {cheapest[t] for t in way}) for way in ways if way <= cheapest.keys()]
            for ways in self.cover.gaps
        ]
        gaps = [ways for ways in gaps if ways]
        alone = [min(sum(prices[n] for n in added) for _, added in ways) for ways in gaps]
        by_cost = [gaps[n] for n in sorted(range(len(gaps)), key=alone.__getitem__)]
        for order in (gaps, gaps[::-1], by_cost[::-1], by_cost):
            yield self._in_order(order)

    def _in_order(
        self, gaps: Iterable[Sequence[tuple[frozenset[str], set[int]]]]
    ) -> frozenset[int]:
        """Gap by gap whatever costs least besides what is taken."""
        taken, brought = set[int](), set[str]()
        for ways in gaps:
            least, fewest = -1, set[int]()
            for way, added in ways:
                if way <= brought:
                    break
                cost = sum(self.cover.prices[n] for n in added - taken)
                if least < 0 or cost < least:
                    least, fewest = cost, added
            else:
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

    def _root(self) -> Node | None:
        sets, pairs = list[list[int]](), dict[tuple[int, int], int]()
        gap = list[int]()
        for number, ways in enumerate(self.cover.gaps):
            found = columns_of(self.cover, ways, self.limit)
            if not found:
                return None
            for one in found:
                members = [bit.bit_length() - 1 for bit in bits(one)]
                sets.append([pairs.setdefault((number, n), len(pairs) + 1) for n in members])
            gap += [number] * len(found)
            if len(sets) > MOST_COLUMNS:
                raise TooManyError
        width = max(map(len, sets))
        columns = np.array([one + [0] * (width - len(one)) for one in sets]).T.copy()
        offers = np.array([0, *(offer for _, offer in pairs)])
        among = np.bincount(offers[1:], minlength=len(self.prices))
        shares = (self.prices / np.maximum(among, 1))[offers]
        shares[0] = 0.0
        return Node(columns, np.array(gap), offers, shares, 0, 0)

    def _children(self, node: Node, steps: int) -> list[Node]:
        """The two sides of a choice, the likelier last; none if nothing cheaper is left."""
        node = node.compact()
        shares, often = self._raised(node, steps)
        left = self._possible(replace(node, shares=shares))
        if left is None:
            return []
        weight = np.bincount(left.offers, often, minlength=len(self.prices))
        there = np.unique(left.offers[left.columns[left.columns > 0]])
        number = int(there[np.argmax(weight[there] * self.prices[there])])
        return [one for one in (self._without(left, number), self._with(left, number)) if one]

    def _raised(self, node: Node, steps: int) -> tuple[Any, Any]:
        """Shares of a high bound, and how often each pair was among the cheapest columns."""
        shares = best = node.shares
        cheapest = Cheapest(self.prices, node)
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
            if step % _TRY == _TRY - 1:
                self._offer(frozenset([*_numbers(node.taken), *node.offers[members].tolist()]))
            way = used - over[node.offers]
            way[0] = 0.0
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

    def _possible(self, node: Node) -> Node | None:
        """The node less what its shares prove too dear; None if no cheaper answer is left.

        Left out are columns and offers with which the bound is too high, taken the offers without
        which it is.
        """
        counted, most = Counted(self.prices, node), self.limit * PARTS
        if not counted.keep(counted.of_columns() <= most):
            return None
        kept = counted.with_each() <= most
        fitting = kept[node.offers]
        fitting[0] = True
        if not counted.keep(fitting[counted.columns].all(axis=0)):
            return None
        needed = np.flatnonzero(counted.without_each() > most).tolist()
        left: Node | None = replace(node, columns=counted.columns, gap=counted.gap)
        for number in needed:
            left = left and self._with(left, number)
        return left

    def _without(self, node: Node, number: int) -> Node | None:
        """The node in which an offer is not taken; None if a gap stays open then."""
        kept = ~((node.offers[node.columns] == number) & (node.columns > 0)).any(axis=0)
        starts = starts_of(node.gap)
        if not np.logical_or.reduceat(kept, starts).all():
            return None
        return replace(node, columns=node.columns[:, kept], gap=node.gap[kept])

    def _with(self, node: Node, number: int) -> Node | None:
        """The node in which an offer is taken; None if that is an answer, or cannot be one."""
        taken, paid = node.taken | 1 << number, node.paid + self.cover.prices[number]
        if paid > self.limit or self._barred(taken):
            return None
        columns = np.where(
            (node.offers[node.columns] == number) & (node.columns > 0), 0, node.columns
        )
        closed = np.unique(node.gap[~columns.any(axis=0)])
        kept = ~np.isin(node.gap, closed)
        if not kept.any():
            self._offer(frozenset(_numbers(taken)))
            return None
        return replace(node, columns=columns[:, kept], gap=node.gap[kept], taken=taken, paid=paid)


def _numbers(mask: int) -> list[int]:
    return [bit.bit_length() - 1 for bit in bits(mask)]
