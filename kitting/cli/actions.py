"""Which command does what a message sends a person to."""

from __future__ import annotations

from collections.abc import Sequence

from kitting.actions import Action, NextStep

# Braces are filled in with the step's value of that name; a word in capitals where it has none.
COMMANDS: dict[Action, str] = {
    Action.SET_UP: "kitting setup",
    Action.LOAD_CATALOGUE: "kitting load {file}",
    Action.SETTLE_VARIANT: "kitting settle {registration} {variant} {option}",
    Action.SETTLE_DESPITE: "kitting settle {registration} {variant} {option} --despite {reason}",
    Action.NAME_BRANCH: "--branch {branch}",
    Action.NAME_DATABASE: "--database {url}",
    Action.REPLACE: "--replace",
    Action.LIST_BRANCH_MEMBERS: "kitting group list",
    Action.SET_UP_ROLES: "kitting group roles --help",
    Action.MAKE_DEMO: "kitting demo {folder}",
    Action.LOAD_TOOLS: "kitting toolbox load {file}",
    Action.RETURN_TOOL: "kitting toolbox back {box} {tool}",
    Action.NAME_CURRENCY: "--currency {currency}",
    Action.BOOK: "kitting book {registration} {job}",
    Action.BOOK_AGAIN: "--again",
    Action.PROMISE: "kitting booking promise {booking}",
    Action.CONFIRM: "kitting booking confirm {booking}",
    Action.PUT_ON_RAMP: "kitting booking ramp {booking}",
    Action.SHOW_BOOKING: "kitting booking show {booking}",
    Action.PICK: "kitting pick {booking}",
    Action.COUNT_SEALS: "kitting count {booking} {joint}={pieces}",
    Action.CLOSE: "kitting close {booking}",
    Action.CLOSE_DESPITE: "kitting close {booking} --despite {reason}",
    Action.PLAN: "kitting plan {registration} {job}",
    Action.CANCEL_BOOKING: "kitting booking cancel {booking}",
    Action.BUY: "kitting buy {booking} --place",
    Action.LOAD_PRICES: "kitting prices {supplier} {file}",
    Action.RECORD_FINDING: "kitting found {booking} {joint} {position} {result}",
    Action.RECEIVE: "kitting receive {order}",
    Action.ANNOUNCE: (
        'kitting order announce {order} --item {item} --again "{quantity}" --due {date}'
    ),
    Action.LOAD_STOCK: "kitting stock load {file}",
    Action.LIST_STOCK: "kitting stock list",
    Action.LIST_TRANSFERS: "kitting stock list --on-the-way",
    Action.COUNT_STOCK: "kitting stock count {item} {lot} {quantity}",
    Action.GIVE_UP: "--give-up",
    Action.HOLD_STOCK: "kitting stock hold {item} {lot} {reason}",
    Action.RELEASE_STOCK: "kitting stock release {item} {lot}",
    Action.SEND_STOCK: "kitting stock send {item} {lot} {quantity}",
    Action.ARRIVE_STOCK: "kitting stock arrive {transfer}",
    Action.EXTEND_STORAGE: "kitting stock extend {item} {lot}",
    Action.AUDIT: "kitting audit",
    Action.BACK_UP: "kitting backup {file}",
    Action.RESTORE: "kitting restore {file} --replace",
}


class _Blanks(dict[str, str]):
    """Values of a step; a name without one is shown in capitals, to be filled in."""

    def __missing__(self, name: str) -> str:
        return name.upper()


def command(step: NextStep) -> str:
    """The command of a step: "kitting booking confirm B0002"; of an option: "--branch upper"."""
    return COMMANDS[step.action].format_map(_Blanks(step.values))


def with_steps(message: str, then: Sequence[NextStep]) -> str:
    """A message with what to do next: "… Next: kitting setup, then kitting load FILE".

    Commands follow one another; an option belongs to the command that was given, and is another
    way out: "Next: kitting setup, or the same command with --database URL".
    """
    if not then:
        return message
    told = [command(step) for step in then]
    ways = [", then ".join(text for text in told if not text.startswith("--"))]
    ways += [f"the same command with {text}" for text in told if text.startswith("--")]
    end = "" if message.endswith(("?", "!")) else "."
    return f"{message.rstrip('. ')}{end} Next: {', or '.join(filter(None, ways))}"
