"""Spares against trying every choice; spares and levels of a large garage against bare imports."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from itertools import product

from kitting.calc.advice.base_stock import ItemDemand, levels_for_target
from kitting.calc.advice.looks import Looks
from kitting.calc.advice.spares import Choice, Line, cheapest, demand

from .harness import Name, Row, by_turns
from .setting import Setting
from .startup import BARE, bare

TARGET = 0.99


def lines(count: int, most: int, rng: random.Random) -> list[Line]:
    """Inspected lines that differ in pieces, chance and cost; half of them fail together."""
    found = []
    for n in range(count):
        looks = Looks(rng.randint(1, most), rng.uniform(0.01, 0.3), weight=10.0 if n % 2 else None)
        cost = rng.randint(20, 4000)
        found.append(Line(n, (looks,), tuple(cost * k for k in range(looks.most + 1))))
    return found


def every_choice(asked: Sequence[Line], target: float) -> tuple[int, float]:
    """Cost and chance of the best of all choices: the cheapest, then the surest."""
    chances = [[math.fsum(demand(line)[: k + 1]) for k in range(line.pieces + 1)] for line in asked]
    best = (math.inf, 0.0)
    for choice in product(*(range(line.pieces + 1) for line in asked)):
        chance = math.prod(found[k] for found, k in zip(chances, choice, strict=True))
        if chance >= target:
            cost = sum(line.costs[k] for line, k in zip(asked, choice, strict=True))
            if (cost, -chance) < (best[0], -best[1]):
                best = (cost, chance)
    return int(best[0]), best[1]


def found(asked: Sequence[Line], target: float) -> Choice:
    """Our choice, which is there."""
    choice = cheapest(asked, target)
    assert choice is not None
    return choice


def _enumerated(setting: Setting) -> Iterator[tuple[int, Name]]:
    for count in setting.sizes(4, 6, 8):
        yield count, ("spares", f"3 jobs of {count} lines", "every choice tried")


def _exact(setting: Setting) -> tuple[int, Name]:
    count = 50 if setting.quick else 500
    return count, ("spares, exact", f"{count} lines, {TARGET:.0%}", BARE)


def _levels(setting: Setting) -> tuple[int, int, Name]:
    items, branches = (200, 2) if setting.quick else (20_000, 50)
    return items, branches, ("levels for 95 %", f"{items:,} items, {branches} branches", BARE)


def names(setting: Setting) -> Iterator[Name]:
    """What the rows are called."""
    for _, name in _enumerated(setting):
        yield name
    yield _exact(setting)[-1]
    yield _levels(setting)[-1]


def run(setting: Setting) -> Iterator[Row]:
    """The same answer as of every choice; then sizes that no enumeration reaches."""
    rng = random.Random(1)
    for count, name in _enumerated(setting):
        cases = [lines(count, 4, rng) for _ in range(3)]
        for asked in cases:
            ours, (cost, chance) = found(asked, TARGET), every_choice(asked, TARGET)
            if ours.cost != cost or not math.isclose(ours.chance, chance, rel_tol=1e-9):
                raise AssertionError(f"{ours} is not the best of all: {cost}, {chance}")
        pairs = by_turns(
            lambda cases=cases: [found(asked, TARGET) for asked in cases],  # type: ignore[misc]
            lambda cases=cases: [every_choice(asked, TARGET) for asked in cases],  # type: ignore[misc]
            min(setting.runs, 3),
            warm=False,
        )
        yield pairs.row(*name, 1.0)
    count, name = _exact(setting)
    inspected = lines(count, 6, rng)
    pairs = by_turns(lambda: found(inspected, TARGET), bare(setting.folder), setting.runs)
    yield pairs.row(*name)
    items, branches, name = _levels(setting)
    used = [
        [
            ItemDemand(f"i{n}", rng.choice((0.05, 0.1, 0.3, 1.2, 4.0)), rng.randint(10, 9000))
            for n in range(items)
        ]
        for _ in range(branches)
    ]
    pairs = by_turns(
        lambda: [levels_for_target(held, 0.95) for held in used],
        bare(setting.folder),
        1,
        warm=False,
    )
    yield pairs.row(*name)
