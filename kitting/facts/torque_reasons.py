"""Remarks on torques, as codes; the words are in `kitting.wording.torques`."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class TorqueRemark(ReasonCode):
    """What is odd about figures, though they may be right, and what cannot be told of them.

    NOT_PROVEN and NO_RULE below are not odd.
    """

    BEYOND_YIELD = "beyond yield"
    BEYOND_YIELD_ANY_STATE = "beyond yield, whatever its state"
    BEYOND_STRONGEST = "beyond the strongest class"
    BEYOND_STRONGEST_ANY_STATE = "beyond the strongest class, whatever its state"
    BEYOND_HOLLOW = "beyond what a hollow one bears"
    VERY_LITTLE = "very little"
    HARDLY_ANY = "hardly any"
    FALLING = "falling"
    NO_SNUG_TORQUE = "no snug torque"
    AFTER_ANGLE = "torque after an angle"
    TURNS_FAR = "turns far"
    BACK_FIRST = "turned back first"
    ENDS_LOOSE = "ends turned back"
    WIDE_BAND = "wide band"
    NO_THREAD = "no thread"
    NO_CLASS = "no class"
    NO_CLASS_LITTLE = "no class, perhaps very little"
    INTO_PLASTIC = "thread in plastic"
    STRIPS = "strips"
    ANGLE_STRIPS = "perhaps strips, turned by an angle"
    STRIPS_PLASTIC = "strips even metal, and it is plastic"
    ENGAGEMENT_NOT_STATED = "perhaps strips, engagement not stated"
    INTO_NOT_STATED = "perhaps strips, material not stated"
    NO_BOLT = "no bolt"
    NOT_RECKONED = "thread not reckoned"
    BEYOND_ANY = "beyond what any of its diameter bears"


# What cannot be proven until an entry is made, and what nothing that could be stated would prove.
NOT_PROVEN = frozenset(
    {
        TorqueRemark.NO_THREAD,
        TorqueRemark.NO_CLASS,
        TorqueRemark.NO_CLASS_LITTLE,
        TorqueRemark.ENGAGEMENT_NOT_STATED,
        TorqueRemark.INTO_NOT_STATED,
        TorqueRemark.ANGLE_STRIPS,
    }
)
NO_RULE = frozenset({TorqueRemark.INTO_PLASTIC, TorqueRemark.NO_BOLT, TorqueRemark.NOT_RECKONED})


class TorqueShown(ReasonCode):
    """How a torque is told that is not a figure by itself."""

    UPPER_END = "upper end"
