"""Hand torque tools: which part of a scale is valid and how far a reading may be off (ISO 6789).

Deviations and ranges: ISO 6789-1:2017 and the 2003 edition. The deviations of the classes other
than II A are from memory.
"""

from __future__ import annotations

from decimal import Decimal

from kitting.errors import FigureError
from kitting.facts.tool_words import RangePolicy, WrenchClass

# The part of the largest mark from which a setting is valid: the 2017 edition starts at the lowest
# mark, the 2003 edition at 20 % of the largest.
_FROM = {RangePolicy.MARKED: Decimal(0), RangePolicy.FIFTH: Decimal("0.2")}
# ISO 6789-1:2017, default interval, from memory: 5,000 cycles or 12 months. The months are not
# counted here: a wrench is loaded with the day on which its calibration ends.
CALIBRATION_CYCLES = 5000


# Classes of 6 % at any torque (ISO 6789-1:2017, from memory): beams, and screwdrivers without
# electronics.
_SIMPLE = {
    WrenchClass.I_A, WrenchClass.I_D, WrenchClass.II_D, WrenchClass.II_E, WrenchClass.II_F,
    WrenchClass.II_G,
}  # fmt: skip


# Type I of ISO 6789-1:2017, from memory.
_INDICATING = {
    WrenchClass.I_A, WrenchClass.I_B, WrenchClass.I_C, WrenchClass.I_D, WrenchClass.I_E,
}  # fmt: skip


def parse_wrench_class(text: str) -> WrenchClass:
    """Read a class of ISO 6789-1, such as "I A" or "IIA"; raises FigureError for anything else."""
    letters = "".join(text[:40].split()).upper()
    for known in WrenchClass:
        if letters == known.replace(" ", ""):
            return known
    raise FigureError(
        "{text!r} is no class of ISO 6789; known: {known}",
        text=text[:40],
        known=", ".join(WrenchClass),
    )


def class_deviation(largest: Decimal, wrench_class: WrenchClass | None) -> tuple[Decimal, Decimal]:
    """The least and the most that a wrench of a class may be off, as parts of a reading.

    Both are the same where the class is known; without it, it may be any.
    """
    if wrench_class is not None:
        known = permissible_deviation(largest, wrench_class in _SIMPLE)
        return known, known
    return permissible_deviation(largest), permissible_deviation(largest, simple=True)


def parse_range_policy(text: str) -> RangePolicy:
    """Read "marked" or "fifth"; raises FigureError for anything else."""
    if text not in tuple(RangePolicy):
        raise FigureError(
            "{text!r} is no range policy; use marked (ISO 6789:2017) or fifth (20 % to 100 %, ISO"
            " 6789:2003)",
            text=text[:40],
        )
    return RangePolicy(text)


def usable_range(
    low: Decimal, high: Decimal, policy: RangePolicy = RangePolicy.MARKED
) -> tuple[Decimal, Decimal]:
    """The part of a scale from `low` to `high` (any unit) in which a setting is valid."""
    return max(low, high * _FROM[policy]), high


def specified_from(low: Decimal, high: Decimal) -> Decimal:
    """From where on it is said how far a wrench may be off (any unit).

    The smallest value stated; nobody measures at 0, so that of a scale from 0 only what begins at
    20 % of the largest value counts (ISO 6789, from memory).
    """
    return low or high * _FROM[RangePolicy.FIFTH]


def is_read(wrench_class: WrenchClass | None, low: Decimal | None) -> bool:
    """Whether a wrench shows what it does, and is not set beforehand (type I of ISO 6789).

    Where no class is stated, one whose scale begins at 0 does: no wrench is set to nothing (common
    practice, no source).
    """
    return low == 0 if wrench_class is None else wrench_class in _INDICATING


def permissible_deviation(largest: Decimal, simple: bool = False) -> Decimal:
    """How far a reading may be off, as a part of it, for a wrench of a largest torque in N·m.

    ±6 % up to 10 N·m and for simple tools, ±4 % above (ISO 6789-1:2017, types I and II).
    """
    return Decimal("0.06") if simple or largest <= 10 else Decimal("0.04")
