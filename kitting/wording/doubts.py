"""Words of what keeps a line from being fine, and of the entry that would settle it."""

from __future__ import annotations

from kitting.facts.doubt_reasons import DoubtReason
from kitting.wording.reasons import register

_PLACE = "{joint}: {position} ({item})"
register(
    {
        DoubtReason.VARIANT_OPEN: "variant {variant} is not settled",
        DoubtReason.FAILED_AND_OPEN: (
            "{joint}, {position}: it failed its look, and what goes in for it is not known:"
            " {stopped:, }"
        ),
        DoubtReason.NO_FIGURE: (
            "no tightening figure for " + _PLACE + ": look it up, and note it with its source"
        ),
        DoubtReason.ODD_FIGURE: "the figure of " + _PLACE + " is odd, look it up again: {why}",
        DoubtReason.FIGURE_NOT_PROVEN: "the figure of " + _PLACE + ": {why}",
        DoubtReason.FIGURE_OF_ANOTHER: (
            "the figure of " + _PLACE + " was given for {asked}: look up the one for {item}"
        ),
        DoubtReason.NOT_DESCRIBED: "what {joint} takes is not described",
        DoubtReason.FLUID_OF_ANOTHER_SYSTEM: (
            "{joint} is of {system:general}, and none of what it holds is of that:"
            " {media:, }. Look up its fluids"
        ),
        DoubtReason.THREAD_STATE_NOT_STATED: (
            "for which state of the thread the figure of " + _PLACE + " was given is not stated"
        ),
        DoubtReason.THREAD_STATE_CONTRADICTED: _PLACE + ": {why}",
        DoubtReason.NOT_LOCKED: (
            "the thread of " + _PLACE + " is to be locked, and nothing that locks threads is used"
            " at its joint"
        ),
        DoubtReason.PLASTIC_IN_SYSTEM: (
            "the thread of " + _PLACE + " is in plastic, and belongs to {systems: and }: nothing"
            " here proves what it bears. The maker's data and licensed practice decide"
        ),
        DoubtReason.TURNED_BY_ANGLE: (
            _PLACE + " is tightened by an angle, and the maker does not say that it may go back:"
            " tightened so it may have yielded, and is then renewed (common practice, no source)."
            " Look it up"
        ),
        DoubtReason.BEAD_TOO_LONG: "{item} at {place}: {why}",
        DoubtReason.BEAD_TIME_NOT_STATED: "{item} at {place}: {why}",
        DoubtReason.CURE_TIME_NOT_STATED: "how long {item} at {place} has to set is not stated",
        DoubtReason.NO_HEAD: "the head of " + _PLACE + " is not stated",
        DoubtReason.NEVER_MIXED: (
            "{item} is {medium:general}, and {joint} holds {held}: the two must not be mixed"
            " (common practice, no source)"
        ),
        DoubtReason.SPOILS: (
            "{medium:general} ({item}) near {thing} at {joint}: keep it away (common practice,"
            " no source)"
        ),
        DoubtReason.MAY_SPOIL: (
            "nobody says what medium {item} is, and {things: and } near {joint} may be spoiled"
        ),
        DoubtReason.NO_FLUID: "which fluid touches " + _PLACE + " is not stated",
        DoubtReason.NO_RUBBER: "the rubber of " + _PLACE + " is not stated",
        DoubtReason.LUBRICANT_OF_CAR: (
            "the car's maker names {lubricant} for {fluid:general} ({reference}), "
            + _PLACE
            + " names {asked}: ask which holds"
        ),
        DoubtReason.REPLACED_IN_A_RING: (
            "{item} and its replacements run in a ring: ask the supplier which is current"
        ),
        DoubtReason.MAY_COME: "if old stock is not enough, {item} comes: {why}",
        DoubtReason.ANOTHER_HEAD: (
            "{item} has another head ({head}) than {joint}: {position} asks for ({asked})"
        ),
        DoubtReason.ANOTHER_THREAD: (
            "{item} has another thread ({thread}) than {joint}: {position} asks for ({asked})"
        ),
        DoubtReason.ANOTHER_SIZE: (
            "{item} has another size than {asked}, which {joint}: {position} asks for"
        ),
        DoubtReason.SIZE_NOT_STATED: "the size of " + _PLACE + " is not stated",
        DoubtReason.OPINIONS: (
            "how {item} stands {what:, } is an opinion only: the maker's data decide"
        ),
        DoubtReason.ANOTHER_KIND: (
            "{item} is another kind of part than {asked}, which {joint}: {position} asks for: ask"
            " who sells it whether both fit"
        ),
        DoubtReason.ANOTHER_PRODUCT: (
            "{item} is {there}, and {asked}, for which it would stand in, is {wanted}: ask who"
            " sells it whether it may"
        ),
        DoubtReason.ANOTHER_CLASS: (
            "{item} has another property class ({there}) than "
            "{joint}: {position} asks for ({asked})"
        ),
        DoubtReason.CLASS_NOT_STATED: (
            "the property class of {item} is not stated; {joint}: {position} asks for {asked}"
        ),
        DoubtReason.ANOTHER_HARDNESS: (
            "{item} is harder or softer ({there}) than {joint}: {position} asks for ({asked})"
        ),
        DoubtReason.HARDNESS_NOT_STATED: (
            "the hardness of {item} is not stated; {joint}: {position} asks for {asked}"
        ),
        DoubtReason.ANOTHER_RUBBER: (
            "{item} is another rubber ({rubber}) than {joint}: {position} asks for ({asked})"
        ),
    },
    entries={
        DoubtReason.NO_FIGURE: "tightening:",
        DoubtReason.ODD_FIGURE: "stages: of its tightening:",
        DoubtReason.NOT_DESCRIBED: "its fits and uses; or it is not opened: opens",
        DoubtReason.FLUID_OF_ANOTHER_SYSTEM: "fluids: or system: of the joint",
        DoubtReason.THREAD_STATE_NOT_STATED: "thread: dry, oiled or locked, in its tightening:",
        DoubtReason.NOT_LOCKED: (
            "uses: of the joint, or of a step that opens no other joint with threads to lock"
        ),
        DoubtReason.PLASTIC_IN_SYSTEM: "into: of the position",
        DoubtReason.TURNED_BY_ANGLE: "rules: of the fit, source: maker",
        DoubtReason.BEAD_TOO_LONG: "times: of the item, bead: of the use",
        DoubtReason.BEAD_TIME_NOT_STATED: "open: and laying: in the times: of the item",
        DoubtReason.CURE_TIME_NOT_STATED: "cure: in the times: of the item",
        DoubtReason.NO_HEAD: "head: of the item",
        DoubtReason.SPOILS: "near: of the joint, medium: of the item",
        DoubtReason.MAY_SPOIL: "medium: of the item",
        DoubtReason.NO_FLUID: "fluids: of the joint",
        DoubtReason.NO_RUBBER: "elastomer: of the item",
        DoubtReason.LUBRICANT_OF_CAR: "write cars_own: or the source at its lubricant:",
        DoubtReason.REPLACED_IN_A_RING: "correct replaced: of the items",
        DoubtReason.SIZE_NOT_STATED: "ring_inside:, ring_section: of the item",
        DoubtReason.OPINIONS: "media: of the item",
        DoubtReason.ANOTHER_KIND: "replaced: of {asked}",
        DoubtReason.ANOTHER_PRODUCT: "kind:, medium: of both",
        DoubtReason.CLASS_NOT_STATED: "property_class: of the item",
        DoubtReason.HARDNESS_NOT_STATED: "hardness: of the item",
    },
)
