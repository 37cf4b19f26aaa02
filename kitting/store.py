"""The database: where it is, how it is opened, transactions, migrations.

SQLite is the default and needs nothing; a group points `KITTING_DATABASE_URL` at PostgreSQL.
Leaving a transaction rolls back; a commit is a visible line in a service.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect
from sqlalchemy import text as sql
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, DataError, OperationalError
from sqlalchemy.orm import Session

from kitting.errors import StoreError
from kitting.schema import HEAD

if TYPE_CHECKING:
    from alembic.config import Config

URL_VARIABLE = "KITTING_DATABASE_URL"
DEFAULT_FILE = "kitting.db"
BUSY_TIMEOUT_MS = 10_000
_WRITING = "kitting_writing"


def database_url(given: str | None = None) -> str:
    """The URL asked for, else the environment's, else `kitting.db` in the current folder."""
    return given or os.environ.get(URL_VARIABLE) or f"sqlite:///{DEFAULT_FILE}"


def _parse(url: str) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError as error:
        raise StoreError(
            f"database {url!r}: not a URL. Write sqlite:///FILE or postgresql://HOST/NAME"
        ) from error
    backend = parsed.get_backend_name()
    if backend == "postgresql":
        return parsed.set(drivername="postgresql+psycopg")
    if backend == "sqlite":
        return parsed.set(drivername="sqlite")
    raise StoreError(f"database {url!r}: only sqlite and postgresql are supported")


def make_engine(url: str) -> Engine:
    """An engine with the settings that the rules of the schema rely on.

    SQLite: foreign keys on, WAL, a busy timeout, and BEGIN sent by us (IMMEDIATE for writers), so
    that savepoints and read snapshots behave. PostgreSQL: writers queue for one row, so that they
    take turns as they do on SQLite. Raises StoreError for an unusable URL.
    """
    engine = create_engine(_parse(url))
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writing = connection.get_execution_options().get(_WRITING, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    # A service reads, decides and writes in several statements. Writers that take turns can neither
    # decide on what another is about to change, nor lock each other out, nor draw the same number.
    if connection.get_execution_options().get(_WRITING, False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_TIMEOUT_MS}")
        connection.exec_driver_sql("SELECT version_num FROM alembic_version FOR UPDATE")


def open_existing(url: str) -> Engine:
    """An engine on a database that is set up and of this program's revision.

    Raises StoreError saying what to run otherwise. Creates no file.
    """
    parsed = _parse(url)
    if parsed.get_backend_name() == "sqlite" and not _file_exists(parsed):
        raise StoreError(
            f"there is no database at {parsed.database}. Run 'kitting setup' here first, or say"
            f" where it is with --database or {URL_VARIABLE}"
        )
    engine = make_engine(url)
    try:
        revision = current_revision(engine)
    except (OperationalError, DatabaseError) as error:
        raise StoreError(
            f"the database {parsed.render_as_string()} cannot be read:"
            f" {_first_line(error)}. Check the address, the server and the file"
        ) from error
    if revision is None:
        raise StoreError(
            f"the database {parsed.render_as_string()} is not set up. Run 'kitting setup'"
        )
    if revision != HEAD:
        raise StoreError(
            f"the database is of revision {revision}, this program needs {HEAD}."
            " Run 'kitting setup' to bring it up to date, or use the newer program"
        )
    return engine


def _file_exists(url: URL) -> bool:
    return url.database in (None, "", ":memory:") or Path(str(url.database)).exists()


def _first_line(error: Exception) -> str:
    return str(getattr(error, "orig", error)).strip().split("\n")[0]


def current_revision(engine: Engine) -> str | None:
    """The revision that the database says it is of; None if it was never set up."""
    with engine.connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return None
        return connection.execute(sql("SELECT version_num FROM alembic_version")).scalar()


def alembic_config() -> Config:
    """Alembic's settings, with the scripts where the package has them."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(files("kitting.schema")))
    return config


def migrate(engine: Engine, revision: str = "head") -> None:
    """Bring the database to a revision, all or nothing (both engines roll back DDL)."""
    from alembic import command

    config = alembic_config()
    with engine.begin() as connection:
        # SQLite checks foreign keys while a table is rebuilt unless told to wait.
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        config.attributes["connection"] = connection
        command.upgrade(config, revision)


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """A session on one snapshot; nothing is kept."""
    if engine.dialect.name == "postgresql":
        engine = engine.execution_options(isolation_level="REPEATABLE READ")
    with Session(engine, autoflush=False) as session:
        yield session


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """A session that takes the write lock at once; what is not committed is rolled back.

    Raises StoreError when others write for too long, or the database cannot be written.
    """
    try:
        with Session(engine.execution_options(**{_WRITING: True}), autoflush=False) as session:
            yield session
    except (OperationalError, DataError) as error:
        raise StoreError(_refused(error)) from error


def _refused(error: OperationalError | DataError) -> str:
    told = _first_line(error)
    if "database is locked" in told or "lock timeout" in told:
        return (
            f"the database was being written by others for {BUSY_TIMEOUT_MS / 1000:g} seconds."
            " Nothing was recorded; try again"
        )
    if isinstance(error, DataError):
        return f"the database refused the change: {told}. Nothing was recorded; write it shorter"
    return (
        f"the database refused the change: {told}. Nothing was recorded; check the server, the"
        " file and the room on the disk"
    )


__all__ = [
    "DEFAULT_FILE",
    "URL_VARIABLE",
    "alembic_config",
    "current_revision",
    "database_url",
    "make_engine",
    "migrate",
    "open_existing",
    "reading",
    "writing",
]
