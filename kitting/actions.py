"""What a person can do next, as data: the command line names a command for it, a page a button."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Action(StrEnum):
    """Everything that a message may send a person to."""

    SET_UP = "set up"
    LOAD_CATALOGUE = "load catalogue"
    SETTLE_VARIANT = "settle variant"
    SETTLE_DESPITE = "settle despite"
    ADD_CAR = "add car"
    CORRECT_CAR = "correct car"
    SET_OWNER = "set owner"
    NAME_BRANCH = "name branch"
    NAME_DATABASE = "name database"
    REPLACE = "replace"
    LIST_BRANCH_MEMBERS = "list branch members"
    SET_UP_ROLES = "set up roles"
    MAKE_DEMO = "make demo"
    LOAD_TOOLS = "load tools"
    LOAD_RAMPS = "load ramps"
    LOAD_TECHNICIANS = "load technicians"
    RETURN_TOOL = "return tool"
    SAY_UNIT = "say unit"
    STATE_RATE = "state rate"
    NAME_CURRENCY = "name currency"
    BOOK = "book"
    BOOK_AGAIN = "book again"
    CHANGE_DAY = "change day"
    CHANGE_TIME = "change time"
    CHANGE_RAMP = "change ramp"
    NAME_TECHNICIAN = "name technician"
    AGREE_LIMIT = "agree limit"
    MAKE_CHANGE = "make change"
    MOVE_BOOKING = "move booking"
    CLOSE_UP = "close up"
    PROMISE = "promise"
    CONFIRM = "confirm"
    PUT_ON_RAMP = "put on ramp"
    SHOW_BOOKING = "show booking"
    PICK = "pick"
    SHOW_KIT = "show kit"
    MOVE_KIT = "move kit"
    TAKE_UP = "take up"
    PUT_BACK = "put back"
    HAND_BACK = "hand back"
    COUNT_SEALS = "count seals"
    CLOSE = "close"
    CLOSE_DESPITE = "close despite"
    CLOSE_BY_TABLE = "close by table"
    TELL_BACK = "tell back"
    TELL_USED = "tell used"
    TELL_USED_UP = "tell used up"
    PLAN = "plan"
    CANCEL_BOOKING = "cancel booking"
    BUY = "buy"
    BUY_FOR_DATE = "buy for a date"
    FOR_DATE = "for a date"
    DATES = "dates"
    LOAD_PRICES = "load prices"
    RECORD_FINDING = "record finding"
    RECEIVE = "receive"
    RECEIVE_ITEM = "receive item"
    CORRECT_RECEIPT = "correct receipt"
    NAME_NOTE = "name note"
    ANOTHER_LINE = "another line"
    KEEP_GOODS = "keep goods"
    SEND_BACK = "send back"
    CLAIM_WARRANTY = "claim warranty"
    SHOW_ORDER = "show order"
    CANCEL_ORDER = "cancel order"
    ANNOUNCE = "announce"
    LOAD_STOCK = "load stock"
    LIST_STOCK = "list stock"
    LIST_TRANSFERS = "list transfers"
    COUNT_STOCK = "count stock"
    GIVE_UP = "give up"
    HOLD_STOCK = "hold stock"
    RELEASE_STOCK = "release stock"
    NAME_HOLD = "name hold"
    SEND_STOCK = "send stock"
    ARRIVE_STOCK = "arrive stock"
    EXTEND_STORAGE = "extend storage"
    AUDIT = "audit"
    BACK_UP = "back up"
    RESTORE = "restore"


@dataclass(frozen=True, slots=True)
class NextStep:
    """An action with what it is done to, by name: `next_step(Action.CONFIRM, booking="B0002")`."""

    action: Action
    values: tuple[tuple[str, str], ...] = ()


def next_step(action: Action, **values: object) -> NextStep:
    """A next step; the values are shown as they are."""
    return NextStep(action, tuple((name, str(value)) for name, value in values.items()))
