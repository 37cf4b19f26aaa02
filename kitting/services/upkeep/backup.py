"""Backups: one SQLite file whichever engine it is of, verified before it replaces the file."""

from __future__ import annotations

import dataclasses
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, event
from sqlalchemy import text as sql
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError

from kitting.actions import Action, next_step
from kitting.db_errors import first_line
from kitting.errors import KittingError, StoreError
from kitting.files.output.overwriting import SQLITE, refuse_other_kind
from kitting.schema import HEAD
from kitting.services.upkeep.audit import KINDS, audit_on, count_rows, file_faults, see_everything
from kitting.services.upkeep.copying import (
    beside,
    copy_file,
    copy_rows,
    make_single,
    ordinary,
    put,
    read_only,
    revisions,
    tables_of,
    there_already,
    url_of,
)
from kitting.store import make_engine, migrate, open_readable
from kitting.views.upkeep import AuditCheck, AuditView, BackupView


def back_up(
    url: str, target: Path, now: datetime, replace: bool = False, *, without_owners: bool = False
) -> BackupView:
    """Write a database as it is at this moment into one SQLite file, whole or not at all.

    One that is to be shared is made `without_owners`: it holds no personal data of customers.
    A database of an older revision is taken as it is, for instance before it is brought up to
    date. Raises KittingError for a name that is taken, StoreError for a database that cannot be
    read, is newer than this program, or is damaged.
    """
    named, target = target, ordinary(target)
    if target.exists() and not replace:
        raise there_already(named)
    engine, revision = open_readable(url)
    try:
        revision = known(revision)
        source = make_url(url)
        lite = engine.dialect.name == "sqlite"
        path = Path(str(source.database)) if lite else None
        if path is not None and target.exists() and target.samefile(path):
            raise KittingError("{named} is the database itself. Choose another name", named=named)
        refuse_other_kind(named, SQLITE)
        with beside(target) as temporary:
            if path is not None:
                copy_file(path, temporary)
            else:
                write_rows(engine, temporary, revision)
            if without_owners:
                _leave_out_owners(temporary)
            view = _finish(engine, temporary, revision, now)
            put(temporary, target, replace)
        return dataclasses.replace(view, file=str(named))
    except OSError as error:
        raise KittingError(
            "{named}: cannot be written ({reason}). Choose another place",
            named=named,
            reason=error.strerror,
        ) from error
    except (DBAPIError, sqlite3.Error) as error:
        raise StoreError(
            "no backup was made: {first_line}. Check the database, the free space on the disk and"
            " the place of the file",
            first_line=first_line(error),
            then=(next_step(Action.AUDIT),),
        ) from error
    finally:
        engine.dispose()


def _finish(engine: Engine, written: Path, revision: str, now: datetime) -> BackupView:
    """What a written file holds, before it gets its name."""
    tables, rows, view = _look(written, revision, now)
    return BackupView(
        file=str(written),
        engine=KINDS[engine.dialect.name],
        revision=revision,
        tables=tables,
        rows=rows,
        size=written.stat().st_size,
        fine=view is None or view.fine,
        audit=view,
    )


def _leave_out_owners(written: Path) -> None:
    """Take the owners of cars out of a written file, and what their rows left in it."""
    with closing(sqlite3.connect(written)) as connection:
        there = "SELECT name FROM sqlite_master WHERE name = 'car_owner'"
        if connection.execute(there).fetchone():
            connection.execute("DELETE FROM car_owner")
            connection.commit()
            connection.execute("VACUUM")
    make_single(written)


def write_rows(engine: Engine, target: Path, revision: str) -> None:
    """The rows of a PostgreSQL database, of one snapshot, into a new SQLite file."""
    copy = make_engine(url_of(target))
    # The file has no name yet: after a power cut it is made anew, so the disk is not waited for.
    event.listen(copy, "connect", _no_waiting)
    try:
        migrate(copy, revision)
        snapshot = engine.execution_options(isolation_level="REPEATABLE READ")
        with snapshot.connect() as source, copy.connect() as into:
            see_everything(source)
            with into.begin():
                copy_rows(source, into)
    finally:
        copy.dispose()
    make_single(target)


def _no_waiting(connection: Any, _record: object) -> None:
    connection.execute("PRAGMA synchronous = OFF")


def _look(path: Path, revision: str, now: datetime) -> tuple[int, int, AuditView | None]:
    """What a finished file holds and how its books stand; raises StoreError if it is damaged."""
    engine = read_only(path)
    with engine.connect() as connection:
        if revision == HEAD:
            view: AuditView | None = audit_on(connection, now)
            damage = [
                str(fault.fault["text"])
                for check in (view.checks if view else ())
                if check.check is AuditCheck.FILE
                for fault in check.shown
            ]
        else:
            view, (damage, _) = None, file_faults(connection)
        refuse_damaged(damage, "the database is")
        tables, rows = held(connection)
    return tables, rows, view


def held(connection: Connection) -> tuple[int, int]:
    """How many tables there are, and how many rows in all of them together."""
    counts = count_rows(connection, tables_of(connection))
    return len(counts), sum(counts.values())


def refuse_damaged(damage: list[str], what: str) -> None:
    """Raise StoreError if SQLite found damage in a file."""
    if damage:
        raise StoreError(
            "{what} damaged: {damage}. Nothing was written. Put the file aside as it is, and"
            " restore the newest backup that is whole",
            what=what,
            damage=damage[0],
            then=(next_step(Action.RESTORE),),
        )


def known(revision: str | None) -> str:
    """A revision that this program knows; raises StoreError for any other."""
    if revision is None:
        raise StoreError("nothing is set up there: there is nothing to back up")
    if revision not in revisions():
        raise StoreError(
            f"it is of revision {revision}; this program knows none after {HEAD}. Nothing was"
            " written; use the newer program that made it"
        )
    return revision


def revision_in(connection: Connection) -> str | None:
    """The revision that a database is of; None if it says none."""
    if not connection.dialect.has_table(connection, "alembic_version"):
        return None
    found = connection.scalar(sql("SELECT version_num FROM alembic_version"))
    return None if found is None else str(found)
