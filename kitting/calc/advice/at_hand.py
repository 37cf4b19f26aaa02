"""What is at hand for one car: fit to use on its day, and nobody else's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from kitting.calc.stock.allocation import Lot, usable
from kitting.facts.words import LotState


@dataclass(frozen=True, slots=True)
class AtHand:
    """What of one item is there for a car, in thousandths.

    `usable` may be fitted on the day; `coming` of it is still on its way. `unknown` is as free and
    of unknown age: it is not counted, for a person has to judge it first.
    """

    usable: int = 0
    coming: int = 0
    unknown: int = 0


@dataclass(frozen=True, slots=True)
class Own:
    """What a booking has of one item, in thousandths: promised by lot, picked, coming in time."""

    waiting: Mapping[int, int]
    picked: Iterable[tuple[LotState, int]] = ()
    coming: int = 0


def at_hand(lots: Iterable[Lot], own: Own, on: date) -> AtHand:
    """What of one item may be fitted on a day, and is free or the booking's own.

    What others are promised of a lot that may not be fitted has to be met from the rest.
    """
    mine = free = unknown = 0
    for lot in lots:
        waiting = own.waiting.get(lot.key, 0)
        if not usable(lot, on):
            free -= lot.promised - waiting
        elif lot.age_known:
            mine += waiting
            free += lot.quantity - lot.promised
        else:
            unknown += lot.quantity - lot.promised + waiting
    for state, amount in own.picked:
        mine += amount if state is LotState.GOOD else 0
        unknown += amount if state is LotState.AGE_UNKNOWN else 0
    return AtHand(mine + own.coming + max(0, free), own.coming, max(0, unknown))
