"""What an order comes to: the one place where its total is reckoned, from what became of it.

Charged is what has come usable and what is still to come, with the cores of both. What will not
come is not: lost, or not there yet when the order was cancelled. Carriage is owed where anything
came or is still to come. What was credited goes off, but for goods that came unusable: their price
is off already while they are lacking, and what is sent in their place is charged in their stead.
All sums are whole minor units of the currency of the order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Charge:
    """A line as ordered and what became of it: `price` and `core` of a pack in minor units.

    `ordered`, `received` and `lost` are in thousandths of the item's unit. `credited` is what was
    credited for goods of it that came unusable.
    """

    packs: int
    price: int
    core: int | None
    ordered: int
    received: int
    lost: int
    credited: int = 0

    def share(self, quantity: int) -> int:
        """What so much of the line is charged with, its cores with it; rounded down."""
        return self.packs * (self.price + (self.core or 0)) * quantity // self.ordered

    def goods(self, quantity: int) -> int:
        """What so much of the line is charged with, without cores; rounded down."""
        return self.packs * self.price * quantity // self.ordered

    def cores(self, quantity: int) -> int:
        """The cores of so much of the line; rounded down."""
        return self.packs * (self.core or 0) * quantity // self.ordered


@dataclass(frozen=True, slots=True)
class OrderSums:
    """What an order comes to, part by part: `total` is what is to be paid after all of it.

    Off go `lost`, what will not come and is not credited, and `credited`. `again` is what is
    charged once more for what is sent in place of goods that were credited. `taxed` is what tax
    goes with: goods and carriage of what came or is still to come, without cores and credits.
    """

    goods: int
    carriage: int
    cores: int
    lost: int
    credited: int
    again: int
    taxed: int

    @property
    def total(self) -> int:
        """What is to be paid."""
        return self.goods + self.carriage + self.cores - self.lost - self.credited + self.again


def order_sums(
    lines: Sequence[Charge], carriage: int, *, came: bool, cancelled: bool, credited: int
) -> OrderSums:
    """What an order comes to.

    `came` says whether anything of it came, usable or not; `credited` is all that was credited,
    that of the lines for unusable goods with it.

    >>> nuts = Charge(packs=4, price=120, core=None, ordered=4000, received=3000, lost=1000)
    >>> order_sums([nuts], 0, came=True, cancelled=False, credited=0).total
    360
    >>> order_sums([nuts], 0, came=True, cancelled=True, credited=0).taxed
    360
    """
    coming = not cancelled and any(one.ordered > one.received + one.lost for one in lines)
    gone = [one.ordered - one.received if cancelled else one.lost for one in lines]
    off = [one.share(some) for one, some in zip(lines, gone, strict=True)]
    instead = [min(one.credited, one.share(one.lost)) for one in lines]
    return OrderSums(
        goods=sum(one.packs * one.price for one in lines),
        carriage=carriage,
        cores=sum(one.packs * (one.core or 0) for one in lines),
        lost=sum(off) - sum(instead) + (0 if came or coming else carriage),
        taxed=sum(one.goods(one.ordered - some) for one, some in zip(lines, gone, strict=True))
        + (carriage if came or coming else 0),
        credited=credited,
        again=sum(one.credited for one in lines) - sum(instead),
    )


class Happened(NamedTuple):
    """What happened to a line that bears on what is owed for its unusable goods, thousandths.

    `lost` is by how much what is lacking grew, or shrank where goods are sent once more. A claim
    has its key and its quantity; with `credited` it is the credit of that claim.
    """

    lost: int = 0
    claim: int = 0
    quantity: int = 0
    credited: bool = False


def not_owed(events: Sequence[Happened], lost: int) -> dict[int, int]:
    """For how much of each claim for unusable goods of a line nothing is owed, by its key.

    `events` are in the order of time, `lost` is what of the line is lacking now. A claim is owed
    for what is lacking and not claimed yet; what came unusable beyond the order was never charged.
    What is sent once more goes to the oldest claim without a credit, then to what is not claimed,
    and last to what was credited, which is charged once more. What comes unusable in its place is
    lacking, and owed, anew. What was credited was owed.

    >>> first = [Happened(lost=1000), Happened(claim=1, quantity=1000)]
    >>> again = [Happened(lost=-1000), Happened(lost=1000), Happened(claim=2, quantity=1000)]
    >>> not_owed([*first, *again], 1000)
    {1: 1000, 2: 0}
    """
    asked: dict[int, int] = {}
    owed: dict[int, int] = {}
    credited: set[int] = set()
    free = max(0, lost - sum(one.lost for one in events))
    for one in events:
        if one.credited:
            credited.add(one.claim)
        elif one.claim:
            asked[one.claim] = one.quantity
            owed[one.claim] = min(one.quantity, free)
            free -= owed[one.claim]
        elif one.lost > 0:
            free += one.lost
        else:
            left = _taken(owed, [key for key in owed if key not in credited], -one.lost)
            free, left = max(0, free - left), max(0, left - free)
            _taken(owed, [key for key in owed if key in credited], left)
    _taken(owed, [key for key in owed if key not in credited], sum(owed.values()) - lost)
    return {key: 0 if key in credited else much - owed[key] for key, much in asked.items()}


def _taken(owed: dict[int, int], keys: Sequence[int], much: int) -> int:
    """Take so much off what is owed by some keys, in order; what is left of it."""
    for key in keys:
        some = max(0, min(owed[key], much))
        owed[key] -= some
        much -= some
    return max(0, much)
