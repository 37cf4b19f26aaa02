"""What a database refused, in words: who it was, why, and what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DatabaseError, DataError, DBAPIError, OperationalError
from sqlalchemy.orm import Session

from kitting.errors import ConnectionLostError, StoreError

_SQLITE = b"SQLite format 3\0"  # the first bytes of every SQLite file (its file format, 1.3)
_DENIED = "42501"  # SQLSTATE insufficient_privilege: a right that is not granted, or a row policy
_READ_ONLY = "25006"  # SQLSTATE read_only_sql_transaction: a stand-by, or a server set so


def file_trouble(path: Path) -> str | None:
    """Why a file cannot be a SQLite database, by its first bytes alone; None if it can."""
    with path.open("rb") as file:
        start = file.read(len(_SQLITE))
    if not start:
        return "is empty (0 bytes): it is no database, or lost all that was in it"
    return None if start == _SQLITE else "is no SQLite database, or its beginning is damaged"


def damage_words(error: DBAPIError) -> str | None:
    """What to do about a damaged SQLite file; None if the error tells of something else."""
    told = first_line(error)
    if "malformed" not in told and "not a database" not in told:
        return None
    return (
        f"the database is damaged: {told}. Do not write on. Put the file aside as it is, and"
        " restore the newest backup: kitting restore FILE --replace"
    )


def what_to_check(error: DatabaseError) -> str:
    """What to look at when a database cannot be read."""
    told = first_line(error)
    if "readonly database" in told or "unable to open database file" in told:
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
            raise StoreError(_denied(first_line(error))) from error
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
        told = _refused(error, patience)
        if told is None:
            raise
        raise StoreError(told) from error


def _lost(error: DBAPIError) -> bool:
    """Whether the server went away or was not reached, rather than refused something."""
    # What the server itself says bears an SQLSTATE; what the client notices bears none.
    stateless = getattr(error.orig, "sqlstate", "") is None
    return error.connection_invalidated or (isinstance(error, OperationalError) and stateless)


def _lost_words(error: DBAPIError, *, committing: bool) -> str:
    known = (
        "Whether the change was recorded is not known; look before it is done again"
        if committing
        else "Nothing was recorded; try again"
    )
    return f"the connection to the database was lost: {first_line(error)}. {known}"


def _refused(error: DBAPIError, patience: int) -> str | None:
    """Why the database refused a change, in words; None for what is a fault of the program."""
    told, state = first_line(error), getattr(error.orig, "sqlstate", None)
    damage = damage_words(error)
    if damage is not None:
        return damage
    if "database is locked" in told or "lock timeout" in told:
        return (
            f"the database was being written by others for {patience / 1000:g} seconds."
            " Nothing was recorded; try again"
        )
    if state == _DENIED:
        return _denied(told)
    if state == _READ_ONLY:
        return (
            f"this server takes no changes: {told}. Nothing was recorded; name every server in the"
            " URL, so that the one that does is found"
        )
    if isinstance(error, DataError):
        return f"the database refused the change: {told}. Nothing was recorded; write it shorter"
    if not isinstance(error, OperationalError):
        return None
    return (
        f"the database refused the change: {told}. Nothing was recorded; check the server, the"
        " file and the room on the disk"
    )


def _denied(told: str) -> str:
    if "row-level security" in told:
        return (
            f"this login may not write for another branch ({told}). Nothing was recorded; who"
            " belongs where: kitting group list"
        )
    return (
        f"this login may not do that ({told}). Nothing was recorded; what each role may do:"
        " kitting group roles --help"
    )


def first_line(error: Exception) -> str:
    """What a database said, without its details."""
    return str(getattr(error, "orig", error)).strip().split("\n")[0]
