"""How a plan reads: statements made once, keys as expanding parameters, rows as plain tuples."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any, TypeAlias

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Connection,
    Executable,
    Integer,
    Select,
    String,
    bindparam,
    cast,
    literal_column,
    null,
    select,
    type_coerce,
)

# A statement names up to six lists of keys, and SQLite takes 32,766 values, PostgreSQL 65,535.
MOST_KEYS = 4_000
Kinds: TypeAlias = Mapping[str, Any]


def keys(name: str) -> BindParameter[Any]:
    """A list of keys that is filled in when the statement is sent."""
    return bindparam(name, expanding=True, type_=Integer)


def branch(what: str, kinds: Kinds, **columns: ColumnElement[Any] | Any) -> Select[Any]:
    """One SELECT of a UNION ALL: `what` it tells, then the columns that `kinds` names, in order.

    A column that is not given is NULL. Words come as plain text: a union has one type per column.
    """
    return select(
        literal_column(f"'{what}'", String).label("what"),
        *(
            (type_coerce(columns[name], kind) if name in columns else cast(null(), kind)).label(
                name
            )
            for name, kind in kinds.items()
        ),
    )


def read_rows(
    connection: Connection, statement: Executable, **asked: Collection[int]
) -> Sequence[Any]:
    """The rows for lists of keys; nothing is sent where every list is empty.

    Very long lists are sent in parts, so that rows that belong to keys of two parts may come twice.
    """
    lists = {name: list(values) for name, values in asked.items()}
    most = max(map(len, lists.values()))
    if most <= MOST_KEYS:
        return connection.execute(statement, lists).all() if most else ()
    return [
        row
        for start in range(0, most, MOST_KEYS)
        for row in connection.execute(
            statement, {name: values[start : start + MOST_KEYS] for name, values in lists.items()}
        )
    ]
