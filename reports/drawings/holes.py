"""Where the numbered holes of a pattern drawing go on paper: geometry only, lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from string import ascii_uppercase

from kitting.views.tightening import DrawingView, HoleView

# Half the width of a numbered circle: the largest, one that reads well at arm's length, and the
# least whose number survives a photocopy of a photocopy.
LARGEST, GOOD, LEAST = 3.6, 3.0, 1.9
# Free space between two circles, and what the letter of a fastener needs beside one.
_GAP, _LETTER = 1.0, 3.0
_EDGE = 2.0


@dataclass(frozen=True, slots=True)
class PlacedHole:
    """A hole on paper, from the lower left corner of the frame; `letter` names its fastener."""

    number: int
    x: float
    y: float
    letter: str | None
    first: bool
    tightened: bool = True


@dataclass(frozen=True, slots=True)
class Pattern:
    """A frame of `width` × `height` with its holes, all circles of one `radius`.

    `across` and `up` are how far the outer holes are apart on the part; `scale` is mm of the part
    per mm of paper. `rings` are the circles that the holes lie on (centre and radius),
    as far as the frame holds them.
    """

    width: float
    height: float
    radius: float
    scale: float
    across: float
    up: float
    holes: tuple[PlacedHole, ...]
    rings: tuple[tuple[float, float, float], ...] = ()


def letters(holes: Sequence[HoleView]) -> dict[str, str]:
    """A letter for each different fastener, in the order in which they come; {} for only one."""
    holes = [hole for hole in holes if hole.row is not None]
    names = list(dict.fromkeys(hole.fastener for hole in holes if hole.fastener))
    if len(names) < 2 and all(hole.fastener for hole in holes):
        return {}
    return {name: _letter(number) for number, name in enumerate(names)}


def _letter(number: int) -> str:
    """A, B … Z, AA, AB …"""
    before, last = divmod(number, len(ascii_uppercase))
    return (_letter(before - 1) if before else "") + ascii_uppercase[last]


def plan_drawing(
    view: DrawingView, frames: Sequence[tuple[float, float]], narrowest: float = 0.0
) -> Pattern | None:
    """The holes in the first frame (width, height) where their numbers read well.

    Where they read well in none, the largest frame has to do; None where even there two circles
    would touch. The frame that comes back is no larger than the holes need, but never narrower
    than `narrowest`.
    """
    best = None
    for width, height in frames:
        pattern = _place(view, width, height, narrowest)
        if pattern is not None and (best is None or pattern.radius > best.radius):
            best = pattern
        if best is not None and best.radius >= GOOD:
            return best
    return best


def _place(view: DrawingView, width: float, height: float, narrowest: float) -> Pattern | None:
    """The holes to scale in one frame; None where circles would be too small to read."""
    holes = view.holes
    if not holes or not all(math.isfinite(hole.x) and math.isfinite(hole.y) for hole in holes):
        return None
    key = letters(holes)
    beside = _LETTER if key else 0.0
    left, low = min(hole.x for hole in holes), min(hole.y for hole in holes)
    across, up = max(hole.x for hole in holes) - left, max(hole.y for hole in holes) - low
    edge = LARGEST + _EDGE
    inner, high = width - 2 * (edge + beside), height - 2 * edge
    fits = [room / span for room, span in ((inner, across), (high, up)) if span > 0]
    factor = min(fits, default=1.0)
    spacing = min(
        (
            math.dist((a.x, a.y), (b.x, b.y)) * factor
            for a, b in combinations(holes, 2)
            if a.row is not None and b.row is not None
        ),
        default=math.inf,
    )
    radius = min(LARGEST, (spacing - _GAP - beside) / 2)
    if radius < LEAST:
        return None
    used = max(narrowest, across * factor + 2 * (edge + beside))
    x0 = (used - across * factor) / 2
    first = view.order[0] if view.order else None
    placed = tuple(
        PlacedHole(
            hole.number,
            x0 + (hole.x - left) * factor,
            edge + (hole.y - low) * factor,
            key.get(hole.fastener) if hole.fastener else None,
            hole.number == first,
            hole.row is not None,
        )
        for hole in holes
    )
    rings = tuple(
        (x0 + (ring.x - left) * factor, edge + (ring.y - low) * factor, ring.radius * factor)
        for ring in view.circles
    )
    whole = up * factor + 2 * edge
    inside = tuple(
        (x, y, size)
        for x, y, size in rings
        if size <= min(x, used - x) and size <= min(y, whole - y)
    )
    return Pattern(used, whole, radius, 1 / factor, across, up, placed, inside)


def in_order(numbers: Sequence[int], order: Sequence[int]) -> tuple[int, ...]:
    """Numbers in the order of tightening; those that the order does not name come last."""
    place = {number: n for n, number in enumerate(order)}
    return tuple(sorted(numbers, key=lambda number: (place.get(number, len(place)), number)))
