"""How much to get for each of several days, where an opened pack keeps only so long."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kitting.calc.stock.allocation import packs_needed


@dataclass(frozen=True, slots=True)
class Pack:
    """What a pack of an item holds, in thousandths, and how many days it keeps once opened."""

    holds: int
    opened_life_days: int


def to_get(
    short: Mapping[int, Sequence[tuple[date, int]]],
    packs: Mapping[int, Pack],
    days: Sequence[date],
) -> tuple[dict[int, int], ...]:
    """How much of each item has to be got for each day, so that all until then is enough.

    `short` has what is lacking by item, each with its day; `packs` the items that spoil once they
    are opened. More where a pack opened for one is late for another.
    """
    found: tuple[dict[int, int], ...] = tuple({} for _ in days)
    for item, uses in short.items():
        before = 0
        for place, day in enumerate(days):
            until = [use for use in uses if use[0] <= day]
            least = sum(amount for _, amount in until)
            if (pack := packs.get(item)) is not None:
                opened = packs_needed(until, pack.holds, pack.opened_life_days)
                if opened > -(-least // pack.holds):
                    least = opened * pack.holds
            if least > before:
                found[place][item] = least - before
            before = max(before, least)
    return found
