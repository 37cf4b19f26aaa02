"""How a command ends: its exit code, and a sentence instead of a traceback.

What the program can explain, and what befalls any program (a full disk, a reader that has gone, a
key pressed), ends with a sentence. Anything else is a fault of the program and keeps its traceback.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable

from kitting.cli.actions import steps_text, with_steps
from kitting.cli.options import close_databases
from kitting.cli.screen import guarded
from kitting.errors import FileProblemsError, KittingError, Message
from kitting.facts.reasons import RefusedError

FAILED = 1
INTERRUPTED = 130  # as a shell reports Ctrl-C: 128 and the number of the signal
READER_GONE = 141  # as a shell reports a broken pipe


@guarded()
def ended(command: Callable[[], object]) -> int:
    """Run a command and return the exit code; what it printed is out by then."""
    code = _run(command)
    close_databases()
    try:
        if sys.stdout is not None:  # closed by whoever started us
            sys.stdout.flush()
    except BrokenPipeError:
        code = READER_GONE
        _let_go_of_output()
    except OSError as error:
        # Reported already, if it was met while printing.
        if code != FAILED:
            _tell(f"kitting: {system_trouble(error)}")
        code = FAILED
        _let_go_of_output()
    return code


def _run(command: Callable[[], object]) -> int:
    try:
        command()
    except SystemExit as error:
        return _code_of(error)
    except KeyboardInterrupt:
        return _interrupted()
    except FileProblemsError as error:
        count = len(error.problems)
        _tell(_told(error.message))
        _tell(with_steps(f"{count} fault{'s' * (count != 1)}; nothing was loaded", error.then))
    except KittingError as error:
        _tell(f"kitting: {_message(error)}")
    except BrokenPipeError:
        # The reader of our output has gone; that is its right.
        return READER_GONE
    except OSError as error:
        _tell(f"kitting: {system_trouble(error)}")
    except UnicodeEncodeError as error:
        # Half a character, from an argument in another encoding: no database takes it.
        _tell(f"kitting: {error.object[:60]!r} is not UTF-8 text. Type it again, then try again")
    except Exception as error:
        reason = database_trouble(error)
        if reason is None:
            raise
        _tell(f"kitting: {reason}")
    return FAILED


def _message(error: KittingError) -> str:
    if not isinstance(error, RefusedError):
        return with_steps(_told(error.message), error.then)
    from kitting.wording.reasons import say

    if any(reason.then for reason in error.reasons):
        # Each has its own way out: one line for each.
        lines = [with_steps(say(reason), reason.then) for reason in error.reasons]
        if error.then:
            lines.append(steps_text(error.then))
        return "\n  ".join((f"{_told(error.what)}:", *lines))
    reasons = "; ".join(say(reason) for reason in error.reasons)
    return with_steps(f"{_told(error.what)}: {reasons}", error.then)


def _told(message: Message) -> str:
    """A message in the language; in English where what would say the language fails as well."""
    from kitting.wording.language import message_text

    try:
        return message_text(message)
    except Exception as error:
        if not isinstance(error, KittingError | OSError) and database_trouble(error) is None:
            raise
        return str(message)


def _code_of(error: SystemExit) -> int:
    """The exit code that a command asked for; the command line has its own for what it catches."""
    if isinstance(error.__context__, BrokenPipeError):
        return READER_GONE
    if error.code == INTERRUPTED:
        return _interrupted()
    if isinstance(error.code, int):
        return error.code
    if error.code is None:
        return 0
    _tell(str(error.code))
    return FAILED


def _interrupted() -> int:
    _tell("kitting: interrupted. What was not finished has not been recorded")
    return INTERRUPTED


def system_trouble(error: OSError) -> str:
    """What the system refused, in a sentence with what to do."""
    what = f"{error.filename}: " if error.filename else ""
    reason = (error.strerror or str(error) or type(error).__name__).lower()
    steps = {
        errno.ENOSPC: "Make room on the disk",
        errno.EDQUOT: "Make room within your share of the disk",
        errno.EFBIG: "Raise the limit on the size of a file, or choose another disk",
        errno.EROFS: "Choose a place that can be written",
        errno.EACCES: "Ask for the right to it, or choose another place",
        errno.EPERM: "Ask for the right to it, or choose another place",
        errno.EISDIR: "Name a file, not a folder",
        errno.ENOTDIR: "Name a file in a folder that is there",
        errno.ENOENT: "Look at the name",
        errno.ENAMETOOLONG: "Choose a shorter name",
    }
    step = steps.get(error.errno or 0, "Look at the file, the folder and the disk")
    return f"{what}{reason}. {step}, then try again; no file was left half-written"


def database_trouble(error: Exception) -> str | None:
    """A database error in a sentence; None for anything else."""
    database_errors = sys.modules.get("sqlalchemy.exc")
    if database_errors is None or not isinstance(error, database_errors.DBAPIError):
        return None
    from kitting.db_errors import damaged, first_line

    damage = damaged(error)
    if damage is not None:
        return with_steps(str(damage), damage.then)
    return (
        f"the database refused: {first_line(error)}. Nothing was changed. Check that its file is"
        " writable or its server up, and that nobody has it locked, then try again"
    )


def _tell(text: str) -> None:
    # Where even this cannot be printed, the exit code still says it.
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        return


def _let_go_of_output() -> None:
    """Keep the interpreter from trying once more, with a traceback, when it shuts down."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        return
