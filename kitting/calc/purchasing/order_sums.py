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


def not_owed(claims: Sequence[tuple[int, bool]], lost: int) -> list[int]:
    """For how much of each claim for unusable goods of a line nothing is owed.

    `claims` are (quantity, whether something was credited for it), `lost` is what of the line is
    lacking still, all in thousandths. Owed is what is lacking: what is sent once more is charged
    instead, and what came unusable beyond the order never was. What was credited was owed; of the
    others the earlier goes first.

    >>> not_owed([(1000, False), (2000, False)], 1000)
    [0, 2000]
    """
    left = max(0, lost - sum(quantity for quantity, credited in claims if credited))
    found = []
    for quantity, credited in claims:
        owed = quantity if credited else min(quantity, left)
        left -= 0 if credited else owed
        found.append(quantity - owed)
    return found
