"""Which command does what a message sends a person to."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kitting.actions import Action, NextStep

# Braces are filled in with the step's value of that name; a word in capitals where it has none.
COMMANDS: dict[Action, str] = {
    Action.SET_UP: "kitting setup",
    Action.LOAD_CATALOGUE: "kitting load {file}",
    Action.SETTLE_VARIANT: "kitting settle {registration} {variant} {option}",
    Action.SETTLE_DESPITE: "kitting settle {registration} {variant} {option} --despite {reason}",
    Action.ADD_CAR: "kitting car add {registration} --model {model}",
    Action.CORRECT_CAR: "--correct {reason}",
    Action.SET_OWNER: "kitting owner set {registration} --name {name} --telephone {number}",
    Action.NAME_BRANCH: "--branch {branch}",
    Action.NAME_DATABASE: "--database {url}",
    Action.REPLACE: "--replace",
    Action.LIST_BRANCH_MEMBERS: "kitting group list",
    Action.SET_UP_ROLES: "kitting group roles --help",
    Action.MAKE_DEMO: "kitting demo {folder}",
    Action.LOAD_TOOLS: "kitting toolbox load {file}",
    Action.LOAD_RAMPS: "kitting branch ramps {file}",
    Action.LOAD_TECHNICIANS: "kitting branch technicians {file}",
    Action.RETURN_TOOL: "kitting toolbox back {box} {tool}",
    Action.STATE_RESOLUTION: "kitting toolbox resolution {box} {tool} {resolution}",
    Action.SAY_UNIT: "kitting booking change {booking} --drop {job} --add {unit_job}",
    Action.STATE_RATE: "--rate {currency}=RATE@DATE",
    Action.NAME_CURRENCY: "--currency {currency}",
    Action.CHOOSE: "kitting book {registration} {job} --choose {variant}={option}",
    Action.CHOOSE_ONE: "--choose {variant}={option}",
    Action.CHANGE_CHOICE: "kitting booking change {booking} --choose {variant}={option}",
    Action.BOOK: "kitting book {registration} {job}",
    Action.BOOK_AGAIN: "--again",
    Action.CHANGE_DAY: "kitting booking change {booking} --on {date}",
    Action.CHANGE_RAMP: "kitting booking change {booking} --ramp {ramp}",
    Action.CHANGE_TIME: "kitting booking change {booking} --at {time}",
    Action.NAME_TECHNICIAN: "kitting booking change {booking} --technician {technician}",
    Action.AGREE_LIMIT: "kitting booking change {booking} --limit {money}",
    Action.MAKE_CHANGE: "--make",
    Action.MOVE_BOOKING: "kitting booking change {booking} --on {date}",
    Action.CLOSE_UP: "--close-up",
    Action.PROMISE: "kitting booking promise {booking}",
    Action.CONFIRM: "kitting booking confirm {booking}",
    Action.PUT_ON_RAMP: "kitting booking ramp {booking}",
    Action.SHOW_BOOKING: "kitting booking show {booking}",
    Action.PICK: "kitting pick {booking}",
    Action.SHOW_KIT: "kitting kit show {booking}",
    Action.MOVE_KIT: "kitting kit move {booking} {branch}",
    Action.TAKE_UP: "kitting booking resume {booking}",
    Action.PUT_BACK: "kitting kit return {booking} {pieces}",
    Action.HAND_BACK: "kitting booking handed-back {booking}",
    Action.COUNT_SEALS: "kitting count {booking} {joint}={pieces}",
    Action.CLOSE: "kitting close {booking}",
    Action.CLOSE_DESPITE: "kitting close {booking} --despite {reason}",
    Action.CLOSE_BY_TABLE: "kitting close {booking} --ask {file}",
    Action.TELL_BACK: "--back {pieces}",
    Action.TELL_USED: "--used {pieces}",
    Action.TELL_USED_UP: "--used-up",
    Action.PLAN: "kitting plan {registration} {job}",
    Action.CANCEL_BOOKING: "kitting booking cancel {booking}",
    Action.BUY: "kitting buy {booking} --place",
    Action.FOR_DATE: "--on {on}",
    Action.BUY_FOR_DATE: "kitting buy {booking} --on {on} --place",
    Action.DATES: "kitting dates {booking}",
    Action.LOAD_PRICES: "kitting prices {supplier} {file}",
    Action.RECORD_FINDING: "kitting findings {booking} {joint} {position} {result}",
    Action.RECEIVE: "kitting receive {order}",
    Action.RECEIVE_ITEM: "kitting receive {order} --item {item} --good {quantity}",
    Action.CORRECT_RECEIPT: "kitting order correct {order} {item} --why {reason}",
    Action.NAME_NOTE: "--note-no {number}",
    Action.ANOTHER_LINE: "--another-line",
    Action.KEEP_GOODS: "kitting order keep {order} {item} {quantity} --lot {lot}",
    Action.SEND_BACK: ("kitting order return {order} {item} {quantity} --lot {lot} --why {reason}"),
    Action.CLAIM_WARRANTY: (
        "kitting order warranty {order} {item} {quantity} --lot {lot} --why {reason}"
    ),
    Action.SHOW_ORDER: "kitting order show {order}",
    Action.CANCEL_ORDER: "kitting order cancel {order}",
    Action.ANNOUNCE: (
        "kitting order announce {order} --item {item} --again {quantity} --due {date}"
    ),
    Action.LOAD_STOCK: "kitting stock load {file}",
    Action.LIST_STOCK: "kitting stock list",
    Action.LIST_TRANSFERS: "kitting stock list --on-the-way",
    Action.COUNT_STOCK: "kitting stock count {branch} {item} {lot} {quantity}",
    Action.GIVE_UP: "--give-up",
    Action.HOLD_STOCK: "kitting stock hold {branch} {item} {lot} --why {reason}",
    Action.RELEASE_STOCK: "kitting stock release {branch} {item} {lot}",
    Action.NAME_HOLD: "--hold {hold}",
    Action.SEND_STOCK: "kitting stock send {branch} {item} {lot} {quantity} --to {to}",
    Action.ARRIVE_STOCK: "kitting stock arrive {transfer}",
    Action.EXTEND_STORAGE: "kitting stock extend {branch} {item} {lot}",
    Action.AUDIT: "kitting audit",
    Action.BACK_UP: "kitting backup {file}",
    Action.RESTORE: "kitting restore {file} --replace",
}


# Values that are several words of a command, each plain.
_SEVERAL = frozenset({"booking"})
_PLAIN = re.compile(r"[\w.,:/@%+=-]+")
_IN_QUOTES = re.compile(r'(["\\$`])')


class _Blanks(dict[str, str]):
    """Values of a step; a name without one is shown in capitals, to be filled in."""

    def __missing__(self, name: str) -> str:
        return name.upper()


def command(step: NextStep) -> str:
    """The command of a step: "kitting booking confirm B0002"; of an option: "--branch upper"."""
    values = {name: _word(name, value) for name, value in step.values}
    return COMMANDS[step.action].format_map(_Blanks(values))


def _word(name: str, value: str) -> str:
    quoted = len(value) > 1 and value.startswith('"') and value.endswith('"')
    return value if quoted or name in _SEVERAL else as_word(value)


def as_word(value: str) -> str:
    """A value as one word of a command that can be copied: in quotes where it needs them."""
    return value if _PLAIN.fullmatch(value) else '"' + _IN_QUOTES.sub(r"\\\1", value) + '"'


def with_steps(message: str, then: Sequence[NextStep]) -> str:
    """A message with what to do next: "… Next: kitting setup, then kitting load FILE".

    Commands follow one another; an option belongs to the command that was given, and is another
    way out: "Next: kitting setup, or the same command with --database URL".
    """
    if not then:
        return message
    end = "" if message.endswith(("?", "!")) else "."
    return f"{message.rstrip('. ')}{end} {steps_text(then)}"


def steps_text(then: Sequence[NextStep]) -> str:
    """What to do next, in a sentence of its own: "Next: kitting setup, then kitting load FILE"."""
    told = [command(step) for step in then]
    ways = [", then ".join(text for text in told if not text.startswith("--"))]
    ways += [f"the same command with {text}" for text in told if text.startswith("--")]
    return f"Next: {', or '.join(filter(None, ways))}"
