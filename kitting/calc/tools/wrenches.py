"""Torque wrenches: what one is set to, and whether its scale, trueness and direction will do."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_DOWN, Decimal

from kitting.calc.tools.fitting import Judged
from kitting.calc.tools.joining import newton_metres
from kitting.calc.tools.toolkit import Requirement, Tool
from kitting.facts.reasons import Reason, because
from kitting.facts.scale_reasons import ScaleReason
from kitting.facts.tool_reasons import ToolReason, TrainNote
from kitting.facts.tool_words import RangePolicy, ToolSort, WrenchDirection
from kitting.facts.torque_tools import class_deviation, specified_from, usable_range
from kitting.facts.units import Torque, plain, significant

# No scale is read closer than this, in its own unit.
_FINEST = Decimal("0.000001")
_ANY_RANGE = (Decimal(1), Decimal(1000))


def crowfoot_setting(torque: Decimal, grip: int, offset: int, angle: float = 0.0) -> Decimal:
    """What a wrench is set to when a crowfoot moves the head away from the drive.

    S = T·L/(L + E·cos θ), with θ = 0 straight ahead and 90° needing no correction. Torque in any
    unit, lengths in one unit, angle in degrees.

    >>> round(crowfoot_setting(Decimal(40), 400, 45), 2)
    Decimal('35.96')
    """
    lever = grip + offset * Decimal(math.cos(math.radians(angle))).quantize(Decimal("1e-12"))
    return torque * grip / lever


def settings(wrench: Tool, end: Tool, torque: Decimal) -> list[tuple[Decimal, Reason | None]]:
    """What the wrench is set to: the torque itself, or corrected for a crowfoot."""
    if end.sort != ToolSort.CROWFOOT:
        return [(torque, None)]
    ways: list[tuple[Decimal, Reason | None]] = [(torque, because(TrainNote.CROWFOOT_SQUARE))]
    if wrench.grip and end.offset:
        inline = crowfoot_setting(torque, wrench.grip, end.offset)
        ways.insert(0, (inline, because(TrainNote.CROWFOOT_STRAIGHT)))
    return ways


def judged(
    wrench: Tool, setting: Decimal, requirement: Requirement, policy: RangePolicy
) -> list[Judged]:
    """Whether a wrench can be used at a setting: its scale, its direction, its trueness."""
    return [
        _scale(wrench, setting, requirement, policy),
        _direction(wrench, requirement),
        _trueness(wrench, requirement),
        _at_a_mark(wrench, setting, requirement),
        Judged(doubt=wrench.away),
    ]


def nearest_mark(wrench: Tool, setting: Decimal) -> Decimal:
    """What a wrench can be set to for a setting in N·m: a figure in the unit of its own scale.

    Marks are counted from the lowest one; of two that are equally near it is the lower. Where
    nobody states how far marks are apart, the setting itself.
    """
    figure = _own(wrench, setting)
    if wrench.resolution is None or wrench.low is None or wrench.high is None:
        return figure
    low, high = _own(wrench, wrench.low), _own(wrench, wrench.high)
    steps = ((figure - low) / wrench.resolution).quantize(Decimal(1), rounding=ROUND_HALF_DOWN)
    last = (high - low) // wrench.resolution
    return low + min(max(steps, Decimal(0)), last) * wrench.resolution


def _own(wrench: Tool, torque: Decimal) -> Decimal:
    """A torque in N·m in the unit of a wrench's scale."""
    return Torque(torque, "N·m").to(wrench.unit).quantize(_FINEST)


def off_middle(wrench: Tool, setting: Decimal) -> Decimal:
    """How far from the middle of its scale a wrench would work; the middle is preferred."""
    low, high = wrench.low or Decimal(0), wrench.high or Decimal(1)
    return abs(setting - (low + high) / 2) / (high - low or 1)


def _scale(wrench: Tool, setting: Decimal, requirement: Requirement, policy: RangePolicy) -> Judged:
    if wrench.low is None or wrench.high is None:
        return Judged(doubt=because(ToolReason.RANGE_NOT_STATED))
    low, high = usable_range(wrench.low, wrench.high, policy)
    if low <= setting <= high:
        return _specified(wrench.low, wrench.high, setting)
    own = setting == requirement.torque
    off = because(
        ToolReason.FIGURE_OFF_SCALE if own else ToolReason.SETTING_OFF_SCALE,
        setting=newton_metres(setting),
        low=significant(low, 4),
        high=significant(high, 4),
    )
    return Judged(no=off)


def _specified(low: Decimal, high: Decimal, setting: Decimal) -> Judged:
    """On the scale, but perhaps below where anybody says how far the wrench may be off."""
    start = specified_from(low, high)
    if setting >= start:
        return Judged()
    below = because(
        ToolReason.BELOW_WHAT_IS_SPECIFIED,
        setting=newton_metres(setting),
        start=newton_metres(start),
    )
    return Judged(doubt=below)


