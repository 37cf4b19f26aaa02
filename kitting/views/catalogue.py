"""The catalogue: what is worth reading after a load or an export."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class LoadRemark(ReasonCode):
    """What stops no load and should be looked into."""

    OVERWRITTEN = "overwritten"
    OVERWRITTEN_TOO = "overwritten too"
    WAS_OTHERWISE = "was otherwise"
    NO_LONGER_CARRIED = "no longer carried"
    GONE_OF_UNIT = "gone of a unit"
    PHOTO_OF_NOTHING = "photo of what is gone"
    REPLACED_IN_A_RING = "replaced in a ring"
    ODD_TORQUE = "odd torque"
    TORQUES_NOT_CHECKED = "torques not checked"
    TORQUES_WITHOUT_CLASS = "torques without class"
    TORQUES_OF_NO_BOLT = "torques of no bolt"
    TORQUES_INTO_PLASTIC = "torques into plastic"
    TORQUES_NOT_RECKONED = "torques of threads that are not reckoned"
    TORQUES_THAT_MAY_STRIP = "torques that may strip"
    BARS_DROPPED = "bars dropped"
    SETTLED_AGAINST = "settled against what is known"
    CHECK_DIGIT = "check digit of a vehicle number"
    TOLD_OTHERWISE = "told otherwise at the garage"
    STILL_UNKNOWN = "still unknown of a patterned joint"
    FLUIDS_UNKNOWN = "fluids of a patterned joint unknown"
    STEP_NEEDS_UNKNOWN = "step needs unknown"
    JOB_NEEDS_UNKNOWN = "job needs unknown"


class ExportRemark(ReasonCode):
    """What an export holds beside what was named, and what it does not hold."""

    WRITTEN_ALONG = "written along"
    MODEL_LEFT_OUT = "model left out"
