"""Hand torque tools: which part of a scale is valid and how far a reading may be off (ISO 6789).

Deviations and ranges: ISO 6789-1:2017 and the 2003 edition. Only the two classes met in a
workshop are told apart here: adjustable or indicating wrenches, and the simple ones (bending beams
and torque screwdrivers).
"""

from __future__ import annotations

from decimal import Decimal

from kitting.errors import FigureError

# Which part of the scale counts: the 2017 edition starts at the lowest marked value, the 2003
# edition at 20 % of the largest.
RANGE_POLICIES = ("marked", "fifth")
_FIFTH = Decimal("0.2")
CALIBRATION_MONTHS = 12
CALIBRATION_CYCLES = 5000


def usable_range(low: Decimal, high: Decimal, policy: str = "marked") -> tuple[Decimal, Decimal]:
    """The part of a scale from `low` to `high` (any unit) in which a setting is valid.

    Raises FigureError for an unknown policy.
    """
    if policy == "marked":
        return low, high
    if policy == "fifth":
        return max(low, high * _FIFTH), high
    raise FigureError(
        f"no range policy {policy!r}; known: marked (ISO 6789:2017), fifth (20 % to 100 %, 2003)"
    )


def permissible_deviation(largest: Decimal, simple: bool = False) -> Decimal:
    """How far a reading may be off, as a part of it, for a wrench of a largest torque in N·m.

    ±6 % up to 10 N·m and for simple tools, ±4 % above (ISO 6789-1:2017, types I and II).
    """
    return Decimal("0.06") if simple or largest <= 10 else Decimal("0.04")
