"""One root error. A message names the thing, the reason and the next step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kitting.actions import NextStep


class KittingError(Exception):
    """Anything the program can explain. Shown without a traceback; exit code 1.

    `then` names what to do next, in order; whoever shows the error puts it into words.
    """

    def __init__(self, message: str = "", *, then: Sequence[NextStep] = ()) -> None:
        super().__init__(message)
        self.then = tuple(then)


class FigureError(KittingError, ValueError):
    """A figure, size or code that could not be read: says what was expected instead."""


class UnknownNameError(KittingError, LookupError):
    """An unknown name: says which known names are near."""


class CatalogueCycleError(KittingError):
    """Steps that need one another in a ring."""


class StoreError(KittingError):
    """The database cannot be opened, is of another revision, or refused a change."""


class ConnectionLostError(StoreError):
    """The server went away or was not reached; the message says what is known of the change."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault of a file: where it stands, what is wrong and what to do.

    `line` counts from 1; 0 means that the fault belongs to the file as a whole. In a workbook it is
    the row of a `sheet`.
    """

    file: str
    line: int
    thing: str
    reason: str
    next_step: str
    sheet: str = ""
    column: str = ""

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line and not self.sheet else self.file
        if self.sheet:
            row = f", row {self.line}" if self.line else ""
            column = f", column {self.column!r}" if self.column else ""
            where = f"{self.file}, sheet {self.sheet!r}{row}{column}"
        return f"{where}: {self.thing}: {self.reason}. {self.next_step}"


class FileProblemsError(KittingError):
    """Every fault of the files read, together; nothing of them was loaded."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(map(str, self.problems)))
