"""Stripping: the torque at which a thread in a soft metal gives way, whatever the bolt bears."""

from __future__ import annotations

import math

from kitting.calc.tightening.bolting import tightening_torque
from kitting.facts.threads import Thread


def stripping_load(thread: Thread, engagement: float, shear_strength: float) -> float:
    """The load in newtons that shears off the turns of a tapped hole.

    F = τ·π·d·(m/P)·(P/2 + (d - d2)·tan 30°), of a bolt as large as its name says in a nut thread of
    its pitch diameter: the shear area of VDI 2230 part 1, 5.5.5, from memory, without its factors
    for widening and for the first turn. `engagement` m in mm, `shear_strength` τ in MPa.
    """
    diameter, pitch = float(thread.diameter), float(thread.pitch)
    pitch_diameter = diameter - 0.649519 * pitch
    thickness = pitch / 2 + (diameter - pitch_diameter) * math.tan(math.pi / 6)
    return shear_strength * math.pi * diameter * engagement / pitch * thickness


def stripping_torque(
    thread: Thread, engagement: float, shear_strength: float, friction: float
) -> float:
    """The torque in N·m that brings the load of `stripping_load`."""
    return tightening_torque(thread, stripping_load(thread, engagement, shear_strength), friction)
