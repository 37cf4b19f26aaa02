"""Restoring: a backup into a new database of either engine, all of it or nothing."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, exists, func, inspect, select
from sqlalchemy import text as sql
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError

from kitting.actions import Action, next_step
from kitting.db_errors import file_trouble, first_line
from kitting.errors import KittingError, StoreError
from kitting.schema import HEAD
from kitting.services.upkeep.audit import audit_on, file_faults
from kitting.services.upkeep.backup import held, known, refuse_damaged, revision_in
from kitting.services.upkeep.copying import (
    SIDE_FILES,
    beside,
    copy_rows,
    make_single,
    ordinary,
    put,
    read_only,
    revisions,
    sync_folder,
    tables_of,
    upgrade_on,
    url_of,
)
from kitting.store import make_engine, migrate, writing
from kitting.views.upkeep import DatabaseKind, RestoreView


def restore(url: str, source: Path, now: datetime, replace: bool = False) -> RestoreView:
    """Put a backup into a database that is not set up, or has no rows.

    With `replace` a SQLite file that is there is kept beside, under a name with the date. Raises
    KittingError for a place that is taken, StoreError for a backup that is damaged, no backup, or
    newer than this program; then nothing is changed.
    """
    engine = make_engine(url)
    try:
        with _opened(source) as (backup, revision):
            if engine.dialect.name == "sqlite":
                return _into_file(url, source, backup, revision, now, replace)
            return _into_server(engine, source, backup, revision, now, replace)
    except OSError as error:
        raise KittingError(
            "nothing was restored: {reason} ({filename})",
            reason=error.strerror,
            filename=error.filename,
        ) from error
    except (DBAPIError, sqlite3.Error) as error:
        raise StoreError(
            "nothing was restored: {first_line}. Check the server, the free space on the disk and"
            " the place of the file",
            first_line=first_line(error),
        ) from error
    finally:
        engine.dispose()


@contextmanager
def _opened(source: Path) -> Iterator[tuple[Connection, str]]:
    """A backup, whole and of a known revision, opened so that it stays as it is."""
    if not source.exists():
        raise KittingError("there is no file {source}", source=source)
    ordinary(source)
    trouble = file_trouble(source)
    if trouble is not None:
        raise StoreError(
            "{source} {trouble}. Nothing was restored; name another backup",
            source=source,
            trouble=trouble,
        )
    with read_only(source).connect() as connection:
        damage, _ = file_faults(connection)
        if damage:
            raise StoreError(
                "{source} is damaged: {damage}. Nothing was restored; name another backup",
                source=source,
                damage=damage[0],
            )
        revision = revision_in(connection)
        if revision is None:
            raise StoreError(
                "{source} is no backup of this program. Nothing was restored", source=source
            )
        yield connection, known(revision)


def _into_file(
    url: str, source: Path, backup: Connection, revision: str, now: datetime, replace: bool
) -> RestoreView:
    name = make_url(url).database
    if name in (None, "", ":memory:"):
        raise StoreError("a database in memory is gone at once. Name a file: sqlite:///FILE")
    target = ordinary(Path(str(name)))
    if target.exists() and target.samefile(source):
        raise KittingError(
            "{source} is the database itself; there is nothing to restore", source=source
        )
    full = target.exists() and not _is_empty(target)
    if full and not replace:
        raise KittingError(
            "{name} holds data. Replace it (the old file is kept under another name), or restore"
            " into another database",
            name=name,
            then=(next_step(Action.REPLACE), next_step(Action.NAME_DATABASE)),
        )
    with beside(target) as temporary:
        driver: Any = backup.connection.driver_connection
        with closing(sqlite3.connect(temporary)) as copy:
            driver.backup(copy)
        engine = make_engine(url_of(temporary))
        try:
            migrate(engine)
            with engine.connect() as connection:
                refuse_damaged(file_faults(connection)[0], "what was restored is")
                (tables, rows), view = held(connection), audit_on(connection, now)
        finally:
            engine.dispose()
        make_single(temporary)
        kept = _swap(temporary, target, now, full)
        kept = None if kept is None else str(Path(str(name)).with_name(Path(kept).name))
    return RestoreView(
        file=str(source),
        into=str(name),
        engine=DatabaseKind.SQLITE,
        revision=revision,
        now=HEAD,
        tables=tables,
        rows=rows,
        kept_as=kept,
        fine=view.fine,
        audit=view,
    )


def _is_empty(path: Path) -> bool:
    """Whether a SQLite file has no row in any table; one that cannot be read counts as full."""
    if path.stat().st_size == 0:
        return True
    try:
        with read_only(path).connect() as connection:
            return held(connection)[1] == 0
    except DBAPIError:
        return False


def _swap(temporary: Path, target: Path, now: datetime, keep: bool) -> str | None:
    """Put a finished file in the place of another, which is kept; returns where it is kept."""
    if not target.exists():
        put(temporary, target, replace=False)
        return None
    with _nobody_else(target):
        kept = _kept_name(target, now) if keep else None
        if kept is not None:
            try:
                os.link(target, kept)
            except OSError:  # a file system without links
                target.rename(kept)
        # A log of the old file that stayed would be read as the new one's.
        for end in SIDE_FILES:
            side = Path(f"{target}{end}")
            if kept is not None and side.exists():
                side.rename(f"{kept}{end}")
            side.unlink(missing_ok=True)
        temporary.replace(target)
    sync_folder(target.parent)
    return None if kept is None else str(kept)


@contextmanager
def _nobody_else(path: Path) -> Iterator[None]:
    """Hold a SQLite file for ourselves; a damaged one cannot be held, and nobody can use it.

    Raises StoreError while others have it open.
    """
    with closing(sqlite3.connect(path, timeout=1.0, isolation_level=None)) as connection:
        try:
            # Only the last one who has the file open can end its log.
            mode = connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0]
            connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            if "locked" not in str(error):
                raise
            mode = "locked"
        except sqlite3.DatabaseError:
            mode = "damaged"
        if mode not in ("delete", "damaged"):
            raise StoreError(
                "other programs have {path} open. Nothing was changed; close the other programs,"
                " then restore again",
                path=path,
            )
        yield


def _kept_name(target: Path, now: datetime) -> Path:
    name = f"{target.stem}-kept-{now:%Y%m%d-%H%M%S}"
    found = target.with_name(f"{name}{target.suffix}")
    number = 1
    while found.exists():
        number += 1
        found = target.with_name(f"{name}-{number}{target.suffix}")
    return found


def _into_server(
    engine: Engine, source: Path, backup: Connection, revision: str, now: datetime, replace: bool
) -> RestoreView:
    if replace:
        raise KittingError(
            "on PostgreSQL nothing is replaced. Make a new database (CREATE DATABASE) and restore"
            " into that",
            then=(next_step(Action.NAME_DATABASE),),
        )
    with writing(engine) as session:
        connection = session.connection()
        there = revision_in(connection)
        if there is not None:
            _refuse_full(connection, engine)
            order = revisions()
            if there not in order or order.index(there) > order.index(revision):
                raise StoreError(
                    "the backup is of revision {revision}, the empty database of {there} already."
                    " Nothing was restored; make a new database and restore into that",
                    revision=revision,
                    there=there,
                )
        upgrade_on(connection, revision)
        copy_rows(backup, connection)
        upgrade_on(connection, HEAD)
        _set_sequences(connection)
        connection.execute(sql("ANALYZE"))
        (tables, rows), view = held(connection), audit_on(connection, now)
        session.commit()
    return RestoreView(
        file=str(source),
        into=engine.url.render_as_string(),
        engine=DatabaseKind.POSTGRESQL,
        revision=revision,
        now=HEAD,
        tables=tables,
        rows=rows,
        kept_as=None,
        fine=view.fine,
        audit=view,
    )


def _refuse_full(connection: Connection, engine: Engine) -> None:
    asked = [select(exists(select(1).select_from(table))) for table in tables_of(connection)]
    if any(connection.scalar(one) for one in asked):
        raise StoreError(
            "{url} holds data already. Nothing was restored; make a new database (CREATE"
            " DATABASE) and restore into that",
            url=engine.url.render_as_string(),
            then=(next_step(Action.NAME_DATABASE),),
        )


def _set_sequences(connection: Connection) -> None:
    """Let new rows be numbered after the restored ones."""
    inspector = inspect(connection)
    for table in tables_of(connection):
        if "id" not in table.c:
            continue
        newest = connection.scalar(select(func.max(table.c.id)))
        quoted = inspector.dialect.identifier_preparer.quote(table.name)
        connection.execute(
            sql("SELECT setval(pg_get_serial_sequence(:name, 'id'), :newest, :used)"),
            {"name": quoted, "newest": newest or 1, "used": newest is not None},
        )
