"""Patterns: in which order to tighten bolts, where the maker gives no order.

General practice, no source: round a circle crosswise, of several circles the inner one first, on a
plate from the centre outwards. A pattern from here is always marked as general. Lengths are in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kitting.calc.tightening.circles import Circle, Point, Ring, rings
from kitting.facts.words import PatternShape

# On a plate, distances from the centre count as equal within so much (measured to ±0.25 mm, a
# hole and the centre are off by 0.35 each), and no group of them is wider than that three times.
_EQUAL, _EQUAL_SHARE, _WIDEST = 2.0, 0.01, 3
# So many bolts round a circle can be tightened without two neighbours in succession.
_APART_FROM = 5
# Orders that are tried before neighbours in succession are put up with.
_TRIES = 20_000


@dataclass(frozen=True, slots=True)
class Pattern:
    """Hole numbers (from 1) in the order of tightening, and where that order comes from.

    `circles` are those that the holes lie on, the inner ones first.
    """

    order: tuple[int, ...]
    shape: PatternShape
    circles: tuple[Circle, ...] = ()


def general_pattern(holes: Sequence[Point]) -> Pattern:
    """The general order for holes at coordinates (mm, any origin).

    Another numbering of the same holes gives the same pattern, at most turned round a full circle:
    that one begins with its lowest number.

    >>> turns = [math.tau * n / 8 for n in range(8)]
    >>> general_pattern([(60 * math.sin(turn), 60 * math.cos(turn)) for turn in turns]).order
    (1, 5, 3, 7, 2, 6, 4, 8)
    """
    found = rings(holes)
    if not found:
        return Pattern(_outwards(holes), PatternShape.PLATE)
    order = [hole + 1 for ring in found for hole in _crosswise(ring, holes)]
    circles = tuple(ring.circle for ring in found if ring.circle is not None)
    shape = PatternShape.CIRCLE if len(found) == 1 else PatternShape.CIRCLES
    return Pattern(tuple(order), shape, circles)


def _crosswise(ring: Ring, holes: Sequence[Point]) -> tuple[int, ...]:
    """The holes of a ring in turn: the second opposite the first, no neighbours in succession.

    Of a ring with empty places, the first is where a second lies straight opposite and nothing is
    missing ahead for the longest; of a full one, the lowest number.
    """
    if ring.circle is None:
        return tuple(sorted(ring.holes, key=lambda n: holes[n]))
    at = dict(zip(ring.slots, ring.holes, strict=True))
    chosen: tuple[object, ...] | None = None
    order: tuple[int, ...] = ()
    turned: dict[tuple[int, ...], tuple[int, ...]] = {}
    for first, hole in sorted(at.items(), key=lambda pair: pair[1]):
        filled = tuple(sorted((slot - first) % ring.places for slot in at))
        if filled not in turned:
            turned[filled] = _round_about(filled, ring.places)
        second = turned[filled][1]
        missed = ring.places // 2 - _between(0, second, ring.places)
        key = (missed, filled, hole)
        if chosen is None or key < chosen:
            chosen = key
            order = tuple(at[(slot + first) % ring.places] for slot in turned[filled])
    return order


def _between(one: int, other: int, places: int) -> int:
    """How many places two lie apart, the shorter way round."""
    way = (one - other) % places
    return min(way, places - way)


def _round_about(filled: tuple[int, ...], places: int) -> tuple[int, ...]:
    """The filled places of a circle in turn, from place 0; clockwise where two are as good.

    Each next is the farthest from all done, then from the last, but no neighbour of the last.
    """
    rank = {slot: n for n, slot in enumerate(filled)}
    tries = iter(range(_TRIES))

    def choices(done: list[int]) -> Iterator[int]:
        last = done[-1]
        left = [slot for slot in filled if slot not in done]
        left.sort(
            key=lambda slot: (
                -min(_between(slot, other, places) for other in done),
                -_between(slot, last, places),
                slot,
            )
        )
        near = len(filled) < _APART_FROM
        return (slot for slot in left if near or _between(rank[slot], rank[last], len(filled)) > 1)

    done, open_ = [filled[0]], [choices([filled[0]])]
    while len(done) < len(filled) and next(tries, None) is not None:
        following = next(open_[-1], None)
        if following is not None:
            done.append(following)
            open_.append(choices(done))
        elif len(done) == 1:
            break
        else:
            done.pop()
            open_.pop()
    return (*done, *(slot for slot in filled if slot not in done))


def _outwards(holes: Sequence[Point]) -> tuple[int, ...]:
    """From the centre outwards; of holes equally far, the one farthest from the last comes next."""
    order: list[int] = []
    for group in _equally_far(holes):
        left = set(group)
        while left:
            last = holes[order[-1]] if order else None
            chosen = min(
                left,
                key=lambda n: (-math.dist(holes[n], last) if last else 0.0, holes[n], n),
            )
            left.remove(chosen)
            order.append(chosen)
    return tuple(n + 1 for n in order)


def _equally_far(holes: Sequence[Point]) -> Iterator[list[int]]:
    """Groups of holes that are equally far from the centre, the nearest first."""
    if not holes:
        return
    xs, ys = [x for x, _ in holes], [y for _, y in holes]
    centre = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    away = [math.dist(centre, hole) for hole in holes]
    equal = max(_EQUAL, _EQUAL_SHARE * max(away))
    group: list[int] = []
    for number in sorted(range(len(holes)), key=lambda n: (away[n], holes[n], n)):
        if group and away[number] - away[group[-1]] > equal:
            yield from _narrow(group, away, _WIDEST * equal)
            group = []
        group.append(number)
    yield from _narrow(group, away, _WIDEST * equal)


def _narrow(group: list[int], away: Sequence[float], widest: float) -> Iterator[list[int]]:
    """A group of near neighbours divided at its widest steps until none is too wide."""
    if away[group[-1]] - away[group[0]] <= widest:
        yield group
        return
    cut = max(range(1, len(group)), key=lambda n: away[group[n]] - away[group[n - 1]])
    yield from _narrow(group[:cut], away, widest)
    yield from _narrow(group[cut:], away, widest)


def maker_pattern(order: Sequence[int], holes: Iterable[int]) -> Pattern | None:
    """The maker's order, if it names each of the numbered holes once; None if it does not."""
    if sorted(order) != sorted(holes):
        return None
    return Pattern(tuple(order), PatternShape.MAKER)
