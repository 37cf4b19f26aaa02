"""The bare drivers: a connection without anything of ours, rows in bulk."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from itertools import islice
from typing import Any

_BATCH = 50_000
Values = Sequence[Any]


def connect(url: str) -> Any:
    """A connection of sqlite3 or psycopg, by the URL."""
    if url.startswith("sqlite"):
        import sqlite3

        return sqlite3.connect(url.removeprefix("sqlite:///"))
    import psycopg

    return psycopg.connect(url)


@contextmanager
def connected(url: str) -> Iterator[Any]:
    """A connection that is closed afterwards; nothing is committed on the way."""
    with closing(connect(url)) as connection:
        yield connection


def is_sqlite(connection: Any) -> bool:
    """Which of the two it is."""
    return type(connection).__module__.startswith("sqlite3")


def insert(connection: Any, table: str, columns: str, rows: Iterable[Values]) -> None:
    """Many rows the fastest way of each driver: executemany, or COPY."""
    names = ", ".join(f'"{column}"' for column in columns.split())
    if is_sqlite(connection):
        marks = ", ".join("?" * len(columns.split()))
        waiting = iter(rows)
        while some := list(islice(waiting, _BATCH)):
            connection.executemany(f'INSERT INTO "{table}" ({names}) VALUES ({marks})', some)
        return
    with connection.cursor() as cursor, cursor.copy(f'COPY "{table}" ({names}) FROM STDIN') as copy:
        for row in rows:
            copy.write_row(row)


def fetch(connection: Any, statement: str, *given: Any) -> list[Any]:
    """All rows of a statement written with ? for what is given."""
    if not is_sqlite(connection):
        statement = statement.replace("?", "%s")
    found: list[Any] = connection.execute(statement, given).fetchall()
    return found


def settle(connection: Any, tables: Iterable[str]) -> None:
    """Commit, let the server count on from the ids given by hand, and tell it what is there."""
    if not is_sqlite(connection):
        for table in tables:
            connection.execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', 'id'),"
                f' (SELECT coalesce(max(id), 1) FROM "{table}"))'
            )
    connection.execute("ANALYZE")
    connection.commit()