def _direction(wrench: Tool, requirement: Requirement) -> Judged:
    """A right-hand thread is tightened clockwise, as every wrench measures."""
    if requirement.left_hand is False or wrench.direction == WrenchDirection.BOTH:
        return Judged()
    if requirement.left_hand is None:
        return Judged(doubt=because(ToolReason.THREAD_HAND_NOT_STATED))
    if wrench.direction is None:
        return Judged(doubt=because(ToolReason.DIRECTION_NOT_STATED))
    return Judged(no=because(ToolReason.CLOCKWISE_ONLY))


def _trueness(wrench: Tool, requirement: Requirement) -> Judged:
    """A reading must be truer than the tolerance: by what is stated, else by its class (ISO 6789).

    A wrench of which neither is stated may be off by more than any class.
    """
    torque, allowed = requirement.torque or Decimal(0), requirement.tolerance
    if allowed is None:
        return _as_the_standard(wrench)
    least, most = _deviation(wrench)
    if least * torque > allowed:
        return Judged(no=_spread(ToolReason.NOT_TRUE_ENOUGH, least, torque, allowed))
    if most * torque > allowed:
        return Judged(doubt=_spread(ToolReason.PERHAPS_NOT_TRUE_ENOUGH, most, torque, allowed))
    if wrench.deviation is None and wrench.wrench_class is None:
        within = newton_metres(allowed)
        return Judged(doubt=because(ToolReason.TRUENESS_NOT_STATED, allowed=within))
    return Judged()


def _at_a_mark(wrench: Tool, setting: Decimal, requirement: Requirement) -> Judged:
    """Whether the nearest mark of a scale keeps what is tightened inside the tolerance.

    A figure without a tolerance that lies between two marks cannot be proven to be met, nor any
    figure where nobody states how far the marks are apart.
    """
    if wrench.resolution is None:
        return Judged(doubt=because(ScaleReason.STEPS_NOT_STATED))
    exact, mark = _own(wrench, setting), nearest_mark(wrench, setting)
    torque, allowed = requirement.torque or Decimal(0), requirement.tolerance
    if mark == exact or not exact:
        return Judged()
    # A crowfoot turns more than the wrench shows: what is off grows alike.
    off = abs(mark - exact) / exact * torque
    shown = {
        "setting": Torque(significant(exact, 4), wrench.unit),
        "mark": Torque(Decimal(plain(mark)), wrench.unit),
        "off": Torque(significant(off, 2), "N·m"),
    }
    if allowed is None:
        return Judged(doubt=because(ScaleReason.NO_TOLERANCE, **shown))
    shown["allowed"] = newton_metres(allowed)
    if off > allowed:
        return Judged(no=because(ScaleReason.OUT_OF_TOLERANCE, **shown))
    if off + _deviation(wrench)[1] * torque > allowed:
        return Judged(doubt=because(ScaleReason.PERHAPS_OUT_OF_TOLERANCE, **shown))
    return Judged()


def _as_the_standard(wrench: Tool) -> Judged:
    """A figure without a tolerance expects what ISO 6789 permits a hand torque tool."""
    if wrench.deviation is None:
        known = wrench.wrench_class is not None
        return Judged() if known else Judged(doubt=because(ToolReason.DEVIATION_NOT_STATED))
    least, most = _permitted(wrench)
    percent = wrench.deviation * 100
    if wrench.deviation > most:
        beyond = because(ToolReason.BEYOND_THE_STANDARD, percent=percent, permitted=most * 100)
        return Judged(no=beyond)
    if wrench.deviation > least:
        perhaps = because(
            ToolReason.PERHAPS_BEYOND_THE_STANDARD, percent=percent, permitted=least * 100
        )
        return Judged(doubt=perhaps)
    return Judged()


def _deviation(wrench: Tool) -> tuple[Decimal, Decimal]:
    """The least and the most that a wrench may be off: what is stated, else what is permitted."""
    if wrench.deviation is not None:
        return wrench.deviation, wrench.deviation
    return _permitted(wrench)


def _permitted(wrench: Tool) -> tuple[Decimal, Decimal]:
    """The least and the most that ISO 6789 may permit a wrench to be off, as far as it is known."""
    # Without a range it may be small or large.
    ranges = _ANY_RANGE if wrench.high is None else (wrench.high,)
    parts = [part for high in ranges for part in class_deviation(high, wrench.wrench_class)]
    return min(parts), max(parts)


def _spread(code: ToolReason, part: Decimal, torque: Decimal, allowed: Decimal) -> Reason:
    return because(
        code,
        percent=part * 100,
        spread=newton_metres(part * torque),
        allowed=newton_metres(allowed),
    )
