"""What a command was given, and what the branches state that it is about."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any

from kitting.errors import KittingError

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from kitting.services.of_branch import OfBranch

    Asked = Callable[[Session, Mapping[OfBranch, Sequence[str]]], frozenset[str | None]]

# By parameter.
_GIVEN: ContextVar[Mapping[str, Any] | None] = ContextVar("given", default=None)
# Which parameters name something of a branch, and what.
_OF_BRANCH = {
    "branch": "branch",
    "number": "booking",
    "booking": "booking",
    "bookings": "booking",
    "asked": "booking",
    "order": "order",
    "transfer": "transfer",
}


def go_by(given: Mapping[str, Any]) -> None:
    """From now on go by the branches of what a command was given."""
    _GIVEN.set(given)


def stated_by_branches(asked: Asked) -> frozenset[str | None]:
    """What the branches state that a command is about; nothing where there is no database."""
    given = _GIVEN.get() or {}
    if "database" not in given:
        return frozenset()
    from kitting.services.of_branch import OfBranch
    from kitting.store import database_url, open_existing, reading

    named: dict[OfBranch, list[str]] = {}
    for parameter, sort in _OF_BRANCH.items():
        value = given.get(parameter)
        names = value if isinstance(value, list | tuple) else [value]
        named.setdefault(OfBranch(sort), []).extend(n for n in names if isinstance(n, str))
    try:
        engine = open_existing(database_url(given["database"]))
    except KittingError:
        return frozenset()  # the command itself says what is wrong with the database
    try:
        with reading(engine) as session:
            return asked(session, named)
    finally:
        engine.dispose()  # a command may put another file in its place
