"""How a plan reads: statements made once, lists of keys as parameters, rows as plain tuples."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, TypeAlias

from sqlalchemy import (
    ARRAY,
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
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement

Kinds: TypeAlias = Mapping[str, Any]
# SQLite takes 32,766 values; a statement names a list of keys in up to eight places.
MOST_KEYS = 4_000


class _Among(FunctionElement[bool]):
    """That a column is one of a list of keys."""

    inherit_cache = True


@compiles(_Among, "postgresql")
def _one_array(element: _Among, compiler: SQLCompiler, **how: Any) -> str:
    """One parameter whatever the number of keys, so that neither driver nor server reads anew."""
    column, keys = (compiler.process(part, **how) for part in element.clauses)
    return f"{column} = ANY ({keys})"


@compiles(_Among)
def _many_values(element: _Among, compiler: SQLCompiler, **how: Any) -> str:
    """A parameter for each key: SQLite chooses an index by how many there are."""
    column, keys = element.clauses
    values = bindparam(str(keys.key), expanding=True, type_=Integer)
    return compiler.process(column.in_(values), **how)


def among(column: ColumnElement[Any], name: str) -> ColumnElement[bool]:
    """That a column is one of the keys that the statement is sent with under a name."""
    return _Among(column, bindparam(name, type_=ARRAY(Integer)))


def branch(what: str, kinds: Kinds, **columns: ColumnElement[Any] | Any) -> Select[Any]:
    """One SELECT of a UNION ALL: `what` it tells, then the columns that `kinds` names, in order.

    A column that is not given is NULL. Words come as plain text: a union has one type per column.
    """
    filled = {
        name: type_coerce(columns[name], kind) if name in columns else cast(null(), kind)
        for name, kind in kinds.items()
    }
    return select(
        literal_column(f"'{what}'", String).label("what"),
        *(column.label(name) for name, column in filled.items()),
    )


def read_rows(
    connection: Connection, statement: Executable, **keys: Collection[int]
) -> Sequence[Any]:
    """The rows for lists of keys; nothing is sent where every list is empty.

    Very long lists are sent in parts, so that a row that belongs to keys of two parts comes twice.
    """
    lists = {name: list(values) for name, values in keys.items()}
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


def reachable(start: Iterable[int], *onwards: Mapping[int, Iterable[int]]) -> set[int]:
    """The keys of a list with all that any of the mappings leads on to, in any number of steps."""
    seen = set(start)
    ahead = list(seen)
    while ahead:
        one = ahead.pop()
        for following in (key for leads in onwards for key in leads.get(one, ())):
            if following not in seen:
                seen.add(following)
                ahead.append(following)
    return seen
