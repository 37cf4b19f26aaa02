"""What is odd about a torque, or cannot be told of it, in words."""

from __future__ import annotations

from kitting.facts.torque_reasons import TorqueRemark, TorqueShown
from kitting.wording.reasons import register

register(
    {
        TorqueRemark.BEYOND_YIELD: (
            "{torque} takes a {thread} bolt of class {property_class}, {state}, beyond its yield"
            " point (reached at about {yields_at})"
        ),
        TorqueRemark.BEYOND_YIELD_ANY_STATE: (
            "{torque} takes a {thread} bolt of class {property_class} beyond its yield point"
            " whatever the state of its thread (reached at {yields_at} at the latest)"
        ),
        TorqueRemark.BEYOND_STRONGEST: (
            "{torque} takes a thread of {thread} beyond its yield point even of class"
            " {property_class}, the strongest that such a fastener is made in (reached at about"
            " {yields_at}); its own class is not stated"
        ),
        TorqueRemark.BEYOND_STRONGEST_ANY_STATE: (
            "{torque} takes a thread of {thread} beyond its yield point even of class"
            " {property_class}, the strongest that such a fastener is made in, whatever the state"
            " of its thread (reached at {yields_at} at the latest); its own class is not stated"
        ),
        TorqueRemark.BEYOND_HOLLOW: (
            "{torque} takes a hollow {thread} screw in class {property_class} beyond its yield"
            " point (reckoned with a bore of {bore} mm it is reached at {yields_at}: common"
            " practice, no source)"
        ),
        TorqueRemark.VERY_LITTLE: "{torque} is very little for {thread}",
        TorqueRemark.HARDLY_ANY: "{torque} is very little for {thread}: look it up again",
        TorqueRemark.FALLING: (
            "stage {stage} ({torque}) is less than stage {before} ({larger}): is the order right,"
            " or is it loosened in between (a stage such as '-90°')?"
        ),
        TorqueRemark.NO_SNUG_TORQUE: (
            "stage {stage} ({degrees}°) turns on from no torque: the snug torque before it is not"
            " stated"
        ),
        TorqueRemark.AFTER_ANGLE: (
            "stage {stage} ({torque}) comes after a turn by an angle, which may have given more by"
            " then: is the order right, or is it loosened in between (a stage such as '-90°')?"
        ),
        TorqueRemark.TURNS_FAR: "{degrees}° in all is more than a whole turn",
        TorqueRemark.BACK_FIRST: (
            "stage 1 turns back by {degrees}° before anything is tightened: is the order right?"
        ),
        TorqueRemark.ENDS_LOOSE: (
            "it ends with turning back by {degrees}°, and what it holds then is not known: look it"
            " up again"
        ),
        TorqueRemark.WIDE_BAND: "± {band} is more than half of {torque}",
        TorqueRemark.NO_THREAD: "{torque} cannot be checked: no thread is stated",
        TorqueRemark.NO_CLASS: (
            "{torque} cannot be proven: no property class is stated, and of class {property_class},"
            " which it may be, {thread} is beyond its yield point (reached at {yields_at})"
        ),
        TorqueRemark.NO_CLASS_LITTLE: (
            "{torque} cannot be proven: no property class is stated, and of class {property_class},"
            " which it may be, it is very little for {thread}"
        ),
        TorqueRemark.NO_BOLT: (
            "{torque} cannot be checked: nothing is known here of what such a part bears, and its"
            " maker's figure decides"
        ),
        TorqueRemark.STRIPS: (
            "{torque} strips a thread of {thread} in {material}: engaged by {engaged} it gives way"
            " at about {strips_at} (reckoned with a shear strength of {strength} MPa, from memory)"
        ),
        TorqueRemark.ANGLE_STRIPS: (
            "the turn by an angle cannot be proven: it may load a {thread} bolt of class"
            " {property_class} to its yield point (about {load} kN), and {material}, engaged by"
            " {engaged}, strips at about {strips_at} kN (reckoned with"
            " a shear strength of {strength} MPa, from memory)"
        ),
        TorqueRemark.STRIPS_PLASTIC: (
            "{torque} strips a thread of {thread} even in {material}, engaged by {engaged} (it"
            " gives way at about {strips_at} there, reckoned with a shear strength of {strength}"
            " MPa, from memory), and it goes into plastic, which bears less"
        ),
        TorqueRemark.BEYOND_ANY: (
            "{torque} is more than any screw of the diameter of {thread} bears: a solid one of"
            " class {property_class} breaks at {breaks_at}, dry and rough"
        ),
        TorqueRemark.ENGAGEMENT_NOT_STATED: (
            "{torque} cannot be proven: how far its thread is engaged is not stated, and"
            " engaged by {engaged}, {thread} in {material} strips at about"
            " {strips_at} (reckoned with a shear strength of {strength} MPa, from memory)"
        ),
        TorqueRemark.INTO_NOT_STATED: (
            "{torque} cannot be proven: what its thread is cut into is not stated, and"
            " engaged by {engaged}, {thread} in {material} strips at about"
            " {strips_at} (reckoned with a shear strength of {strength} MPa, from memory)"
        ),
        TorqueRemark.NOT_RECKONED: (
            "{torque} cannot be checked: what a thread of {thread} bears is not reckoned here, and"
            " its maker's figure decides"
        ),
        TorqueRemark.INTO_PLASTIC: (
            "{torque} cannot be checked: the thread is in plastic, where the class of the bolt"
            " tells little, and the figure of the maker of the plastic part decides"
        ),
    },
    entries={
        TorqueRemark.VERY_LITTLE: "about {usual} is usual: was it {meant: or }?",
        TorqueRemark.HARDLY_ANY: (
            "about {usual} is usual; what sets the play of a bearing is a kind of its own, kind:"
            " bearing-adjuster, of the item"
        ),
        TorqueRemark.ENDS_LOOSE: (
            "what sets the play of a bearing is a kind of its own, kind: bearing-adjuster, of the"
            " item"
        ),
        TorqueRemark.NO_THREAD: "thread: of the item",
        TorqueRemark.NO_CLASS: "property_class: of the item",
        TorqueRemark.NO_CLASS_LITTLE: "about {usual} is usual; property_class: of the item",
        TorqueRemark.ANGLE_STRIPS: "engagement: of the position",
        TorqueRemark.ENGAGEMENT_NOT_STATED: "engagement: of the position",
        TorqueRemark.INTO_NOT_STATED: "into: of the position",
    },
)
register({TorqueShown.UPPER_END: "{most}, the upper end of {torque} ± {band},"})
