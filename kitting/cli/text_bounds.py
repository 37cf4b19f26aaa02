"""Every text that a command is given is one plain line, no longer than what keeps it."""

from __future__ import annotations

from functools import wraps
from typing import Any

import typer

from kitting.cli.given import go_by
from kitting.cli.spoken import leave_to_branch
from kitting.errors import FigureError
from kitting.facts.bounds import one_line
from kitting.facts.element_strings import SEPARATOR

# A scanner sends signs that end a part of what it read.
_SCANNED = {"scan", "item", "items", "instead"}
_ANY_LENGTH = {"database"}  # read by a driver, kept nowhere


def bound_texts(command: Any) -> None:
    """Make a command, or each of a group, check its texts before anything else is done."""
    for part in getattr(command, "commands", {}).values():
        bound_texts(part)
    run = command.callback
    if run is None:
        return

    @wraps(run)
    def checked(*context: Any, **given: Any) -> Any:
        for parameter in command.params:
            if parameter.name not in _ANY_LENGTH:
                scanned = parameter.name in _SCANNED
                _check(parameter, given.get(parameter.name), scanned=scanned)
        go_by(given)
        leave_to_branch()
        return run(*context, **given)

    command.callback = checked


def _check(parameter: Any, value: object, *, scanned: bool) -> None:
    """Raises a usage error that names the option for a text that is no plain line."""
    for text in value if isinstance(value, list | tuple) else (value,):
        if not isinstance(text, str):
            continue
        text.encode()  # of half a character: UnicodeEncodeError, told as what it is
        try:
            one_line(text.replace(SEPARATOR, "").strip("\r\n\t") if scanned else text)
        except FigureError as error:
            from kitting.wording.language import told

            raise typer.BadParameter(told(error), param=parameter) from error
