"""The search behind spares: one option of each class, at least cost, with gains that reach a goal.

A multiple-choice knapsack problem, solved exactly. The Lagrangian relaxation gives a multiplier
(what a unit of gain costs at the margin) and a base, the option of each class that is best at that
price. Classes are then opened one by one, those whose change costs nearest to the margin first, and
the sums of changes that no other dominates are carried on. A sum is dropped only when a lower bound
on all that can still come of it is dearer than the best answer known, so what is found is proved.
All gains are whole numbers: sums do not depend on their order, and ties are ties.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

# Bounds are floats; they may be out by less than this many minor units.
_SLACK = 1e-5


@dataclass(frozen=True, slots=True)
class Option:
    """So many pieces, what they cost in minor units and what they gain (never above 0)."""

    pieces: int
    cost: int
    gain: int


Class = Sequence[Option]
# Cost, gain and pieces added to the base, and how it came about.
_Trail = tuple["_Trail", int, int] | None
_State = tuple[int, int, int, _Trail]


def undominated(options: Class) -> tuple[Option, ...]:
    """The options that gain more than each cheaper one, in order of cost."""
    kept: list[Option] = []
    for option in sorted(options, key=lambda o: (o.cost, -o.gain, o.pieces)):
        if not kept or option.gain > kept[-1].gain:
            kept.append(option)
    return tuple(kept)


def hull(options: Class) -> tuple[int, ...]:
    """Of undominated options the indices of those that are best at some price of gain."""
    kept: list[int] = []
    for index, option in enumerate(options):
        while len(kept) > 1:
            a, b = options[kept[-2]], options[kept[-1]]
            if (b.cost - a.cost) * (option.gain - b.gain) < (option.cost - b.cost) * (
                b.gain - a.gain
            ):
                break
            kept.pop()
        kept.append(index)
    return tuple(kept)


def steps(classes: Sequence[Class]) -> list[tuple[float, int, int]]:
    """The steps up the hulls, cheapest gain first: its price, the class, the option reached."""
    found = []
    for number, options in enumerate(classes):
        corners = hull(options)
        for a, b in pairwise(corners):
            rise = options[b].gain - options[a].gain
            found.append(((options[b].cost - options[a].cost) / rise, number, b))
    return sorted(found)


def least(classes: Sequence[Class], goal: int) -> tuple[int, ...] | None:
    """Indices of the cheapest choice whose gains reach `goal`; None if none does.

    `classes` hold undominated options. Of equally cheap choices the one that gains most, then the
    one of fewest pieces is taken.
    """
    base = [0] * len(classes)
    gain = sum(options[0].gain for options in classes)
    if gain >= goal:
        return tuple(base)  # the cheapest option of a class is the only one at its cost
    if sum(options[-1].gain for options in classes) < goal:
        return None
    price = 0.0
    for slope, number, index in steps(classes):
        price = slope
        rise = classes[number][index].gain - classes[number][base[number]].gain
        if gain + rise >= goal:
            break
        gain += rise
        base[number] = index
    return _Core(classes, base, goal, price).search()


class _Core:
    """The search around a base that is best at the price `price` and just misses the goal."""

    def __init__(self, classes: Sequence[Class], base: list[int], goal: int, price: float) -> None:
        self.classes, self.base, self.price = classes, base, price
        chosen = [options[i] for options, i in zip(classes, base, strict=True)]
        self.cost = sum(option.cost for option in chosen)
        self.wanted = goal - sum(option.gain for option in chosen)  # above 0
        # Any choice that reaches the goal costs at least this.
        self.bound = self.cost + price * self.wanted
        # The best known: cost, -gain, pieces, all against the base; and its trail.
        self.best: tuple[float, int, int] = (math.inf, 0, 0)
        self.trail: _Trail = None
        self.changes = [
            [
                (o.cost - b.cost, o.gain - b.gain, o.pieces - b.pieces, index)
                for index, o in enumerate(options)
                if index != i
            ]
            for options, i, b in zip(classes, base, chosen, strict=True)
        ]

    def search(self) -> tuple[int, ...]:
        """The best choice."""
        self._first()
        order = self._kept()
        up, down = self._margins(order)
        states: list[_State] = [(0, 0, 0, None)]
        for place, number in enumerate(order):
            states = self._open(number, states, up[place + 1], down[place + 1])
            if not states:
                break
        found = list(self.base)
        trail = self.trail
        while trail is not None:
            trail, number, index = trail
            found[number] = index
        return tuple(found)

    def _offer(self, cost: int, gain: int, pieces: int, trail: _Trail) -> None:
        """Takes a sum as the best known if it reaches the goal and beats it."""
        if gain >= self.wanted and (cost, -gain, pieces) < self.best:
            self.best, self.trail = (cost, -gain, pieces), trail

    def _first(self) -> None:
        """A first answer: the cheapest single change that reaches the goal (there is one)."""
        for number, changes in enumerate(self.changes):
            for cost, gain, pieces, index in changes:
                self._offer(cost, gain, pieces, (None, number, index))

    def _kept(self) -> list[int]:
        """Drops options that no answer as good as the best known has; the classes left, in order.

        In order of how near to the margin the price of their nearest change is.
        """
        room = self.cost + self.best[0] - self.bound + _SLACK
        order = []
        for number, changes in enumerate(self.changes):
            changes[:] = [c for c in changes if c[0] - self.price * c[1] <= room]
            if changes:
                near = min(abs(math.log(c[0] / c[1] / self.price)) for c in changes)
                order.append((near, number))
        return [number for _, number in sorted(order)]

    def _margins(self, order: list[int]) -> tuple[list[float], list[float]]:
        """From each place on, the least price of gaining and the most saved by gaining less."""
        up, down = [math.inf], [0.0]
        for number in reversed(order):
            prices = [(c[0] / c[1], c[1] > 0) for c in self.changes[number]]
            up.append(min([up[-1], *(price for price, more in prices if more)]))
            down.append(max([down[-1], *(price for price, more in prices if not more)]))
        return up[::-1], down[::-1]

    def _open(self, number: int, states: list[_State], up: float, down: float) -> list[_State]:
        """All sums with each change of one class, less what is dominated or cannot win."""
        grown = list(states)
        for cost, gain, pieces, index in self.changes[number]:
            for state in states:
                new = (
                    state[0] + cost,
                    state[1] + gain,
                    state[2] + pieces,
                    (state[3], number, index),
                )
                if new[1] >= self.wanted:
                    self._offer(*new)
                grown.append(new)
        grown.sort(key=_order)
        # To win, a sum must become cheaper than the best known and reach the goal, or become as
        # cheap and gain as much as it.
        goals = ((self.wanted, self.best[0] - 1), (-self.best[1], self.best[0]))
        kept: list[_State] = []
        most: int | None = None
        for state in grown:
            if most is not None and state[1] <= most:
                continue  # dominated
            most = state[1]
            for goal, limit in goals:
                short = goal - most
                rest = short * (down if short <= 0 else up)
                if state[0] + rest <= limit + _SLACK:
                    kept.append(state)
                    break
        return kept


def _order(state: _State) -> tuple[int, int, int]:
    return state[0], -state[1], state[2]
