"""The database: where it is, how it is opened, transactions, migrations.

SQLite is the default and needs nothing; a group points `KITTING_DATABASE_URL` at PostgreSQL.
Leaving a transaction rolls back; a commit is a visible line in a service.

This is SQLAlchemy Core with mapped tables: the classes of `kitting.tables` name tables, columns and
constraints; statements read columns into frozen dataclasses, and amounts change by UPDATE
statements that either hold for everybody or change no row. There are no relationships. A mapped row
is made where a row is added, and looked up where one row is all that is needed; none goes into
`kitting.calc`, `kitting.facts` or a view.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect
from sqlalchemy import text as sql
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError
from sqlalchemy.orm import Session

from kitting.actions import Action, next_step
from kitting.db_errors import (
    damaged,
    explained_reading,
    explained_writing,
    file_trouble,
    first_line,
    what_to_check,
)
from kitting.errors import StoreError
from kitting.schema import HEAD

if TYPE_CHECKING:
    from alembic.config import Config

URL_VARIABLE = "KITTING_DATABASE_URL"
DEFAULT_FILE = "kitting.db"
BUSY_TIMEOUT_MS = 10_000
_WRITING = "kitting_writing"
# A server that falls silent is given up after about half a minute instead of after hours.
_PATIENCE = {
    "connect_timeout": "5",
    "keepalives_idle": "10",
    "keepalives_interval": "5",
    "keepalives_count": "3",
    "tcp_user_timeout": "25000",
}


def database_url(given: str | None = None) -> str:
    """The URL asked for, else the environment's, else `kitting.db` in the current folder."""
    return given or os.environ.get(URL_VARIABLE) or f"sqlite:///{DEFAULT_FILE}"


def _parse(url: str) -> URL:
    try:
        parsed = make_url(_several_hosts(url))
    except (ArgumentError, ValueError) as error:
        raise StoreError(
            "database {url!r}: not a URL. Write sqlite:///FILE or postgresql://HOST/NAME", url=url
        ) from error
    backend = parsed.get_backend_name()
    if backend == "postgresql":
        return _taking_changes(parsed.set(drivername="postgresql+psycopg"))
    if backend == "sqlite":
        return parsed.set(drivername="sqlite")
    raise StoreError("database {url!r}: only sqlite and postgresql are supported", url=url)


def _several_hosts(url: str) -> str:
    """A URL with several hosts, as libpq writes it, in the form that SQLAlchemy reads.

    `postgresql://me@a:5432,b:5433/name` becomes `postgresql://me@/name?host=a:5432&host=b:5433`.
    """
    scheme, mark, rest = url.partition("://")
    place, slash, tail = rest.partition("/")
    who, at, hosts = place.rpartition("@")
    if not mark or "," not in hosts:
        return url
    named = []
    for host in hosts.split(","):
        found = re.fullmatch(r"([^:\[\]]+)(?::(\d+))?", host)
        if found is None:
            raise StoreError(
                "database: {host!r} cannot stand in a list of hosts. Write names or IPv4"
                " addresses: postgresql://ONE:5432,OTHER:5432/NAME",
                host=host,
            )
        named.append(f"host={found[1]}:{found[2] or 5432}")
    name, question, query = tail.partition("?")
    asked = "&".join([*named, *([query] if question else [])])
    return f"{scheme}://{who}{at}{slash or '/'}{name}?{asked}"


def _taking_changes(url: URL) -> URL:
    """Of several hosts, use the one that takes changes, unless the URL says otherwise."""
    if not isinstance(url.query.get("host"), tuple) or "target_session_attrs" in url.query:
        return url
    return url.update_query_dict({"target_session_attrs": "read-write"})


def make_engine(url: str) -> Engine:
    """An engine with the settings that the rules of the schema rely on.

    SQLite: foreign keys on, WAL, a busy timeout, and BEGIN sent by us (IMMEDIATE for writers), so
    that savepoints and read snapshots behave. PostgreSQL: writers queue for one lock, so that they
    take turns as they do on SQLite; a connection that died in the pool is noticed before it is
    used. Raises StoreError for an unusable URL.
    """
    parsed = _parse(url)
    if parsed.get_backend_name() == "sqlite":
        engine = create_engine(parsed)
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        limits = {name: limit for name, limit in _PATIENCE.items() if name not in parsed.query}
        engine = create_engine(parsed, pool_pre_ping=True, connect_args=limits)
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    if cursor.execute("PRAGMA journal_mode").fetchone() != ("wal",):
        _keep_log(cursor)
    cursor.close()


def _keep_log(cursor: Any) -> None:
    """Switch a new file or one of ours to WAL; a file of another program stays as it is."""
    new = cursor.execute("PRAGMA page_count").fetchone() == (0,)
    ours = "SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'"
    if not new and cursor.execute(ours).fetchone() is None:
        return
    end = monotonic() + BUSY_TIMEOUT_MS / 1000
    while True:
        try:
            cursor.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            # Where nothing can be written, or others work, it can be read and used as it is.
            if not new:
                return
            # For this step SQLite does not wait by itself: of several that begin a new file at
            # once, the others have to try again.
            if "locked" not in str(error) or monotonic() > end:
                raise
            sleep(0.02)
        else:
            return


