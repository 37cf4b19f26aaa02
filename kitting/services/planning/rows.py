"""How a plan reads: statements made once, lists of keys as one parameter, rows as plain tuples."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from typing import Any, TypeAlias

from sqlalchemy import (
    ARRAY,
    Boolean,
    ColumnElement,
    Connection,
    Dialect,
    Executable,
    Integer,
    Select,
    String,
    Text,
    TypeDecorator,
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
from sqlalchemy.types import TypeEngine

Kinds: TypeAlias = Mapping[str, Any]


class _Keys(TypeDecorator[Collection[int]]):
    """A list of keys as one value: an array on PostgreSQL, JSON text on SQLite."""

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The type that the engine takes a list in."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(ARRAY(Integer))
        return dialect.type_descriptor(Text())

    def process_bind_param(self, value: Collection[int] | None, dialect: Dialect) -> Any:
        """The list as the engine takes it."""
        keys = sorted(value or ())
        return keys if dialect.name == "postgresql" else json.dumps(keys)


class _Among(FunctionElement[bool]):
    """That a column is one of a list of keys."""

    type = Boolean()
    inherit_cache = True


@compiles(_Among, "postgresql")
def _among_array(element: _Among, compiler: SQLCompiler, **how: Any) -> str:
    column, keys = (compiler.process(part, **how) for part in element.clauses)
    return f"{column} = ANY ({keys})"


@compiles(_Among, "sqlite")
def _among_json(element: _Among, compiler: SQLCompiler, **how: Any) -> str:
    column, keys = (compiler.process(part, **how) for part in element.clauses)
    return f"{column} IN (SELECT value FROM json_each({keys}))"  # noqa: S608  (our own text)


def among(column: ColumnElement[Any], name: str) -> ColumnElement[bool]:
    """That a column is one of the keys that a statement is sent with under a name.

    The keys are one parameter: the text of the statement is the same for every plan, so that
    neither the driver nor the engine reads it anew, and no number of keys is too large.
    """
    return _Among(column, bindparam(name, type_=_Keys()))


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
    """The rows for lists of keys; nothing is sent where every list is empty."""
    if not any(keys.values()):
        return ()
    return connection.execute(statement, keys).all()
