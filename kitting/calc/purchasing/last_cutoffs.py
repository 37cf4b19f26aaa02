"""The last cut-offs: how long several orders may wait and all still come in time by a chance."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from math import prod

from kitting.calc.purchasing.delivery import Terms, chance_by, next_cutoff

# How far rounding may move a chance that equals the one asked for.
_ROUNDING = 1e-12


def last_cutoffs(
    now: datetime, orders: Sequence[Terms], by: date, wanted: float
) -> tuple[datetime, ...] | None:
    """For each order the latest cut-off before which to place it.

    With every order placed before its own cut-off, all have come by the end of the day `by` with
    the chance `wanted` (above 0). The orders are put off in turn, one cut-off at a time, for as
    long as that holds. None where it does not hold even if all are placed now.
    """
    moments = [now] * len(orders)
    chances = [chance_by(now, terms, by) for terms in orders]
    if wanted <= 0 or prod(chances) < wanted - _ROUNDING:
        return None
    waiting = set(range(len(orders)))
    while waiting:
        for place in sorted(waiting):
            later = next_cutoff(moments[place], orders[place])
            chance = chance_by(later, orders[place], by)
            others = prod(chances[:place]) * prod(chances[place + 1 :])
            if others * chance < wanted - _ROUNDING:
                waiting.discard(place)
                continue
            moments[place], chances[place] = later, chance
    return tuple(next_cutoff(moment, terms) for moment, terms in zip(moments, orders, strict=True))
