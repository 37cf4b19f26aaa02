"""Reasons that a plan gives: who decides, what is settled, how amounts arise, what stops a line."""

from __future__ import annotations

from kitting.facts.reasons import ReasonCode


class RuleReason(ReasonCode):
    """Who decides where no source has a reference, and why a source that spoke did not decide."""

    NOBODY_ALLOWS = "nobody allows it to go back"
    NOT_SOLD_SINGLY = "contents not sold singly"
    WENT_BACK = "went back before"
    FOUND_FAILED = "found failed"
    FOUND_SOME_FAILED = "some of its pieces found failed"
    JOB_RENEWS = "a job renews it"
    LIMIT_REACHED = "limit reached"
    LIMIT_IN_PLAN = "limit reached in this plan"
    LIMIT_BY_PLAN = "limit reached by this plan, after what went before"
    RELAXED_BY_NOBODY = "relaxed by nobody"
    RELAXED_ONLY_BY = "relaxed only by"
    STRICTER = "stricter"
    RANKS_ABOVE = "ranks above"
    SPEAKS_OF_THIS_CASE = "speaks of this case"


class VariantReason(ReasonCode):
    """Why a split is settled, or why it is still open."""

    SEEN = "seen at the car"
    CHOSEN = "chosen by the customer"
    NOT_CHOSEN = "not chosen"
    MATCHES = "matches"
    NO_OPTION_FITS = "no option fits"
    NO_OPTION_FITS_NOTHING_KNOWN = "no option fits, nothing known"
    SEVERAL_FIT = "several options fit"
    NOT_KNOWN = "not known"
    ONLY_INSPECTION = "only an inspection decides"


class AmountReason(ReasonCode):
    """How an amount of a consumable arose."""

    STATED = "stated"
    BEAD = "bead"
    BEAD_OF_TUBES = "bead of several tubes"
    NOZZLE_SHARED = "nozzle still open"
    NOZZLE_OF_ITS_OWN = "whether the nozzle is still open is not known"
    FILM = "film"
    DROPS = "drops"
    LUBRICANT = "lubricant"
    NOTED = "noted"
    SEVERAL_TIMES = "several times"
    AT_JOINT = "at joint"
    AT_STEP = "at step"
    COMES_TO = "comes to"
    PUT_ON = "put on"


class ContactReason(ReasonCode):
    """Who rates a rubber in a medium, and what a contact comes to."""

    TABLE = "general table"
    TABLE_AND_OTHERS = "general table and others"
    NOBODY_RATES = "nobody rates it"
    REFERENCE = "reference"
    RATED = "rated"
    RATED_WITH_NOTE = "rated with note"
    RATED_AGAINST = "rated against a certain rating"
    MEDIUM_UNKNOWN = "medium unknown"
    PRODUCT_UNKNOWN = "medium of a product unknown"
    MEDIA_SETTLE = "media of the item settle it"
    HEAT_SETTLES = "another rubber or temperature settles it"
    GOES_ON_DRY = "goes on dry"
    TEMPERATURE_UNKNOWN = "temperature limits unknown"
    TEMPERATURE = "temperature limits"
    TEMPERATURE_FAR_BEYOND = "far beyond temperature limits"
    PLACE_NOT_STATED = "place not stated"
    BROUGHT = "brought by a packet"
    MAY_BE_BROUGHT = "may be brought by a packet"


class ContactPlace(ReasonCode):
    """A contact with its place: what touches what at which position, and what would do instead."""

    IN_FLUID = "in fluid"
    IN_FLUID_INSTEAD = "in fluid, instead"
    ON_RUBBER = "on rubber"
    ON_RUBBER_INSTEAD = "on rubber, instead"
    AT_HEAT = "at heat"
    AT_HEAT_INSTEAD = "at heat, instead"
    AS_RECORDED = "as recorded"
    LEFT_OFF = "left off"
    STOPS_BOOKING = "stops a booking"
    NOT_READY = "not ready"


class NoteReason(ReasonCode):
    """What else is worth knowing of a line."""

    GROUP = "group"
    GROUP_CLOSED = "rest of the group stays closed"
    REFIT_LIMIT = "refit limit"
    REFIT_LIMIT_WITHOUT_SOURCE = "refit limit without source"
    AMOUNT_WITHOUT_SOURCE = "amount without source"
    AMOUNTS_WITHOUT_SOURCE = "some amounts without source"
    NOT_SOLD_SINGLY = "not sold singly"
    BRINGS = "brings"
    CONTENT = "content"
    REPLACED = "replaced"
    REPLACED_WITH_NOTE = "replaced with note"
    STANDS_FOR = "stands for"
    ONLY_WITH = "only with"


class InsteadReason(ReasonCode):
    """An item that would do instead of what clashes, and how sure that is."""

    CERTAIN = "certain"
    OF_MEDIUM_CERTAINTY = "of medium certainty"


class LubricantReason(ReasonCode):
    """What a position is assembled with, or what it must not be assembled with."""

    DRY = "dry"
    PRODUCT = "product"
    CLASH = "clash"
    CLASH_ASK_MAKER = "clash, ask the maker"


class StopReason(ReasonCode):
    """What stops a line: nothing of it is ordered, picked or labelled."""

    VARIANT = "variant"
    RUBBER_IN_FLUID = "rubber in fluid"
    RUBBER_AT_HEAT = "rubber at heat"
    LUBRICANT_ON_RUBBER = "lubricant on rubber"


class Answer(ReasonCode):
    """What a plan says of one of its entries."""

    LINE = "line"
    LINE_WITH_CRITERION = "line with criterion"
    USED = "used"
    DONE_ONCE = "done once"
    OPENED = "opened"
    OF_TOOLBOX = "asked of the toolbox"


class DecidedBy(ReasonCode):
    """Who or what decided an entry of a plan."""

    SOURCE = "source"
    SUM = "sum"
    JOBS = "jobs"
    STEPS = "steps"
    PLACES = "places"


class ChangeReason(ReasonCode):
    """What would change an entry of a plan, or is worth knowing of it."""

    STOPPED_UNTIL = "stopped until settled"
    IN_PACKET = "comes in a packet"
    ABOVE_GENERAL = "a higher source goes first"
    NEEDS_A_RULE = "needs a rule"
    RENEWED_IF_FAILED = "renewed if it fails"
    SHARED = "shared"
    CLASH = "clash"
    CONTACT = "contact"
