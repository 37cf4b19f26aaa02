"""Where words go on a screen: text from data never steers the terminal.

`guarded` stands before both streams while a command runs, so that whatever prints (we, the
parser of the command line, a warning) cannot let a sign through that moves the cursor, colours the
rest or turns it round. What Rich adds for a terminal goes past the guard; its texts do not.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any, TextIO, cast

from kitting.facts.control_characters import visible

if TYPE_CHECKING:
    from rich.console import Console

# How streams treat a letter that they lack where they refuse it (PEP 540: also in locale C).
_REFUSING = ("strict", "surrogateescape")
BOUNDLESS = 1_000_000
"""Columns of what is no screen: more than any line has."""


class _Guard:
    """A stream that shows steering signs as pictures; in everything else it is the stream."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream

    def write(self, text: str) -> int:
        return self.stream.write(visible(text))

    def writelines(self, texts: Any) -> None:
        for text in texts:
            self.write(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)


@contextmanager
def guarded() -> Iterator[None]:
    """Guard standard output and standard error while inside.

    On a screen or in a file of few letters a letter that it lacks is a question mark.
    """
    stdout, stderr = sys.stdout, sys.stderr
    own = stdout if isinstance(stdout, TextIOWrapper) and stdout.errors in _REFUSING else None
    errors = None if own is None else own.errors
    if own is not None:
        own.reconfigure(errors="replace")
    # A stream that whoever started us closed is None, and stays so.
    sys.stdout = stdout and cast(TextIO, _Guard(stdout))
    sys.stderr = stderr and cast(TextIO, _Guard(stderr))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = stdout, stderr
        if own is not None:
            with suppress(OSError, ValueError):  # it flushes what was reported before
                own.reconfigure(errors=errors)


def columns(stream: Any) -> int | None:
    """How wide lines are on a stream: as its screen is, or as KITTING_COLUMNS says.

    Boundless where it is no screen: what is written to a file or another program has a row per
    line, so that it can be searched and counted.
    """
    stated = os.environ.get("KITTING_COLUMNS", "")
    if stated.isdecimal() and 0 < len(stated) < 6 and int(stated):
        return int(stated)
    return None if stream is not None and stream.isatty() else BOUNDLESS


def console(*, stderr: bool = False) -> Console:
    """Where tables go: text from data never read as markup, steering signs shown as pictures."""
    stream = sys.stderr if stderr else sys.stdout
    beneath = stream.stream if isinstance(stream, _Guard) else stream
    return console_on(beneath, columns(beneath), stderr=stderr)


def console_on(file: Any, width: int | None, *, stderr: bool = False) -> Console:
    """A console that writes lines of a width (None: of the screen) to a file."""
    from rich.console import Console, ConsoleOptions, RenderResult
    from rich.text import Text

    from kitting.cli.wrapping import wrapped

    class Prose:
        """Sentences, broken between words where the screen ends."""

        def __init__(self, text: str) -> None:
            self.text = visible(text)

        def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
            room = BOUNDLESS if options.no_wrap else options.max_width
            for line in wrapped(self.text, room):
                yield Text(line, no_wrap=True, overflow="ignore")

    class Plain(Console):
        def render_str(self, text: str, **options: Any) -> Text:
            return super().render_str(visible(text), **options)

        def print(self, *objects: Any, **options: Any) -> None:
            """Print texts and tables; a word that is longer than a line is not cut."""
            told = (Prose(one) if isinstance(one, str) else one for one in objects)
            super().print(*told, **{"crop": False} | options)

    return Plain(
        file=file, stderr=stderr, width=width, markup=False, highlight=False, emoji=False,
        soft_wrap=False,
    )  # fmt: skip


__all__ = ["BOUNDLESS", "columns", "console", "console_on", "guarded"]
