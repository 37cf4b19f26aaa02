"""Where words go on a screen: text from data never steers the terminal.

`guarded` stands before both streams while a command runs, so that whatever prints (we, the
parser of the command line, a warning) cannot let a sign through that moves the cursor, colours the
rest or turns it round. What Rich adds for a terminal goes past the guard; its texts do not.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any, TextIO, cast

from kitting.facts.control_characters import visible

if TYPE_CHECKING:
    from rich.console import Console


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
    strict = stdout if isinstance(stdout, TextIOWrapper) and stdout.errors == "strict" else None
    if strict is not None:
        strict.reconfigure(errors="replace")
    # A stream that whoever started us closed is None, and stays so.
    sys.stdout = stdout and cast(TextIO, _Guard(stdout))
    sys.stderr = stderr and cast(TextIO, _Guard(stderr))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = stdout, stderr
        if strict is not None:
            with suppress(OSError, ValueError):  # it flushes what was reported before
                strict.reconfigure(errors="strict")


def console(*, stderr: bool = False) -> Console:
    """Where tables go: text from data never read as markup, steering signs shown as pictures."""
    from rich.console import Console
    from rich.text import Text

    class Plain(Console):
        def render_str(self, text: str, **options: Any) -> Text:
            return super().render_str(visible(text), **options)

    stream = sys.stderr if stderr else sys.stdout
    beneath = stream.stream if isinstance(stream, _Guard) else stream
    return Plain(
        file=beneath, stderr=stderr, markup=False, highlight=False, emoji=False, soft_wrap=False
    )


__all__ = ["console", "guarded"]
