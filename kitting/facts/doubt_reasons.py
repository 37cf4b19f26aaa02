"""What keeps a line from being fine, as codes; each text names the entry that would settle it."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class DoubtReason(ReasonCode):
    """Why a line of a plan or of a kit is not fine."""

    VARIANT_OPEN = "variant open"
    NO_FIGURE = "no figure"
    ODD_FIGURE = "odd figure"
    FIGURE_NOT_PROVEN = "figure not proven"
    FIGURE_OF_ANOTHER = "figure of another part"
    NOT_DESCRIBED = "not described"
    THREAD_STATE_NOT_STATED = "thread state not stated"
    THREAD_STATE_CONTRADICTED = "thread state contradicted"
    NOT_LOCKED = "not locked"
    TURNED_BY_ANGLE = "turned by an angle"
    BEAD_TOO_LONG = "bead too long"
    BEAD_TIME_NOT_STATED = "bead time not stated"
    CURE_TIME_NOT_STATED = "cure time not stated"
    NO_HEAD = "no head"
    SPOILS = "spoils what is near"
    MAY_SPOIL = "may spoil what is near"
    NO_FLUID = "no fluid"
    NO_RUBBER = "no rubber"
    LUBRICANT_OF_CAR = "lubricant of the car"
    REPLACED_IN_A_RING = "replaced in a ring"
    MAY_COME = "may come"
    ANOTHER_HEAD = "another head"
    ANOTHER_THREAD = "another thread"
    ANOTHER_SIZE = "another size"
    SIZE_NOT_STATED = "size not stated"
    ANOTHER_PRODUCT = "another product"
    ANOTHER_CLASS = "another class"
    CLASS_NOT_STATED = "class not stated"
    ANOTHER_HARDNESS = "another hardness"
    HARDNESS_NOT_STATED = "hardness not stated"
    ANOTHER_KIND = "another kind of part"
    ANOTHER_RUBBER = "another rubber"
    OPINIONS = "opinions"
