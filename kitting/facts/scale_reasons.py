"""What a scale of a torque wrench lacks to be set to a figure, as codes."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class ScaleReason(ReasonCode):
    """Why the mark nearest to a figure cannot stand for it, or cannot be proven to."""

    OUT_OF_TOLERANCE = "out of tolerance"
    NO_TOLERANCE = "no tolerance"
    PERHAPS_OUT_OF_TOLERANCE = "perhaps out of tolerance"
    STEPS_NOT_STATED = "steps not stated"
