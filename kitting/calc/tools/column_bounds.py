"""Bounds of purchases by the prices of columns, in parts so small that they are whole numbers.

The price of an offer is shared out among the gaps; with any shares, the cheapest columns together
are a bound from below (Lagrangian relaxation).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

PARTS = 1024  # of a minor unit, in which shares of a price are counted
_NEVER = 2**50  # parts: what closes no gap, above any money
Numbers = np.ndarray[tuple[int, ...], np.dtype[np.int64]]
Money = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True, slots=True)
class Node:
    """What is left to decide: columns (rows of pairs of a gap and an offer), gap by gap.

    Per pair its offer, by number, and its share of that price. Pair 0 stands for an offer that is
    taken already.
    """

    columns: Numbers
    gap: Numbers
    offers: Numbers
    shares: Money
    taken: int
    paid: int

    def compact(self) -> Node:
        """The same with only those pairs that are in a column."""
        there = np.zeros(len(self.offers), dtype=bool)
        there[self.columns] = True
        there[0] = True
        return replace(
            self,
            columns=(there.cumsum() - 1)[self.columns],
            offers=self.offers[there],
            shares=self.shares[there],
        )


def starts_of(gap: Numbers) -> Numbers:
    """Where the columns of each gap begin; they stand gap by gap."""
    return np.concatenate(([0], (gap[1:] != gap[:-1]).nonzero()[0] + 1))


def _within(starts: Numbers, columns: int) -> Numbers:
    """The place of its gap among the gaps of a node, for each column."""
    within = np.zeros(columns, dtype=np.int64)
    within[starts[1:]] = 1
    return within.cumsum()


class Cheapest:
    """The cheapest column of each gap of a node, for any shares."""

    def __init__(self, prices: Numbers, node: Node) -> None:
        self.prices, self.node = prices, node
        self.starts = starts_of(node.gap)
        self.within = _within(self.starts, len(node.gap))

    def at(self, shares: Any) -> tuple[float, Any, Any]:
        """The bound, the offers whose shares exceed their price, the pairs of those columns."""
        columns = self.node.columns
        worth = np.add.reduce(shares[columns], 0)
        least = np.minimum.reduceat(worth, self.starts)
        spare = self.prices - np.bincount(self.node.offers, shares, minlength=len(self.prices))
        over = spare < 0
        cheap = (worth <= least[self.within]).nonzero()[0]
        first = columns[:, cheap[cheap.searchsorted(self.starts)]]
        return self.node.paid + least.sum() + spare[over].sum(), over, first[first > 0]


class Counted:
    """Bounds of a node for its shares in whole parts of a minor unit, so that they are exact."""

    def __init__(self, prices: Numbers, node: Node) -> None:
        self.offers, self.prices = node.offers, prices
        shared = np.minimum(node.shares, self.prices[self.offers])
        self.parts = np.floor(shared * PARTS).astype(np.int64)
        self.spare = self.prices * PARTS - self._by_offer(self.parts)
        self.paid = node.paid * PARTS + int(self.spare[self.spare < 0].sum())
        self.columns, self.gap = node.columns, node.gap
        self._count(self.parts[node.columns].sum(axis=0))

    def _by_offer(self, of_pairs: Any) -> Any:
        summed = np.zeros(len(self.prices), dtype=np.int64)
        np.add.at(summed, self.offers, of_pairs)
        return summed

    def _count(self, worth: Any) -> None:
        self.starts = starts_of(self.gap)
        self.within = _within(self.starts, len(self.gap))
        self.worth, least = worth, np.minimum.reduceat(worth, self.starts)
        self.more = worth - least[self.within]  # than the cheapest column of the gap
        self.bound = self.paid + int(least.sum())

    def keep(self, kept: Any) -> bool:
        """Leave all other columns out; False if that is all of a gap."""
        if not kept.all():
            if not np.logical_or.reduceat(kept, self.starts).all():
                return False
            self.columns, self.gap = self.columns[:, kept], self.gap[kept]
            self._count(self.worth[kept])
        return True

    def of_columns(self) -> Any:
        """A bound for each column: of every purchase that has all of it."""
        rest = np.maximum(self.spare, 0)[self.offers]
        rest[0] = 0
        return self.bound + self.more + rest[self.columns].sum(axis=0)

    def with_each(self) -> Any:
        """A bound for each offer: of every purchase that has it.

        It is paid for, so columns with it cost less by its share: as far as that makes up for what
        they cost more than the cheapest of their gap.
        """
        dearer = np.full(len(self.parts), _NEVER)
        for row in self.columns:
            np.minimum.at(dearer, row, self.more)
        dearer[0] = 0
        return (
            self.bound + np.maximum(self.spare, 0) + self._by_offer(np.minimum(self.parts, dearer))
        )

    def without_each(self) -> Any:
        """A bound for each offer: of every purchase that lacks it.

        Gaps whose cheapest column has it take the cheapest of the others.
        """
        least = (self.more <= 0).nonzero()[0]
        rises = np.zeros(len(self.parts), dtype=np.int64)
        for row in self.columns[:, least[least.searchsorted(self.starts)]]:
            having = (self.columns == row[self.within]).any(axis=0)
            others = np.minimum.reduceat(np.where(having, _NEVER, self.more), self.starts)
            rises[row] = others
        rises[0] = 0
        return self.bound - np.minimum(self.spare, 0) + self._by_offer(rises)
