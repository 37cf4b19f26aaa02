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
    NEITHER_DRY_NOR_OILED = "neither dry nor oiled"


class TorqueRemark(ReasonCode):
    """What is odd about a figure, though it may be right; AT names the position."""

    BEYOND_YIELD = "beyond yield"
    VERY_LITTLE = "very little"
