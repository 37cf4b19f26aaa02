"""Stock levels: how many of each item a branch keeps so that jobs are not delayed.

Base stock: what is used is ordered at once, so the stock of an item is its level less what was
used over its lead time. Use is taken as Poisson: jobs come independently of one another. The
chance that no item is short is the product over the items of P(use over lead time <= level): at
any moment nothing is owed to a job. Items hardly ever used may so stay at level 0.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from kitting.calc.advice.poisson import SHADE, log_of, table
from kitting.errors import FigureError, KittingError

_STATES = 20_000  # of the exact search; beyond them the gap is reported
_OPEN = 400  # items whose level the exact search may leave open

_State = tuple[int, float, tuple[tuple[int, int], ...]]  # money, ln chance, item and level


@dataclass(frozen=True, slots=True)
class ItemDemand:
    """Use of an item. `mean`: jobs that take it over its lead time; each takes `per_job` pieces.

    `cost`: minor units per piece kept, at least 1. `use_in_life`: jobs expected to take it within
    its shelf life; without it the mean over the lead time stands in, which can only refuse more
    (an item whose life is shorter than its lead time cannot be kept at all).
    """

    key: str
    mean: float
    cost: int
    per_job: int = 1
    short_life: bool = False
    use_in_life: float | None = None


@dataclass(frozen=True, slots=True)
class Refusal:
    """Fewer than 1 job (`use`) is expected to take an item before it is too old.

    Counted over its shelf life; where use in that is unknown (`life_known` False), over its lead
    time.
    """

    use: float
    life_known: bool


@dataclass(frozen=True, slots=True)
class Levels:
    """Pieces per item, money tied up (minor units) and the chance that no kept item is short.

    `gap`: how far the answer can be from the best at most: minor units of `levels_for_target`,
    chance of `levels_for_budget`; 0 is proven best (to 1e-12 in the logarithm of the chance).
    `refused`: items that are not to be kept, with the reason; they do not count in `chance`.
    """

    levels: Mapping[str, int]
    value: int
    chance: float
    gap: float = 0.0
    refused: Mapping[str, Refusal] = field(default_factory=dict)


class _Search:
    """Marginal analysis: pieces in the order of what they gain per money, then an exact search.

    The logarithm of a Poisson cdf is concave, so the beginnings of that order are the best for
    what they cost, and the first piece that goes too far gives a bound on any answer.
    """

    def __init__(self, items: Sequence[ItemDemand]) -> None:
        self.refused = {item.key: why for item in items if (why := _refusal(item))}
        self.every = items
        self.items = [item for item in items if item.key not in self.refused]
        tables = [table(item.mean) for item in self.items]
        self.gains = [gains for gains, _ in tables]
        self.logs = [logs for _, logs in tables]
        self.price = [item.cost * item.per_job for item in self.items]
        self.at = [0] * len(self.items)

    def log_chance(self) -> float:
        return math.fsum(logs[k] for logs, k in zip(self.logs, self.at, strict=True))

    def spent(self) -> int:
        return sum(price * k for price, k in zip(self.price, self.at, strict=True))

    def answer(self, gap: float) -> Levels:
        kept = {i.key: k * i.per_job for i, k in zip(self.items, self.at, strict=True)}
        levels = {item.key: kept.get(item.key, 0) for item in self.every}
        return Levels(levels, self.spent(), math.exp(self.log_chance()), gap, self.refused)

    def advance(self, goal: float, budget: float) -> float | None:
        """Take pieces until the next would pass goal or budget; what that one gains per money.

        None if the pieces run out before.
        """
        theta = max((g[0] / p for g, p in zip(self.gains, self.price, strict=True) if g), default=0)
        log_chance, spent = self.log_chance(), self.spent()
        while theta > 0.0:
            theta /= 8.0
            bucket, gained, paid = self._bucket(theta)
            if log_chance + gained >= goal - 1e-6 or spent + paid > budget:
                bucket.sort(key=lambda step: (-step[0], step[1], step[2]))
                log_chance = self.log_chance()
                for ratio, item, k in bucket:
                    log_chance += self.gains[item][k]
                    spent += self.price[item]
                    if log_chance >= goal - SHADE or spent > budget:
                        return ratio
                    self.at[item] = k + 1
            else:
                for _, item, k in bucket:
                    self.at[item] = k + 1
                log_chance += gained
                spent += paid
            if theta < 1e-40:
                break
        return None

    def _bucket(self, theta: float) -> tuple[list[tuple[float, int, int]], float, int]:
        bucket, gained, paid = [], 0.0, 0
        for item, (gains, price, k) in enumerate(zip(self.gains, self.price, self.at, strict=True)):
            least, end = theta * price, len(gains)
            while k < end and gains[k] >= least:
                bucket.append((gains[k] / price, item, k))
                gained += gains[k]
                paid += price
                k += 1
        return bucket, gained, paid

    def reach(self, goal: float) -> None:
        """From just short of the goal to it: the cheapest single piece, then what can go again."""
        need = goal - SHADE - self.log_chance()
        enough = [
            (self.price[i], i)
            for i, (gains, k) in enumerate(zip(self.gains, self.at, strict=True))
            if k < len(gains) and gains[k] >= need
        ]
        _, best = min(enough)
        self.at[best] += 1
        spare = self.log_chance() - goal + SHADE
        loose = [i for i, k in enumerate(self.at) if k and self.gains[i][k - 1] <= spare]
        for i in sorted(loose, key=lambda i: (-self.price[i], i)):
            lost = self.gains[i][self.at[i] - 1]
            if lost <= spare:
                self.at[i] -= 1
                spare -= lost

    def fill(self, budget: int) -> None:
        """Spend what is left on the pieces that still fit, the most useful first."""
        left = budget - self.spent()
        queue = [
            (-gains[k] / price, i)
            for i, (gains, price, k) in enumerate(zip(self.gains, self.price, self.at, strict=True))
            if k < len(gains) and price <= left
        ]
        heapq.heapify(queue)
        while queue:
            _, i = heapq.heappop(queue)
            if self.price[i] <= left:
                left -= self.price[i]
                self.at[i] += 1
                if self.at[i] < len(self.gains[i]):
                    heapq.heappush(queue, (-self.gains[i][self.at[i]] / self.price[i], i))

    def near(self, base: Sequence[int], theta: float, slack: float) -> list[_State] | None:
        """Every undominated change from `base` that the bound does not rule out.

        A change costs more than it brings at the price 1 / theta, by its regret; regrets add up,
        and beyond `slack` nothing better can follow. None if there are too many.
        """
        moves = []
        for i, k in enumerate(base):
            found = [*self._moves(i, k, 1, theta, slack), *self._moves(i, k, -1, theta, slack)]
            if found:
                moves.append(found)
                if len(moves) > _OPEN:
                    return None
        states: list[_State] = [(0, 0.0, ())]
        for found in moves:
            grown = states + [
                (paid + cost, log_chance + gain, (*made, (item, k)))
                for paid, log_chance, made in states
                for cost, gain, item, k in found
                if (paid + cost) - (log_chance + gain) / theta <= slack
            ]
            grown.sort(key=lambda state: (state[0], -state[1]))
            states, best = [], -math.inf
            for state in grown:
                if state[1] > best:
                    best = state[1]
                    states.append(state)
            if len(states) > _STATES:
                return None
        return states

    def _moves(
        self, item: int, start: int, way: int, theta: float, slack: float
    ) -> list[tuple[int, float, int, int]]:
        gains, price = self.gains[item], self.price[item]
        found = []
        k, gain = start, 0.0
        while (k < len(gains)) if way > 0 else (k > 0):
            gain += gains[k] if way > 0 else -gains[k - 1]
            k += way
            cost = (k - start) * price
            if cost - gain / theta > slack:  # regrets grow with the distance
                break
            found.append((cost, gain, item, k))
        return found


def _apply(search: _Search, base: list[int], state: _State) -> None:
    search.at = list(base)
    for item, k in state[2]:
        search.at[item] = k


def _refusal(item: ItemDemand) -> Refusal | None:
    """Why an item is not to be kept, if so. FigureError for figures that make no sense."""
    if item.cost < 1 or item.per_job < 1:
        raise FigureError("{key}: cost and pieces per job must be 1 or more", key=item.key)
    use = item.mean if item.use_in_life is None else item.use_in_life
    if not item.short_life or use >= 1.0:
        return None
    return Refusal(use, life_known=item.use_in_life is not None)


def _distinct(items: Sequence[ItemDemand]) -> None:
    if len({item.key for item in items}) < len(items):
        raise KittingError("an item is given twice in one branch. Add up its use")


def levels_for_target(items: Sequence[ItemDemand], target: float) -> Levels:
    """The least money with which, at any moment, no item is owed to a job with chance `target`.

    Proven best where the search stays small (gap 0); otherwise marginal analysis on the logarithm
    of the chance, and `gap` says by how many minor units it may exceed the best. Raises
    FigureError for a target that is not between 0 and 1 or for figures that make no sense.
    """
    _distinct(items)
    goal = log_of(target)
    search = _Search(items)
    if search.log_chance() >= goal - SHADE:
        return search.answer(0.0)
    theta = search.advance(goal, math.inf)
    if theta is None:
        raise KittingError(
            "the target {target} is too near to 1. Ask for a little less", target=target
        )
    base, spent, log_chance = list(search.at), search.spent(), search.log_chance()
    search.reach(goal)
    bound = spent + (goal - SHADE - log_chance) / theta  # nothing that reaches the goal costs less
    gap = search.spent() - math.ceil(bound - 1e-6)
    if gap > 0:
        states = search.near(base, theta, search.spent() - 1 - bound + 1e-6)
        if states is not None:
            gap = 0
            reaching = [s for s in states if log_chance + s[1] >= goal - SHADE]
            if reaching and spent + reaching[0][0] < search.spent():
                _apply(search, base, reaching[0])
    return search.answer(float(max(gap, 0)))


def levels_for_budget(items: Sequence[ItemDemand], budget: int) -> Levels:
    """The levels worth at most `budget` (minor units) with the highest chance of no item short.

    Proven best where the search stays small (gap 0); otherwise `gap` says by how much the best
    chance may be higher. Raises FigureError for figures that make no sense.
    """
    _distinct(items)
    if budget < 0:
        raise FigureError("a budget of {budget} must not be negative", budget=budget)
    search = _Search(items)
    theta = search.advance(math.inf, budget)
    if theta is None:
        return search.answer(0.0)
    base, spent, log_chance = list(search.at), search.spent(), search.log_chance()
    search.fill(budget)
    bound = log_chance + theta * (budget - spent)
    found = search.log_chance()
    gap = math.exp(min(bound, 0.0)) - math.exp(found)
    if bound - found > SHADE:
        states = search.near(base, theta, (budget - spent) + (log_chance - found) / theta + 1e-6)
        if states is not None:
            gap = 0.0
            best = max((s for s in states if spent + s[0] <= budget), key=lambda s: s[1])
            if log_chance + best[1] > found:
                _apply(search, base, best)
    return search.answer(max(gap, 0.0))


@dataclass(frozen=True, slots=True)
class Pooling:
    """Levels of each branch on its own and of all on one stock, at the same target.

    `saved`: minor units less tied up by the common stock; below 0 it would tie up more. Carriage
    and time between branches are not counted.
    """

    separate: tuple[Levels, ...]
    together: Levels
    saved: int


def pooled(branches: Sequence[Sequence[ItemDemand]], target: float = 0.95) -> Pooling:
    """What branches tie up each for itself, and what they would on one stock of summed use.

    The target is met by each branch on its own, and by the common stock. Short-life use adds up
    too, so that what no branch may keep, all together may. Raises KittingError where an item
    differs between branches in cost, pieces per job or shelf life; FigureError.
    """
    separate = tuple(levels_for_target(items, target) for items in branches)
    summed: dict[str, ItemDemand] = {}
    for item in (item for items in branches for item in items):
        other = summed.get(item.key)
        if other is None:
            summed[item.key] = item
            continue
        if (other.cost, other.per_job, other.short_life) != (
            item.cost,
            item.per_job,
            item.short_life,
        ):
            raise KittingError(
                "{key} differs between branches. Give the same cost and life", key=item.key
            )
        lives = (other.use_in_life, item.use_in_life)
        life = None if lives[0] is None or lives[1] is None else lives[0] + lives[1]
        summed[item.key] = ItemDemand(
            item.key, other.mean + item.mean, item.cost, item.per_job, item.short_life, life
        )
    together = levels_for_target(list(summed.values()), target)
    saved = sum(levels.value for levels in separate) - together.value
    return Pooling(separate, together, saved)
