"""Remarks on tightening figures, as codes; the words are in `kitting.wording.tightening`."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class GeneralTorqueReason(ReasonCode):
    """Why no figure of the general thread table may stand in for the maker's."""

    SYSTEM = "system"
    KIND = "kind"
    INTO_NOT_STATED = "into not stated"
    INTO = "into"
    THREAD_NOT_STATED = "thread not stated"
    THREAD_NOT_IN_TABLE = "thread not in the table"
    NOT_OF_BOLTS = "not of the class of bolts"
    NEITHER_DRY_NOR_OILED = "neither dry nor oiled"


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
    WIDE_BAND = "wide band"
    NO_THREAD = "no thread"
    NO_CLASS = "no class"
    NO_CLASS_LITTLE = "no class, perhaps very little"
    INTO_PLASTIC = "thread in plastic"
    STRIPS = "strips"
    ENGAGEMENT_NOT_STATED = "perhaps strips, engagement not stated"
    INTO_NOT_STATED = "perhaps strips, material not stated"
    NO_BOLT = "no bolt"


# What cannot be proven until an entry is made, and what nothing that could be stated would prove.
NOT_PROVEN = frozenset(
    {
        TorqueRemark.NO_THREAD,
        TorqueRemark.NO_CLASS,
        TorqueRemark.NO_CLASS_LITTLE,
        TorqueRemark.ENGAGEMENT_NOT_STATED,
        TorqueRemark.INTO_NOT_STATED,
    }
)
NO_RULE = frozenset({TorqueRemark.INTO_PLASTIC, TorqueRemark.NO_BOLT})


class TorqueShown(ReasonCode):
    """How a torque is told that is not a figure by itself."""

    UPPER_END = "upper end"


class ThreadRemark(ReasonCode):
    """How what is put on a thread does not go with the state for which its figure was given."""

    DRY_BUT_PUT_ON = "figure for dry, something is put on"
    DRY_BUT_COATED = "figure for dry, coated"
    DRY_BUT_USED = "figure for dry, something is used"
    OILED_BUT_DRY = "figure for oiled, goes together dry"
    OILED_BUT_LOCKED = "figure for oiled, something locks"
    NOTHING_OILS = "figure for oiled, nothing oils"
    LOCKED_BUT_OILED = "figure for locked, something is put on"


class PatternRemark(ReasonCode):
    """What a drawing of holes does not tell, or why no order stands beside it."""

    NOT_DRAWN = "not drawn"
    NOT_ALL_DRAWN = "not all drawn"
    NOT_TIGHTENED = "not tightened"
    IN_WORDS = "order in words"
    ORDER_OF_OTHER_HOLES = "order of other holes"


class LayingRemark(ReasonCode):
    """How the time that a bead takes stands to the open time of its product."""

    IN_TIME = "in time"
    TOO_LONG = "too long"
    SPEED_NOT_STATED = "speed not stated"
    OPEN_TIME_NOT_STATED = "open time not stated"
