"""Goods of one item shared among the lines of an order that it stands on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Room(NamedTuple):
    """What a line still takes, in thousandths: what is to come, and what was given up of it."""

    coming: int
    lost: int = 0


class Share(NamedTuple):
    """What of the goods is a line's, in thousandths."""

    good: int
    damaged: int
    wrong: int


def share_out(rooms: Sequence[Room], good: int, damaged: int, wrong: int) -> list[Share]:
    """The share of each line, in order: to what is to come of it, good pieces first.

    Good pieces beyond that go to what was given up, and what is too much to the last line. Unusable
    pieces for which no line lacks any go to the last that others of them are of, or to the first.
    """
    coming, beyond = _filled(good, [room.coming for room in rooms])
    again, over = _filled(beyond, [room.lost for room in rooms])
    lacks = [room.coming - some for room, some in zip(rooms, coming, strict=True)]
    hurt, more_hurt = _filled(damaged, lacks)
    other, more_other = _filled(wrong, [a - b for a, b in zip(lacks, hurt, strict=True)])
    goods = [a + b for a, b in zip(coming, again, strict=True)]
    goods[-1] += over
    home = max((at for at in range(len(rooms)) if hurt[at] or other[at]), default=0)
    hurt[home] += more_hurt
    other[home] += more_other
    return [Share(*one) for one in zip(goods, hurt, other, strict=True)]


def _filled(amount: int, rooms: Sequence[int]) -> tuple[list[int], int]:
    """An amount filled into rooms in order, and what is left of it."""
    shares = []
    for room in rooms:
        shares.append(min(amount, max(0, room)))
        amount -= shares[-1]
    return shares, amount
