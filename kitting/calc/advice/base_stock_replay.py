"""Replay: what base-stock levels would have done to the jobs of the past, day by day."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from kitting.errors import FigureError


class Use(NamedTuple):
    """A row of history: on `day` (a number) the job `job` took `quantity` pieces of `item`."""

    day: int
    job: str
    item: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Replay:
    """Outcome of a replay.

    `jobs`: how many; `delayed`: those, as (day, job), that found a piece missing. `value`: mean
    money on the shelf at the end of a day in minor units, None where a cost is not known.
    `scrapped`: pieces thrown away for age, per item that lost any.
    """

    jobs: int
    delayed: tuple[tuple[int, str], ...]
    value: int | None
    scrapped: Mapping[str, int]


def replay(
    history: Iterable[Use | tuple[int, str, str, int]],
    levels: Mapping[str, int],
    lead_days: int | Callable[[int], int],
    review: int = 1,
    costs: Mapping[str, int] | None = None,
    shelf_days: Mapping[str, int] | None = None,
) -> Replay:
    """Play a base-stock policy against history; nothing is left to chance.

    A job is all rows of one (day, job). Stock begins full and fresh on the first day. At the end
    of every `review`-th day each item is ordered up to its level, which arrives `lead_days` (at
    least 1) later before work begins. As a function, `lead_days` gives the later day on which what
    is ordered on a day arrives: suppliers count working days. A job that finds too little takes
    what there is, counts as delayed and gets the rest from the next arrivals. Oldest pieces go
    first; a piece is thrown away `shelf_days` after its arrival, before work. An item without a
    level has level 0: it is ordered for the job, which is delayed. Jobs of one day come in the
    order given. FigureError for figures that make no sense.
    """
    if review < 1 or (isinstance(lead_days, int) and lead_days < 1):
        raise FigureError("Lead days and review days. Give 1 or more of each")
    arrives = (lambda day: day + lead_days) if isinstance(lead_days, int) else lead_days
    jobs: dict[tuple[int, str], None] = {}
    takes: dict[str, dict[int, list[tuple[tuple[int, str], int]]]] = {}
    for day, job, item, quantity in history:
        if quantity < 1:
            raise FigureError(
                "Day {day}, job {job}: {quantity} of {item}. Give 1 or more",
                day=day,
                job=job,
                quantity=quantity,
                item=item,
            )
        jobs[day, job] = None
        takes.setdefault(item, {}).setdefault(day, []).append(((day, job), quantity))
    if not jobs:
        return Replay(0, (), None if costs is None else 0, {})
    days = [day for day, _ in jobs]
    span = (min(days), max(days))
    late: set[tuple[int, str]] = set()
    money: Fraction | None = Fraction(0)
    scrapped = {}
    for item in sorted(takes.keys() | levels.keys()):
        level, life = levels.get(item, 0), (shelf_days or {}).get(item)
        if level < 0 or (life is not None and life < 1):
            raise FigureError(
                "{item}: level or shelf days. Give a level from 0, a life from 1", item=item
            )
        shelf = _Shelf(level, arrives, review, span, life)
        late |= shelf.play(takes.get(item, {}))
        if shelf.scrapped:
            scrapped[item] = shelf.scrapped
        cost = (costs or {}).get(item)
        if cost is None and level:
            money = None
        elif money is not None and cost is not None:
            money += Fraction(shelf.piece_days * cost, span[1] - span[0] + 1)
    delayed = tuple(job for job in sorted(jobs, key=lambda job: job[0]) if job in late)
    value = None if money is None or costs is None else round(money)
    return Replay(len(jobs), delayed, value, scrapped)


class _Shelf:
    """One item: pieces by day of arrival, orders under way, and what jobs still wait for."""

    def __init__(
        self,
        level: int,
        arrives: Callable[[int], int],
        review: int,
        span: tuple[int, int],
        life: int | None,
    ) -> None:
        self.level, self.arrives, self.review, self.life = level, arrives, review, life
        self.first, self.last = span
        self.lots: list[list[int]] = [[self.first, level]] if level else []
        self.coming: dict[int, int] = {}
        self.owed = 0
        self.scrapped = 0
        self.piece_days = 0

    def play(self, takes: Mapping[int, list[tuple[tuple[int, str], int]]]) -> set[tuple[int, str]]:
        """Go through the days on which something happens; returns the jobs left waiting."""
        late: set[tuple[int, str]] = set()
        days = [*takes, self.first]
        if self.lots and self.life is not None:
            days.append(self.first + self.life)
        heapq.heapify(days)
        before = self.first
        while days and days[0] <= self.last:
            day = heapq.heappop(days)
            self.piece_days += self._held() * (day - before)
            before = day
            self._arrive(day, days)
            for job, quantity in takes.get(day, ()) if day >= self.first else ():
                if self._take(quantity):
                    late.add(job)
            while days and days[0] == day:
                heapq.heappop(days)
            self._order(day, days)
        self.piece_days += self._held() * (self.last + 1 - before)
        return late

    def _held(self) -> int:
        return sum(pieces for _, pieces in self.lots)

    def _arrive(self, day: int, days: list[int]) -> None:
        """What is due comes in, what waits is served, what is too old goes."""
        came = self.coming.pop(day, 0)
        served = min(came, self.owed)
        self.owed -= served
        if came > served:
            self.lots.append([day, came - served])
            if self.life is not None:
                heapq.heappush(days, day + self.life)
        while self.lots and self.life is not None and self.lots[0][0] + self.life <= day:
            self.scrapped += self.lots.pop(0)[1]

    def _take(self, quantity: int) -> int:
        """Take the oldest pieces; returns how many are missing, which are owed."""
        while quantity and self.lots:
            taken = min(quantity, self.lots[0][1])
            quantity -= taken
            self.lots[0][1] -= taken
            if not self.lots[0][1]:
                self.lots.pop(0)
        self.owed += quantity
        return quantity

    def _order(self, day: int, days: list[int]) -> None:
        """At the next review, order up to the level."""
        wait = -(day - self.first) % self.review
        if wait:
            heapq.heappush(days, day + wait)
            return
        short = self.level + self.owed - self._held() - sum(self.coming.values())
        if short > 0:
            due = self.arrives(day)
            if due <= day:
                raise FigureError(
                    "What is ordered on day {day} arrives on {due}. Give a later day",
                    day=day,
                    due=due,
                )
            # What is ordered over a weekend comes with what was ordered before it.
            self.coming[due] = self.coming.get(due, 0) + short
            heapq.heappush(days, due)
