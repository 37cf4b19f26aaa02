"""Asking at a terminal for what a command was not told; nobody is asked where none is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Annotated, TypeVar

import typer

from kitting.errors import KittingError
from kitting.facts.bounds import one_line

NoInput = Annotated[
    bool, typer.Option("--no-input", help="Ask nothing, also at a terminal.", show_default=False)
]
_Answer = TypeVar("_Answer")


def at_a_terminal() -> bool:
    """Whether somebody can be asked: both what is asked and what is answered go to a terminal."""
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stderr))


def ask(question: str, read: Callable[[str], _Answer], *, needed: bool = False) -> _Answer | None:
    """The answer to a question, asked again while it cannot be read; None where it stays empty.

    The question goes to standard error. Raises KeyboardInterrupt where no more answers come.
    """
    while True:
        print(f"{question}: ", end="", file=sys.stderr, flush=True)
        try:
            text = input().strip()
        except EOFError as error:
            print(file=sys.stderr)
            raise KeyboardInterrupt from error
        if not text and not needed:
            return None
        try:
            return read(one_line(text))
        except KittingError as error:
            from kitting.wording.language import told

            print(f"  {told(error)}", file=sys.stderr)
