"""Patterns: in which order to tighten bolts, where the maker gives no order.

General practice, no source: round a circle crosswise, on a plate from the centre outwards; loosen
in reverse. A pattern from here is always marked as general.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from kitting.facts.words import PatternShape

Point = tuple[float, float]
# A hole counts as on the circle when its distance from the centre is so near the mean.
_ROUND = 0.05
_CLOSE = 0.02


@dataclass(frozen=True, slots=True)
class Pattern:
    """Hole numbers (from 1) in the order of tightening, and where that order comes from."""

    order: tuple[int, ...]
    shape: PatternShape


def general_pattern(holes: Sequence[Point]) -> Pattern:
    """The general order for holes at coordinates (mm, any origin).

    >>> ring = [(math.sin(math.tau * n / 8), math.cos(math.tau * n / 8)) for n in range(8)]
    >>> general_pattern(ring).order
    (1, 5, 3, 7, 2, 6, 4, 8)
    """
    if on_circle(holes):
        return Pattern(_crosswise(holes), PatternShape.CIRCLE)
    return Pattern(_outwards(holes), PatternShape.PLATE)


def _centre(holes: Sequence[Point]) -> Point:
    xs, ys = [x for x, _ in holes], [y for _, y in holes]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def on_circle(holes: Sequence[Point]) -> bool:
    """Whether three or more holes lie on a circle round their centre, with no wide gap."""
    if len(holes) < 3:
        return False
    x0, y0 = sum(x for x, _ in holes) / len(holes), sum(y for _, y in holes) / len(holes)
    radii = [math.dist((x0, y0), hole) for hole in holes]
    mean = sum(radii) / len(radii)
    if mean == 0 or max(abs(radius - mean) for radius in radii) > _ROUND * mean:
        return False
    angles = sorted(math.atan2(y - y0, x - x0) for x, y in holes)
    gaps = [b - a for a, b in zip(angles, [*angles[1:], angles[0] + math.tau], strict=True)]
    return max(gaps) < 1.6 * math.tau / len(holes)


def _crosswise(holes: Sequence[Point]) -> tuple[int, ...]:
    """Each next hole is the farthest from all done ones, then from the last, then the lowest."""
    done, left = [0], list(range(1, len(holes)))
    size = max(math.dist(a, b) for a in holes for b in holes)

    def step(distance: float) -> int:
        return round(distance / (size * _CLOSE))

    while left:
        chosen = max(
            left,
            key=lambda n: (
                min(step(math.dist(holes[n], holes[d])) for d in done),
                step(math.dist(holes[n], holes[done[-1]])),
                -n,
            ),
        )
        left.remove(chosen)
        done.append(chosen)
    return tuple(n + 1 for n in done)


def _outwards(holes: Sequence[Point]) -> tuple[int, ...]:
    """From the centre outwards; of holes equally far, the one opposite the last comes next."""
    if not holes:
        return ()
    centre = _centre(holes)
    largest = max(math.dist(centre, hole) for hole in holes) or 1.0
    ring = {n: round(math.dist(centre, hole) / (largest * _CLOSE)) for n, hole in enumerate(holes)}
    left, order = set(ring), list[int]()
    while left:
        nearest = min(ring[n] for n in left)
        equal = [n for n in left if ring[n] == nearest]
        last = holes[order[-1]] if order else None
        chosen = min(equal, key=lambda n: (-math.dist(holes[n], last) if last else 0.0, n))
        left.remove(chosen)
        order.append(chosen)
    return tuple(n + 1 for n in order)


def maker_pattern(order: Sequence[int], count: int) -> Pattern:
    """The maker's order, checked to name each of `count` holes once; raises ValueError if not."""
    if sorted(order) != list(range(1, count + 1)):
        raise ValueError(
            f"the order {'-'.join(map(str, order))} does not name each of the {count} holes once"
        )
    return Pattern(tuple(order), PatternShape.MAKER)
