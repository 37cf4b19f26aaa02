"""Many rows of one table in one statement, the fastest way of each driver.

For lists of a hundred thousand rows and more: what SQLAlchemy does for every single row is left
out. Values are given as the drivers take them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, String, Table


def add_rows(
    connection: Connection,
    table: Table,
    columns: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    key: Sequence[str] = (),
    returning: tuple[str, str] | None = None,
) -> dict[Any, Any]:
    """Insert rows; one whose `key` is there already takes the new values of all other columns.

    Answers the second column of `returning` by the first, of every row, on PostgreSQL; SQLite
    cannot do so for many rows and answers with nothing. No two rows may have the same key.
    """
    if not rows:
        return {}
    names = ", ".join(f'"{name}"' for name in columns)
    ending = ""
    if key:
        changed = ", ".join(f'"{name}" = excluded."{name}"' for name in columns if name not in key)
        ending = f" ON CONFLICT ({', '.join(key)}) DO UPDATE SET {changed}"
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" * len(columns))
        statement = f'INSERT INTO "{table.name}" ({names}) VALUES ({marks}){ending}'  # noqa: S608
        connection.exec_driver_sql(statement, _tuples(rows))
        return {}
    arrays = ", ".join(f"%s::{_array(connection, table, name)}" for name in columns)
    statement = f'INSERT INTO "{table.name}" ({names}) SELECT * FROM unnest({arrays}){ending}'  # noqa: S608
    given = tuple(list(values) for values in zip(*rows, strict=True))
    if returning is None:
        connection.exec_driver_sql(statement, given)
        return {}
    answer = connection.exec_driver_sql(f"{statement} RETURNING {', '.join(returning)}", given)
    return dict(answer.all())


def _tuples(rows: Sequence[Sequence[Any]]) -> list[tuple[Any, ...]]:
    return [row if type(row) is tuple else tuple(row) for row in rows]


def _array(connection: Connection, table: Table, name: str) -> str:
    """The type of an array of a column; of text without its length, which a cast would cut to."""
    kind = table.c[name].type
    return "text[]" if isinstance(kind, String) else f"{kind.compile(connection.dialect)}[]"
