"""Where bars, marks and figures of the range chart go: geometry only, lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_LEAST_STEP = 8.0
# A bar that shrinks to a point would not be seen.
_LEAST_BAR = 0.8


@dataclass(frozen=True, slots=True)
class LogScale:
    """A logarithmic scale from `low` to `high` (both above 0) along `width` mm."""

    low: float
    high: float
    width: float

    def at(self, value: float) -> float:
        """Where a value lies; beyond the ends, and for what is not above 0, the nearer end.

        >>> LogScale(1, 100, 80).at(10)
        40.0
        """
        if not value > 0:
            return 0.0
        share = math.log(value / self.low) / math.log(self.high / self.low)
        return self.width * min(1.0, max(0.0, share))

    def bar(self, low: float, high: float) -> tuple[float, float]:
        """Start and length of a bar, never too short to be seen."""
        start, end = self.at(min(low, high)), self.at(max(low, high))
        length = max(end - start, _LEAST_BAR)
        return min(start, self.width - length), length

    def ticks(self) -> list[float]:
        """Values to label: 1, 2 and 5 of each decade, or fewer where those would crowd.

        >>> LogScale(3, 220, 100).ticks()
        [5, 10, 20, 50, 100, 200]
        """
        first, last = math.floor(math.log10(self.low)), math.ceil(math.log10(self.high))
        decade = self.width / math.log10(self.high / self.low)
        every = max(1, math.ceil(_LEAST_STEP / decade))
        if decade * math.log10(2) >= _LEAST_STEP:
            steps: tuple[int, ...] = (1, 2, 5)
        else:
            steps = (1, 3) if decade * math.log10(3) >= _LEAST_STEP else (1,)
        values = [
            step * 10**power if power >= 0 else step / 10**-power
            for power in range(first, last + 1)
            if power % every == 0
            for step in steps
        ]
        return [value for value in values if self.low <= value <= self.high]


def scale_for(values: Iterable[float], width: float) -> LogScale | None:
    """A scale with a little air round all values above 0; None where there are none."""
    known = [value for value in values if value > 0 and math.isfinite(value)]
    if not known:
        return None
    low, high = min(known) * 0.85, max(known) * 1.18
    if high / low < 4:
        low, high = low / 2, high * 2
    return LogScale(low, high, width)


def lanes(places: Sequence[float], widths: Sequence[float], gap: float = 1.5) -> list[int]:
    """In which lane above the bars (0 next to them) each mark with its words stands.

    `places` are where the marks lie, from left to right, and their words reach `widths` to the
    right of them. From each mark a line goes down to the bars: what lies further right under the
    words of another stands in a lower lane, so that no line runs through words.

    >>> lanes([0, 5, 40], [10, 10, 10])
    [1, 0, 0]
    """
    found = [0] * len(places)
    for one in range(len(places) - 1, -1, -1):
        end = places[one] + widths[one] + gap
        under = [found[n] for n in range(one + 1, len(places)) if places[n] < end]
        found[one] = 1 + max(under) if under else 0
    return found
