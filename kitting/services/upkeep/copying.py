"""Rows from one database to another, and files put in place whole: what backups are made of."""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, MetaData, Table, create_engine, insert, select
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from kitting.actions import Action, next_step
from kitting.errors import KittingError, StoreError
from kitting.store import alembic_config

CHUNK = 2_000  # rows held at a time
PAGES = 2_000  # pages of a file copied at a time, between which Ctrl-C is heard
WAIT_SECONDS = 10.0
VERSION_TABLE = "alembic_version"
SIDE_FILES = ("-wal", "-shm", "-journal")


def url_of(path: Path) -> str:
    """The URL of a SQLite file, whatever signs its name has."""
    return URL.create("sqlite", database=str(path)).render_as_string(hide_password=False)


def read_only(path: Path) -> Engine:
    """An engine on a SQLite file that never changes it, not even its journal mode."""
    address = f"file:{quote(str(path.absolute()))}?mode=ro"
    return create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(address, uri=True, timeout=WAIT_SECONDS),
        poolclass=NullPool,
    )


def revisions() -> tuple[str, ...]:
    """Every revision that this program knows, the oldest first."""
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory.from_config(alembic_config()).walk_revisions()
    return tuple(reversed([script.revision for script in scripts]))


def upgrade_on(connection: Connection, revision: str) -> None:
    """Bring what a connection holds to a revision, in its transaction."""
    from alembic import command

    config = alembic_config()
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def tables_of(connection: Connection) -> list[Table]:
    """The tables as the database itself describes them, parents first; not the version's."""
    found = MetaData()
    found.reflect(connection)
    return [table for table in found.sorted_tables if table.name != VERSION_TABLE]


def copy_file(source: Path, target: Path) -> None:
    """A SQLite file as it is at one moment, through SQLite's own backup; others may write on.

    The copy is one file without a log beside it.
    """
    address = f"file:{quote(str(source.absolute()))}?mode=rw"
    with (
        closing(sqlite3.connect(address, uri=True, timeout=WAIT_SECONDS)) as original,
        closing(sqlite3.connect(target, timeout=WAIT_SECONDS)) as copy,
    ):
        original.isolation_level = None
        # Without a snapshot of its own, every write of others would start the copy anew.
        original.execute("BEGIN")
        original.execute("SELECT count(*) FROM sqlite_master").fetchone()
        original.backup(copy, pages=PAGES)
    make_single(target)


def make_single(path: Path) -> None:
    """Write a SQLite file's log into it and remove the log: what is left is one file, on disk."""
    with closing(sqlite3.connect(path, timeout=WAIT_SECONDS)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    with path.open("rb") as file:
        os.fsync(file.fileno())


def copy_rows(source: Connection, target: Connection) -> None:
    """Every row of every table, parents first, a chunk at a time.

    Raises StoreError where the two are not of one shape.
    """
    origin = {table.name: table for table in tables_of(source)}
    for table in tables_of(target):
        found = origin.pop(table.name, None)
        if found is None or set(found.c.keys()) != set(table.c.keys()):
            raise StoreError(
                "table {name} is not as its revision says. Nothing was written; this database was"
                " changed by hand, and cannot be copied",
                name=table.name,
            )
        names = list(table.c.keys())
        rows = source.execution_options(yield_per=CHUNK).execute(
            select(*(found.c[name] for name in names)).order_by(*found.primary_key.columns)
        )
        if target.dialect.name == "postgresql":
            _stream_in(target, table, names, rows.partitions(CHUNK))
        else:
            for chunk in rows.partitions(CHUNK):
                target.execute(insert(table), [row._asdict() for row in chunk])
    if origin:
        raise StoreError(
            "{origin}: no table of this program. Nothing was written; copy what is in it by other"
            " means",
            origin=", ".join(sorted(origin)),
        )


def _stream_in(
    target: Connection, table: Table, names: Sequence[str], chunks: Iterator[Sequence[Any]]
) -> None:
    import psycopg

    quoted = target.dialect.identifier_preparer.quote
    columns = ", ".join(quoted(name) for name in names)
    statement = f"COPY {quoted(table.name)} ({columns}) FROM STDIN"
    driver: Any = target.connection.driver_connection
    try:
        with driver.cursor() as cursor, cursor.copy(statement) as copy:
            for chunk in chunks:
                for row in chunk:
                    copy.write_row(tuple(row))
    except psycopg.Error as error:
        raise DBAPIError.instance(
            statement,
            None,
            error,
            psycopg.Error,
            connection_invalidated=driver.closed,
            dialect=target.dialect,
        ) from error


@contextmanager
def beside(target: Path) -> Iterator[Path]:
    """A name for a temporary file in the folder of another; what is left of it is removed."""
    # Never the same name twice: a connection that dies late removes the log beside its name.
    temporary = target.with_name(f".kitting-{secrets.token_hex(6)}.part")
    try:
        yield temporary
    finally:
        for end in ("", *SIDE_FILES):
            Path(f"{temporary}{end}").unlink(missing_ok=True)


def ordinary(target: Path) -> Path:
    """Where a file is to be, links followed. Raises KittingError for what is no ordinary file.

    Whoever may do everything would otherwise put a file in the place of a device.
    """
    found = target.resolve()
    if found.is_dir():
        raise KittingError("{target} is a folder. Name a file in it", target=target)
    if found.exists() and not found.is_file():
        raise KittingError("{target} is a device or a pipe. Name an ordinary file", target=target)
    if not found.parent.is_dir():
        raise KittingError(
            "{target}: there is no folder {parent}. Make it first",
            target=target,
            parent=target.parent,
        )
    return found


def put(temporary: Path, target: Path, replace: bool) -> None:
    """Give a finished file its name, at once; without `replace` never over another.

    Raises KittingError if there is one, or it is no ordinary file.
    """
    ordinary(target)
    if replace:
        temporary.replace(target)
    else:
        try:
            os.link(temporary, target)
        except FileExistsError as error:
            raise there_already(target) from error
        except OSError:  # a file system without links
            if target.exists():
                raise there_already(target) from None
            temporary.replace(target)
    sync_folder(target.parent)


def there_already(target: Path) -> KittingError:
    """The error of a name that is taken."""
    return KittingError(
        "{target} is there already. Choose another name, or replace it",
        target=target,
        then=(next_step(Action.REPLACE),),
    )


def sync_folder(folder: Path) -> None:
    """Let a rename survive a power cut, where the system can do that for a folder."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
