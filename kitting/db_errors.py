"""What a database refused: the error that says what was refused, why, and what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DatabaseError, DataError, DBAPIError, OperationalError
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.errors import ConnectionLostError, StoreError

_SQLITE = b"SQLite format 3\0"  # the first bytes of every SQLite file (its file format, 1.3)
_DENIED = "42501"  # SQLSTATE insufficient_privilege: a right that is not granted, or a row policy
_READ_ONLY = "25006"  # SQLSTATE read_only_sql_transaction: a stand-by, or a server set so


def file_trouble(path: Path) -> str | None:
    """Why a file cannot be a SQLite database, by its first bytes alone; None if it can.

    A device or a pipe is not opened: reading it may never end.
    """
    if path.exists() and not (path.is_file() or path.is_dir()):
        return "is a device or a pipe, no database"
    with path.open("rb") as file:
        start = file.read(len(_SQLITE))
    if not start:
        return "is empty (0 bytes): it is no database, or lost all that was in it"
    return None if start == _SQLITE else "is no SQLite database, or its beginning is damaged"


def damaged(error: DBAPIError) -> StoreError | None:
    """The error of a damaged SQLite file; None if something else is wrong."""
    reason = first_line(error)
    if "malformed" not in reason and "not a database" not in reason:
        return None
    return StoreError(
        "the database is damaged: {reason}. Stop writing to it. Put the file aside as it is, and"
        " restore the newest backup",
        reason=reason,
        then=(next_step(Action.RESTORE),),
    )


def what_to_check(error: DatabaseError) -> str:
    """What to look at when a database cannot be read."""
    reason = first_line(error)
    if "readonly database" in reason or "unable to open database file" in reason:
        return (
            "SQLite keeps a log beside the file, so it needs to write in its folder even to read."
            " Get the right to it, or copy the file to another folder"
        )
    return "Check the address, the server and the file"


@contextmanager
def explained_reading() -> Iterator[None]:
    """A lost connection, and rows that a login may not read, as StoreErrors."""
    try:
        yield
    except DBAPIError as error:
        if _lost(error):
            raise ConnectionLostError(_lost_words(error, committing=False)) from error
        if getattr(error.orig, "sqlstate", None) == _DENIED:
            raise _denied(first_line(error)) from error
        raise


@contextmanager
def explained_writing(committing: Sequence[Session], patience: int) -> Iterator[None]:
    """Database errors of a change as StoreErrors.

    `committing` fills when the change is being recorded; `patience` is how long it waited its turn,
    in milliseconds.
    """
    try:
        yield
    except DBAPIError as error:
        if _lost(error):
            raise ConnectionLostError(_lost_words(error, committing=bool(committing))) from error
        refusal = _refused(error, patience)
        if refusal is None:
            raise
        raise refusal from error


def _lost(error: DBAPIError) -> bool:
    """Whether the server went away or was not reached, rather than refused something."""
    # What the server itself says has an SQLSTATE; what the client notices has none.
    stateless = getattr(error.orig, "sqlstate", "") is None
    return error.connection_invalidated or (isinstance(error, OperationalError) and stateless)


def _lost_words(error: DBAPIError, *, committing: bool) -> str:
    known = (
        "Whether the change was recorded is not known; look before you do it again"
        if committing
        else "Nothing was recorded; try again"
    )
    return f"the connection to the database was lost: {first_line(error)}. {known}"


def _refused(error: DBAPIError, patience: int) -> StoreError | None:
    """The error of a change that was refused; None for what is a fault of the program."""
    damage = damaged(error)
    if damage is not None:
        return damage
    reason, state = first_line(error), getattr(error.orig, "sqlstate", None)
    if "database is locked" in reason or "lock timeout" in reason:
        return StoreError(
            "others were writing to the database for {patience:g} seconds. Nothing was recorded;"
            " try again",
            patience=patience / 1000,
        )
    if state == _DENIED:
        return _denied(reason)
    if state == _READ_ONLY:
        return StoreError(
            "this server takes no changes: {reason}. Nothing was recorded; name every server in"
            " the URL, so that the one that takes them is found",
            reason=reason,
        )
    if isinstance(error, DataError):
        return StoreError(
            "the database refused the change: {reason}. Nothing was recorded; write it shorter",
            reason=reason,
        )
    if not isinstance(error, OperationalError):
        return None
    return StoreError(
        "the database refused the change: {reason}. Nothing was recorded; check the server, the"
        " file and the free space on the disk",
        reason=reason,
    )


def _denied(reason: str) -> StoreError:
    if "row-level security" in reason:
        return StoreError(
            "this login may not write for another branch ({reason}). Nothing was recorded; look"
            " which branches it works for",
            reason=reason,
            then=(next_step(Action.LIST_BRANCH_MEMBERS),),
        )
    return StoreError(
        "this login may not do that ({reason}). Nothing was recorded; look what each role may do",
        reason=reason,
        then=(next_step(Action.SET_UP_ROLES),),
    )


def first_line(error: Exception) -> str:
    """What a database says is wrong, without its details."""
    return str(getattr(error, "orig", error)).strip().split("\n")[0]
