"""Why tools can or cannot do something, as codes; the words are in `kitting.wording.tools`."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class ToolReason(ReasonCode):
    """Why a requirement is not met, or not proven; OF_TOOL names the tool that a reason is of."""

    OF_TOOL = "of tool"
    NO_FIGURE = "no figure"
    NO_HEAD = "no head"
    NO_TOOLBOX = "no toolbox"
    NONE_IN_BOX = "none in the box"
    # What turns the head
    NOTHING_TURNS_IT = "nothing turns it"
    ONLY_FROM_THE_SIDE = "only from the side"
    NO_STRAIGHT_WAY = "no straight way"
    DEPTH_NOT_STATED = "depth not stated"
    NOT_DEEP_ENOUGH = "not deep enough"
    LENGTH_NOT_STATED = "length not stated"
    NOT_LONG_ENOUGH = "not long enough"
    OFFSET_NOT_STATED = "offset not stated"
    NOT_DOWN_A_RECESS = "not down a recess"
    CROWFOOT_IN_RECESS = "crowfoot in recess"
    PERHAPS_OPEN_ENDED = "perhaps open-ended"
    POINTS_NOT_STATED = "points not stated"
    TOO_FEW_POINTS = "too few points"
    # What joins it to the hand
    NO_SQUARE = "no square"
    SQUARE_TOO_WEAK = "square too weak"
    PERHAPS_TOO_WEAK = "perhaps too weak"
    LOAD_NOT_KNOWN = "load not known"
    NO_ADAPTOR = "no adaptor"
    NO_EXTENSION = "no extension"
    NO_UNIVERSAL_JOINT = "no universal joint"
    NO_RATCHET_OR_BAR = "no ratchet or bar"
    NO_BAR = "no bar"
    NO_ANGLE_GAUGE = "no angle gauge"
    GAUGE_SQUARE_NOT_STATED = "gauge square not stated"
    GAUGE_DOES_NOT_FIT = "gauge does not fit"
    LEVER_NOT_STATED = "lever not stated"
    MORE_THAN_A_HAND = "more than a hand"
    NO_TORQUE_WRENCH = "no torque wrench"
    # What measures
    KEY_ONLY = "key only"
    RANGE_NOT_STATED = "range not stated"
    FIGURE_OFF_SCALE = "figure off scale"
    SETTING_OFF_SCALE = "setting off scale"
    BELOW_WHAT_IS_SPECIFIED = "below what is specified"
    CLOCKWISE_ONLY = "clockwise only"
    DIRECTION_NOT_STATED = "direction not stated"
    THREAD_HAND_NOT_STATED = "thread hand not stated"
    NOT_TRUE_ENOUGH = "not true enough"
    TRUENESS_NOT_STATED = "trueness not stated"
    PERHAPS_NOT_TRUE_ENOUGH = "perhaps not true enough"
    DEVIATION_NOT_STATED = "deviation not stated"
    BEYOND_THE_STANDARD = "beyond the standard"
    PERHAPS_BEYOND_THE_STANDARD = "perhaps beyond the standard"
    # Where it is
    LENT = "lent"
    LENT_WITHOUT_DATE = "lent without date"
    LENT_OVERDUE = "lent overdue"
    AT_CALIBRATION = "at calibration"
    AT_CALIBRATION_WITHOUT_DATE = "at calibration without date"
    AT_CALIBRATION_OVERDUE = "at calibration overdue"
    BROKEN = "broken"
    CALIBRATION_NOT_STATED = "calibration not stated"
    CALIBRATION_ENDED = "calibration ended"
    TOO_MANY_CYCLES = "too many cycles"


class LoadReason(ReasonCode):
    """What a torque that nobody states is reckoned with, or why it cannot be."""

    UNDOING_ESTIMATED = "undoing estimated"
    TURNING_ESTIMATED = "turning estimated"
    THREAD_NOT_STATED = "thread not stated"
    THREAD_NOT_RECKONED = "thread not reckoned"
    CLASS_NOT_STATED = "class not stated"
    FRICTION_NOT_KNOWN = "friction not known"
    TEST_TORQUES = "test torques"


class TrainNote(ReasonCode):
    """What has to be known of a drive train before it is used."""

    CROWFOOT_SQUARE = "crowfoot square"
    CROWFOOT_STRAIGHT = "crowfoot straight"
    NEAR_ENOUGH = "near enough"


class ToolOfferReason(ReasonCode):
    """Why no cheapest purchase is named."""

    SEVERAL_CURRENCIES = "several currencies"