def _begin_sqlite(connection: Connection) -> None:
    writing = connection.get_execution_options().get(_WRITING, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    # A service reads, decides and writes in several statements. Writers that take turns can neither
    # decide on what another is about to change, nor lock each other out, nor draw the same number.
    # An advisory lock needs no right on any table; it is of this database and this schema in it.
    if connection.get_execution_options().get(_WRITING, False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_TIMEOUT_MS}")
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(hashtext('kitting writers'), hashtext(current_schema()))"
        )


def open_existing(url: str) -> Engine:
    """An engine on a database that is set up and of this program's revision.

    Raises StoreError saying what to run otherwise. Creates no file and changes none.
    """
    engine, revision = open_readable(url)
    if revision is None:
        raise StoreError(
            "the database {url} is not set up",
            url=engine.url.render_as_string(),
            then=(next_step(Action.SET_UP),),
        )
    if revision != HEAD:
        raise _other_revision(revision)
    return engine


def open_readable(url: str) -> tuple[Engine, str | None]:
    """An engine on a database, and the revision that it says it is of (None: not set up).

    Raises StoreError for one that is not there or cannot be read. Creates no file and changes none.
    """
    parsed = _parse(url)
    if parsed.get_backend_name() == "sqlite" and not _in_memory(parsed):
        _refuse_no_database(Path(str(parsed.database)))
    engine = make_engine(url)
    try:
        return engine, current_revision(engine)
    except DatabaseError as error:
        engine.dispose()
        raise damaged(error) or StoreError(
            "the database {url} cannot be read: {first_line}. {what_to_check}",
            url=parsed.render_as_string(),
            first_line=first_line(error),
            what_to_check=what_to_check(error),
        ) from error


def _other_revision(revision: str) -> StoreError:
    text = f"the database is of revision {revision}, this program needs {HEAD}."
    if _is_newer(revision):
        return StoreError(f"{text} Nothing was changed; use the newer program that upgraded it")
    return StoreError(
        "{text} Back it up, then bring it up to date",
        text=text,
        then=(next_step(Action.BACK_UP), next_step(Action.SET_UP)),
    )


def _is_newer(revision: str) -> bool:
    # Revisions are numbered 0001, 0002, …; what is none of ours is not ours to change.
    return len(revision) != len(HEAD) or not revision.isdecimal() or revision > HEAD


def _refuse_no_database(path: Path) -> None:
    # Opened by SQLite, a file without a byte would become a database, and one that is none of ours
    # would be touched: so it is looked at first.
    if not path.exists():
        raise StoreError(
            f"there is no database at {path}. Set one up there, or say where it is, for all"
            f" commands with {URL_VARIABLE}",
            then=(next_step(Action.SET_UP), next_step(Action.NAME_DATABASE)),
        )
    try:
        trouble = file_trouble(path)
    except OSError as error:
        raise StoreError(
            "{path} cannot be read ({reason}). Check the file", path=path, reason=error.strerror
        ) from error
    if trouble is not None:
        raise StoreError(
            f"{path} {trouble}. Nothing was written to it. If it was a database, put it aside and"
            " restore the newest backup",
            then=(next_step(Action.RESTORE),),
        )


def _in_memory(url: URL) -> bool:
    return url.database in (None, "", ":memory:")


def current_revision(engine: Engine) -> str | None:
    """The revision that the database says it is of; None if it was never set up."""
    with engine.connect() as connection:
        return _revision_on(connection)


def _revision_on(connection: Connection) -> str | None:
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
    """Bring the database to a revision, all or nothing (both engines roll back DDL).

    Of several that do it at once, one does and the others find it done. Raises StoreError for a
    database that is newer than this program.
    """
    from alembic import command

    config = alembic_config()
    with (
        explained_writing([], BUSY_TIMEOUT_MS),
        engine.execution_options(**{_WRITING: True}).begin() as connection,
    ):
        there = _revision_on(connection)
        if there is not None and _is_newer(there):
            raise _other_revision(there)
        # SQLite checks foreign keys while a table is rebuilt unless it is set to wait.
        if engine.dialect.name == "sqlite":
            connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        config.attributes["connection"] = connection
        command.upgrade(config, revision)


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """A session on one snapshot; nothing is kept.

    Raises ConnectionLostError when the server went away, StoreError when the login may not read.
    """
    if engine.dialect.name == "postgresql":
        engine = engine.execution_options(isolation_level="REPEATABLE READ")
    with explained_reading(), Session(engine, autoflush=False) as session:
        yield session


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """A session that takes the write lock at once; what is not committed is rolled back.

    Raises StoreError when others write for too long, or the database cannot be written, or the
    login may not do it; ConnectionLostError when the server went away, saying whether it is known
    what became of the change.
    """
    # What is written is ordered by how tables refer to each other, so all of them have to be known.
    import kitting.tables.all  # noqa: F401

    committing: list[Session] = []
    with (
        explained_writing(committing, BUSY_TIMEOUT_MS),
        Session(engine.execution_options(**{_WRITING: True}), autoflush=False) as session,
    ):
        event.listen(session, "before_commit", committing.append)
        yield session


__all__ = [
    "DEFAULT_FILE",
    "URL_VARIABLE",
    "alembic_config",
    "current_revision",
    "database_url",
    "make_engine",
    "migrate",
    "open_existing",
    "open_readable",
    "reading",
    "writing",
]
