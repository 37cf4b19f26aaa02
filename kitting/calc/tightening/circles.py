"""Circles: the circle that holes lie on, fitted by least squares, and their places round it.

Lengths are in mm. Holes are measured or given in whole millimetres, and one or more may lack.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

Point = tuple[float, float]
# A hole is on a circle when it lies within this share of its radius, or within so many mm (whole
# millimetres in x and y put it off by 0.7), whichever is more; never off by more than a tenth.
_ROUND, _ROUNDING, _MOST = 0.05, 1.2, 0.1
# Along the circle the same rounding, as a share of the space between two places.
_ALONG, _ALONG_MOST = 0.15, 0.25
# The places of a circle without equal spaces.
_DEGREES = 360
# As many places may stand empty as a third of the holes.
_LACKING = 3
_STEPS = 12
# From so many holes on, a ring of several that share a centre is told from the corners of a plate.
_OUTERMOST = 5


@dataclass(frozen=True, slots=True)
class Circle:
    """Centre and radius in mm."""

    x: float
    y: float
    radius: float

    @property
    def slack(self) -> float:
        """How far a hole may be off it."""
        rounding = min(_ROUNDING, _MOST * self.radius)
        return max(_ROUND * self.radius, rounding)

    def off(self, hole: Point) -> float:
        """How far a hole is off it."""
        return abs(math.dist((self.x, self.y), hole) - self.radius)

    def holds(self, hole: Point) -> bool:
        """Whether a hole lies on it."""
        return self.off(hole) <= self.slack


@dataclass(frozen=True, slots=True)
class Ring:
    """Holes on one circle: `slots` has the place of each, clockwise, of `places` in all.

    Places without a hole are those that lack. Without a `circle`, one or two holes.
    """

    holes: tuple[int, ...]
    slots: tuple[int, ...]
    places: int
    circle: Circle | None


def fit_circle(holes: Sequence[Point]) -> Circle | None:
    """The circle of least squared distances; None for holes on a line, or fewer than three.

    Begun with the algebraic fit (least squares of x² + y² + a·x + b·y + c), which is exact where
    the holes lie on a circle, then Gauss-Newton steps on the distances themselves.

    >>> found = fit_circle([(0, 0), (80, 0), (80, 60), (0, 60)])
    >>> (round(found.x, 6), round(found.y, 6), round(found.radius, 6))
    (40.0, 30.0, 50.0)
    """
    count = len(holes)
    if count < 3:
        return None
    x0, y0 = sum(x for x, _ in holes) / count, sum(y for _, y in holes) / count
    moved = [(x - x0, y - y0) for x, y in holes]
    xx, yy = sum(x * x for x, _ in moved), sum(y * y for _, y in moved)
    xy = sum(x * y for x, y in moved)
    flat = xx * yy - xy * xy
    if flat <= 1e-9 * (xx + yy) ** 2:
        return None
    right_x = sum(x * (x * x + y * y) for x, y in moved) / 2
    right_y = sum(y * (x * x + y * y) for x, y in moved) / 2
    x, y = (right_x * yy - right_y * xy) / flat, (right_y * xx - right_x * xy) / flat
    for _ in range(_STEPS):
        away = [math.dist((x, y), hole) for hole in moved]
        if not all(away):
            return None
        mean = sum(away) / count
        ways = [((x - a) / d, (y - b) / d) for (a, b), d in zip(moved, away, strict=True)]
        mean_u, mean_v = sum(u for u, _ in ways) / count, sum(v for _, v in ways) / count
        suu = sum((u - mean_u) ** 2 for u, _ in ways)
        svv = sum((v - mean_v) ** 2 for _, v in ways)
        suv = sum((u - mean_u) * (v - mean_v) for u, v in ways)
        left_u = sum((u - mean_u) * (d - mean) for (u, _), d in zip(ways, away, strict=True))
        left_v = sum((v - mean_v) * (d - mean) for (_, v), d in zip(ways, away, strict=True))
        bent = suu * svv - suv * suv
        if bent <= 1e-12:
            break
        x -= (left_u * svv - left_v * suv) / bent
        y -= (left_v * suu - left_u * suv) / bent
    radius = sum(math.dist((x, y), hole) for hole in moved) / count
    return Circle(x + x0, y + y0, radius) if math.isfinite(radius) else None


def one_ring(holes: Sequence[Point], numbers: Sequence[int] | None = None) -> Ring | None:
    """The ring that all holes lie on, from three holes; None if they lie on none."""
    circle = fit_circle(holes)
    if circle is None or not all(map(circle.holds, holes)):
        return None
    return _on(circle, holes, numbers or range(len(holes)), equal=False)


def rings(holes: Sequence[Point]) -> tuple[Ring, ...]:
    """The circles round one centre that the holes lie on, the innermost first; () if on none.

    Of several circles each has equal spaces, and the outermost has five holes or more: else the
    corners of a plate would pass for one.
    """
    single = one_ring(holes)
    if single is not None:
        return (single,)
    outer = _outermost(holes)
    if outer is None:
        return ()
    on_it = [number for number, hole in enumerate(holes) if outer.holds(hole)]
    inside = [number for number in range(len(holes)) if number not in on_it]
    if len(on_it) < _OUTERMOST:
        return ()
    found = [_on(outer, [holes[n] for n in on_it], on_it, equal=True)]
    found += [_round(outer, holes, group) for group in _by_distance(outer, holes, inside)]
    if any(ring is None for ring in found):
        return ()
    return tuple(ring for ring in reversed(found) if ring is not None)


def _outermost(holes: Sequence[Point]) -> Circle | None:
    """The circle that the outermost holes lie on, those left out that lie off it the most."""
    rim = _hull(holes)
    least = max(3, len(rim) - len(rim) // _LACKING)
    while True:
        circle = fit_circle(rim)
        if circle is None or all(map(circle.holds, rim)):
            return circle
        if len(rim) <= least:
            return None
        rim.remove(max(rim, key=circle.off))


def _hull(holes: Sequence[Point]) -> list[Point]:
    """The corners of the convex hull (Andrew's monotone chain)."""

    def half(points: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for x, y in points:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                chain.pop()
            chain.append((x, y))
        return chain[:-1]

    ordered = sorted(set(holes))
    return [*half(ordered), *half(ordered[::-1])] if len(ordered) > 2 else ordered


def _by_distance(
    outer: Circle, holes: Sequence[Point], inside: Sequence[int]
) -> Iterator[list[int]]:
    """Holes that are equally far from the centre, the farthest first."""
    away = {n: math.dist((outer.x, outer.y), holes[n]) for n in inside}
    group: list[int] = []
    for number in sorted(away, key=lambda n: -away[n]):
        if group and away[group[-1]] - away[number] > 2 * _ROUNDING:
            yield group
            group = []
        group.append(number)
    if group:
        yield group


def _round(outer: Circle, holes: Sequence[Point], group: Sequence[int]) -> Ring | None:
    """The ring of some holes round the centre of another; one in the middle, or two opposite."""
    centre, points = (outer.x, outer.y), [holes[n] for n in group]
    if len(group) == 1:
        middle = math.dist(centre, points[0]) <= outer.slack
        return Ring(tuple(group), (0,), 1, None) if middle else None
    if len(group) == 2:
        (ax, ay), (bx, by) = points
        between = math.dist(centre, ((ax + bx) / 2, (ay + by) / 2)) <= outer.slack
        return Ring(tuple(group), (0, 1), 2, None) if between else None
    circle = fit_circle(points)
    if circle is None or math.dist(centre, (circle.x, circle.y)) > outer.slack:
        return None
    return _on(circle, points, group, equal=True)


def _on(
    circle: Circle, holes: Sequence[Point], numbers: Sequence[int], *, equal: bool
) -> Ring | None:
    """Holes of a circle in their places; None where half of it is empty.

    That what is left goes crosswise is common practice, no source.
    """
    if not all(map(circle.holds, holes)):
        return None
    angles = [math.atan2(x - circle.x, y - circle.y) % math.tau for x, y in holes]
    for places in range(len(holes), len(holes) + len(holes) // _LACKING + 1):
        slots = _slots(circle, angles, places)
        if slots is not None:
            return Ring(tuple(numbers), slots, places, circle)
    if equal:
        return None
    turns = sorted(angles)
    gaps = [b - a for a, b in zip(turns, [*turns[1:], turns[0] + math.tau], strict=True)]
    if max(gaps) >= math.pi:
        return None
    # Without equal spaces only rounding explains that a hole is off: rows of a plate lie nearly so.
    if any(circle.off(hole) > min(_ROUNDING, _MOST * circle.radius) for hole in holes):
        return None
    # Their turn alone would not tell what lies opposite: their places are degrees.
    degrees = tuple(round(math.degrees(angle)) % _DEGREES for angle in angles)
    if len(set(degrees)) < len(degrees):
        return None
    return Ring(tuple(numbers), degrees, _DEGREES, circle)


def _slots(circle: Circle, angles: Sequence[float], places: int) -> tuple[int, ...] | None:
    """The place of each hole where all lie at equal spaces of a circle; None if they do not."""
    step = math.tau / places
    first = math.atan2(
        sum(math.sin(places * angle) for angle in angles),
        sum(math.cos(places * angle) for angle in angles),
    ) / places  # fmt: skip
    found = [round((angle - first) / step) for angle in angles]
    apart = step * circle.radius
    slack = min(max(_ROUNDING, _ALONG * apart), _ALONG_MOST * apart)
    off = max(abs(angle - first - place * step) for angle, place in zip(angles, found, strict=True))
    slots = tuple(place % places for place in found)
    if off * circle.radius > slack or len(set(slots)) < len(slots):
        return None
    return slots
