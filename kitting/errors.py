"""One root error. A message names the thing, the reason and the next step.

A message carries the text that it was made of and what fills it in, so that whoever shows it can
tell it in another language; as a plain string it is English.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kitting.actions import NextStep


class Message(str):
    """A text in English: `template` with `{names}`, filled in with `values` of these names.

    A template without values stands as it is, braces and all; a message comes back as it is.

    >>> Message("no stock {code!r}", code="A1")
    "no stock 'A1'"
    """

    __slots__ = ("template", "values")
    template: str
    values: dict[str, object]

    def __new__(cls, template: str = "", /, **values: object) -> Message:
        """A new message; raises KeyError for a name that is not handed over."""
        if isinstance(template, Message) and not values:
            return template
        made = super().__new__(cls, template.format(**values) if values else template)
        made.template = str(template)
        made.values = values
        return made


def joined(parts: Iterable[str], between: str) -> Message:
    """Several messages in a row, with what stands between them, each told for itself."""
    values: dict[str, object] = {f"part{place}": part for place, part in enumerate(parts)}
    return Message(between.join("{" + name + "}" for name in values), **values)


class KittingError(Exception):
    """Anything the program can explain. Shown without a traceback; exit code 1.

    `values` fill in the message. `then` names what to do next, in order; whoever shows the error
    puts both into words.
    """

    def __init__(
        self, message: str = "", /, *, then: Sequence[NextStep] = (), **values: object
    ) -> None:
        self.message = Message(message, **values)
        super().__init__(self.message)
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
        return str(self.message)

    @property
    def message(self) -> Message:
        """The fault in one line."""
        return Message(
            "{where}: {thing}: {reason}. {step}",
            where=self._where,
            thing=self.thing,
            reason=Message(self.reason),
            step=Message(self.next_step),
        )

    @property
    def _where(self) -> Message:
        of = {"file": self.file, "sheet": self.sheet, "row": self.line, "column": self.column}
        if not self.sheet:
            return Message("{file}:{row}" if self.line else "{file}", **of)
        if not self.line:
            return Message(
                "{file}, sheet {sheet!r}, column {column!r}"
                if self.column
                else "{file}, sheet {sheet!r}",
                **of,
            )
        return Message(
            "{file}, sheet {sheet!r}, row {row}, column {column!r}"
            if self.column
            else "{file}, sheet {sheet!r}, row {row}",
            **of,
        )


class FileProblemsError(KittingError):
    """Every fault of the files read, together; nothing of them was loaded."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(joined((one.message for one in self.problems), "\n"))
