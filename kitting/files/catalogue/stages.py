"""Stages of a tightening as they are written: a torque with its unit, or an angle."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from kitting.errors import FigureError
from kitting.facts.units import Torque, parse_angle, parse_torque_band

_ANGLE = re.compile(r"°|\bdeg")


@dataclass(frozen=True, slots=True)
class StageFigure:
    """One stage: a torque (with its stated tolerance, same unit) or an angle in 1/1000 degree."""

    torque: Torque | None
    tolerance: Decimal | None
    angle: int | None

    def __str__(self) -> str:
        if self.torque is None:
            return f"+{Decimal(self.angle or 0) / 1000:f}°"
        return str(self.torque)


def parse_stage(text: str) -> StageFigure:
    """Read "20 N·m", "4 ± 0.3 N·m" or "+90°".

    Raises FigureError for a figure without unit or of no size.
    """
    if _ANGLE.search(text):
        return StageFigure(None, None, parse_angle(text.strip().removeprefix("+")))
    torque, tolerance = parse_torque_band(text)
    if torque.figure <= 0:
        raise FigureError(
            f"{text!r} is no tightening figure; leave the stages out if the figure is unknown"
        )
    for figure in (torque.figure, tolerance or Decimal(0)):
        if figure != round(figure, 3):
            raise FigureError(f"{text!r} is finer than a thousandth; give the figure as published")
    return StageFigure(torque, tolerance, None)
