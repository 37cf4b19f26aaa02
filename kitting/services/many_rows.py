"""Many rows of one table in one statement, the fastest way of each driver.

For lists of a hundred thousand rows and more: what SQLAlchemy does for every single row is left
out. Values are given as the drivers take them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Row, String, Table


def add_rows(
    connection: Connection,
    table: Table,
    columns: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    key: Sequence[str] = (),
    returning: Sequence[str] = (),
) -> Sequence[Row[Any]]:
    """Insert rows; one whose `key` is there already takes the new values of all other columns.

    Answers the columns `returning` of every row on PostgreSQL; SQLite has no such answer for many
    rows and gives none. No two rows may have the same key.
    """
    if not rows:
        return ()
    names = ", ".join(f'"{name}"' for name in columns)
    ending = ""
    if key:
        changed = ", ".join(f'"{name}" = excluded."{name}"' for name in columns if name not in key)
        ending = f" ON CONFLICT ({', '.join(key)}) DO UPDATE SET {changed}"
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" * len(columns))
        statement = f'INSERT INTO "{table.name}" ({names}) VALUES ({marks}){ending}'  # noqa: S608
        connection.exec_driver_sql(statement, [tuple(row) for row in rows])
        return ()
    arrays = ", ".join(f"%s::{_array(connection, table, name)}" for name in columns)
    statement = f'INSERT INTO "{table.name}" ({names}) SELECT * FROM unnest({arrays}){ending}'  # noqa: S608
    given = tuple(list(values) for values in zip(*rows, strict=True))
    if not returning:
        connection.exec_driver_sql(statement, given)
        return ()
    return connection.exec_driver_sql(f"{statement} RETURNING {', '.join(returning)}", given).all()


def _array(connection: Connection, table: Table, name: str) -> str:
    """The type of an array of a column; of text without its length, which a cast would cut to."""
    kind = table.c[name].type
    return "text[]" if isinstance(kind, String) else f"{kind.compile(connection.dialect)}[]"
