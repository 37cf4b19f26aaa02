"""When and where a booking is done, as far as that is agreed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SlotView:
    """The time that a booking begins ("08:30") and its ramp; None of what is not named."""

    starts: str | None
    ramp: str | None
