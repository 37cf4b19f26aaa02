"""What rings and glands are judged by, and why: words and reasons, put into words elsewhere."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode
from kitting.facts.words import Word


class GlandShare(Word):
    """A share that a gland has of a ring, in percent."""

    SQUEEZE = "squeeze"
    STRETCH = "stretch"
    FILL = "fill"


class DecidedBy(Word):
    """The measurement that tells two rings apart."""

    INSIDE = "inside"
    SECTION = "section"
    GROOVE_AND_BORE = "groove and bore"


class GlandCase(ReasonCode):
    """The case in which a share leaves its guidance."""

    NOMINAL = "nominal"
    THIN_IN_DEEP = "thinnest section, deepest gland"
    THICK_IN_SHALLOW = "thickest section, shallowest gland"
    WIDEST = "widest ring"
    NARROWEST = "narrowest ring"


class GlandFault(ReasonCode):
    """How a share leaves its guidance; narrowly where it does by less than 0.1 %."""

    BELOW = "below"
    NARROWLY_BELOW = "narrowly below"
    ABOVE = "above"
    NARROWLY_ABOVE = "narrowly above"


class GaugeReason(ReasonCode):
    """How close groove and bore must be measured for an answer to hold."""

    CLOSE_ENOUGH = "close enough"
    FINER = "finer"
    NONE_DECIDES = "none decides"


class DeciderReason(ReasonCode):
    """What tells the first ring of a ranked list from the second."""

    NO_SIZE = "no size"
    ONLY_ONE = "only one"
    USED = "used"
    USED_TWO = "used, two sizes"
    OUT_OF_REACH = "out of reach"
    USED_OUT_OF_REACH = "used, out of reach"
    DECIDED = "decided"
    OVERLAPPING = "overlapping"
    MEASURE_FINER = "measure finer"
    NOTHING_SUITS = "nothing suits"
    USED_IN_GLAND = "used, in a gland"
    ONLY_FIRST_SUITS = "only the first suits"
    BOTH_SUIT_ALIKE = "both suit alike"
    BOTH_SUIT = "both suit"


class RingDifference(ReasonCode):
    """How a ring differs from one that it could be swapped with; the parts are below."""

    DIFFERS = "differs"
    PERHAPS = "perhaps"
    SAME = "same"
    SECTION = "section"
    INSIDE = "inside"
    RUBBER = "rubber"
    HARDNESS = "hardness"
    COLOUR = "colour"
    NO_SIZE = "no size"
    NO_RUBBER = "no rubber"
    NO_HARDNESS = "no hardness"
    OTHER_NO_SIZE = "no size of the other"
    OTHER_NO_RUBBER = "no rubber of the other"
    OTHER_NO_HARDNESS = "no hardness of the other"


class OtherRing(ReasonCode):
    """Why an item of the same size is not the same ring."""

    OTHER_MATERIAL = "other material"
    NOT_KNOWN = "not known"
    NO_ELASTOMER = "no elastomer"
    NO_HARDNESS = "no hardness"
    MATERIAL = "material"
    MATERIAL_NO_HARDNESS = "material without hardness"
    HARDNESS_ONLY = "hardness only"
    MATERIAL_UNSTATED = "material unstated"
