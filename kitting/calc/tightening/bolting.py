"""Bolting: the torque that a bolted joint can take (VDI 2230), for checking published figures.

Every torque that is reckoned from thread, class and friction comes from here: what is usual, what
takes a bolt to its yield point, what breaks it.
"""

from __future__ import annotations

import math

from kitting.facts.reasons import Reason, because
from kitting.facts.threads import (
    COARSE_PITCH,
    GRADES,
    STAINLESS,
    Thread,
    breaking_load,
    strength,
    stress_area,
)
from kitting.facts.tightening_reasons import GeneralTorqueReason
from kitting.facts.words import ThreadState

# Smallest bearing diameter of hexagon heads (ISO 4014) and medium clearance holes (ISO 273), mm,
# both from memory.
BEARING: dict[str, tuple[float, float]] = {
    "M4": (5.88, 4.5),
    "M5": (6.88, 5.5),
    "M6": (8.88, 6.6),
    "M8": (11.63, 9.0),
    "M10": (14.63, 11.0),
    "M12": (16.63, 13.5),
    "M14": (19.64, 15.5),
    "M16": (22.49, 17.5),
}
# For other threads the mean of both as a share of the diameter: the largest of the table above,
# which has 1.24 to 1.3.
_MEAN_BEARING = 1.3
USE_OF_YIELD = 0.9


def assembly_preload(
    thread: Thread,
    property_class: str,
    friction: float,
    share: float = USE_OF_YIELD,
    bore: float = 0,
) -> float:
    """The preload in newtons at which tension and twist together use `share` of the yield point.

    VDI 2230 part 1 (2003), 5.4.3: F = A·ν·Rp0.2/√(1 + 3·(1.5·d2/d0·(P/(π·d2) + 1.155·μ))²). With
    a `bore` b in mm, A is less by its area, and 1/d0 becomes (d0² - b²)/(d0³ - b³): the same
    derivation (a section that yields all through in torsion) for a ring.
    """
    diameter, pitch = float(thread.diameter), float(thread.pitch)
    pitch_diameter = diameter - 0.649519 * pitch
    outer = math.sqrt(4 * stress_area(thread) / math.pi)
    twist = (
        1.5
        * pitch_diameter
        * (outer**2 - bore**2)
        / (outer**3 - bore**3)
        * (pitch / (math.pi * pitch_diameter) + 1.155 * friction)
    )
    allowed = share * strength(thread, property_class).yielding
    area = stress_area(thread) - math.pi / 4 * bore**2
    return area * allowed / math.sqrt(1 + 3 * twist**2)


def tightening_torque(thread: Thread, preload: float, friction: float) -> float:
    """The torque in N·m that brings a preload in newtons, one friction for thread and head.

    VDI 2230 part 1 (2003), equation R13: M = F·(0.16·P + 0.58·d2·μ + Dkm/2·μ).
    """
    pitch = float(thread.pitch)
    pitch_diameter = float(thread.diameter) - 0.649519 * pitch
    if has_bearing(thread):
        mean_bearing = sum(BEARING[_size(thread)]) / 2
    else:
        mean_bearing = _MEAN_BEARING * float(thread.diameter)
    lever = 0.16 * pitch + 0.58 * pitch_diameter * friction + mean_bearing / 2 * friction
    return preload * lever / 1000


# Friction assumed for figures: low values, so that a figure errs on the safe side of the bolt (VDI
# 2230 part 1, table A5: 0.08 to 0.16 for bare or oiled steel; from memory).
FRICTION = {ThreadState.DRY: 0.12, ThreadState.OILED: 0.10}
# In any other state: what is usual.
USUAL_FRICTION = 0.12
# The highest, for what yields, breaks or has been tightened at the latest: dry and rough, the upper
# end of class C of the same table (0.14 to 0.24; from memory); oiled, that of the range above.
ROUGH_FRICTION = 0.24
_OILED_AT_MOST = 0.16


def highest_friction(thread_state: ThreadState) -> float:
    """The highest friction that is reckoned with in a state of the thread."""
    return _OILED_AT_MOST if thread_state is ThreadState.OILED else ROUGH_FRICTION


def _size(thread: Thread) -> str:
    return f"M{thread.diameter.normalize():f}"


def has_bearing(thread: Thread) -> bool:
    """Whether the bearing surface under the head of such a thread is known here."""
    return _size(thread) in BEARING


def torque_at_yield(thread: Thread, property_class: str, friction: float, bore: float = 0) -> float:
    """The torque in N·m that brings a bolt with a `bore` in mm to its yield point (VDI 2230)."""
    preload = assembly_preload(thread, property_class, friction, share=1.0, bore=bore)
    return tightening_torque(thread, preload, friction)


def usual_torque(
    thread: Thread, property_class: str, friction: float = USUAL_FRICTION, bore: float = 0
) -> float:
    """The torque in N·m that uses 90 % of the yield point (VDI 2230)."""
    return USE_OF_YIELD * torque_at_yield(thread, property_class, friction, bore)


def breaking_torque(thread: Thread, property_class: str, friction: float) -> float:
    """The torque in N·m that loads a bolt to its breaking load (ISO 898-1); twist not counted."""
    return tightening_torque(thread, breaking_load(thread, property_class), friction)


def general_torque(
    thread: Thread, property_class: str, thread_state: ThreadState
) -> float | Reason:
    """The torque in N·m that a general thread table would give, where the maker's is not known.

    Coarse threads M4 to M16 in steel, 90 % of the yield point (VDI 2230). It is never maker's
    data. The reason, where no general figure can be given.

    >>> from kitting.facts.threads import parse_thread
    >>> round(general_torque(parse_thread("M8"), "8.8", ThreadState.DRY))
    25
    """
    if not has_bearing(thread) or COARSE_PITCH.get(thread.diameter) != thread.pitch:
        return because(GeneralTorqueReason.THREAD_NOT_IN_TABLE, thread=thread.name)
    if property_class in STAINLESS or property_class in GRADES:
        return because(GeneralTorqueReason.NOT_OF_BOLTS, property_class=property_class)
    if thread_state not in FRICTION:
        return because(GeneralTorqueReason.NEITHER_DRY_NOR_OILED)
    return usual_torque(thread, property_class, FRICTION[thread_state])
