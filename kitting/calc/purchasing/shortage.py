"""Shortages: what the needs of one booking lack when what covers them is shared out in order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Need:
    """So much of an item, in thousandths; a `spare` is brought in case and is never lacking."""

    item: int
    quantity: int
    spare: bool = False


@dataclass(frozen=True, slots=True)
class Cover:
    """What is promised or picked of an item; unless it is `fit` to use it covers nothing.

    `order` is the key of the delivery that it comes with, None for what lies on a shelf.
    """

    item: int
    quantity: int
    fit: bool = True
    order: Hashable | None = None


def awaited(needs: Iterable[Need], covers: Iterable[Cover]) -> dict[Hashable, dict[int, int]]:
    """What has to be there and comes with an order: by delivery, thousandths per item."""
    left: dict[int, int] = defaultdict(int)
    for need in needs:
        if not need.spare:
            left[need.item] += need.quantity
    found: dict[Hashable, dict[int, int]] = {}
    for cover in covers:
        taken = min(cover.quantity, left.get(cover.item, 0))
        left[cover.item] -= taken
        if taken and cover.order is not None:
            of_order = found.setdefault(cover.order, {})
            of_order[cover.item] = of_order.get(cover.item, 0) + taken
    return found


def lacking(needs: Iterable[Need], covers: Iterable[Cover]) -> dict[int, int]:
    """Thousandths per item that nothing usable covers; items that lack nothing are left out.

    What has to be there is covered before spares, in the order of `covers`. A need that was
    promised what may not be fitted lacks just that, even if a spare was promised better.

    >>> lacking([Need(1, 3000)], [Cover(1, 1000), Cover(1, 1000, fit=False)])
    {1: 2000}
    """
    needed: dict[int, int] = defaultdict(int)
    for need in needs:
        if not need.spare:
            needed[need.item] += need.quantity
    left = dict(needed)
    unfit: dict[int, int] = defaultdict(int)
    for cover in covers:
        taken = min(cover.quantity, left.get(cover.item, 0))
        if taken:
            left[cover.item] -= taken
            unfit[cover.item] += 0 if cover.fit else taken
    found = {item: left[item] + unfit[item] for item in needed}
    return {item: amount for item, amount in found.items() if amount}


def with_free(covers: Iterable[Cover], free: Sequence[Cover]) -> list[Cover]:
    """The covers of a booking with what is free for it in place of what may not be fitted.

    >>> found = with_free([Cover(1, 2000, fit=False)], [Cover(1, 1500)])
    >>> [(cover.quantity, cover.fit) for cover in found]
    [(500, False), (1500, True)]
    """
    room: dict[int, int] = defaultdict(int)
    for one in free:
        room[one.item] += one.quantity
    found = []
    for cover in covers:
        instead = 0 if cover.fit else min(cover.quantity, room[cover.item])
        room[cover.item] -= instead
        if cover.quantity > instead:
            found.append(replace(cover, quantity=cover.quantity - instead))
    return [*found, *free]
