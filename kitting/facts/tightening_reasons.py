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
    ORDER_WITHOUT_SOURCE = "order without source"


class LayingRemark(ReasonCode):
    """How the time that a bead takes stands to the open time of its product."""

    IN_TIME = "in time"
    TOO_LONG = "too long"
    SPEED_NOT_STATED = "speed not stated"
    OPEN_TIME_NOT_STATED = "open time not stated"
