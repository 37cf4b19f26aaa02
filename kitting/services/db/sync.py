"""Syncing: make the rows of a table equal to what the files say, and count what changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Table, and_, delete, insert, select, update
from sqlalchemy.orm import Session

_CHUNK = 500  # SQLite's oldest limit on parameters is 999

Row = dict[str, Any]


@dataclass(slots=True)
class Count:
    """How many entries of a sort were added, changed, the same, or taken out."""

    added: int = 0
    changed: int = 0
    same: int = 0
    removed: int = 0

    def add(self, changes: Changes) -> None:
        """Count the changes of one table with those before."""
        self.added += len(changes.new)
        self.changed += len(changes.stale)
        self.removed += len(changes.gone)
        self.same += changes.same


@dataclass(frozen=True, slots=True)
class Shape:
    """How a table is synced.

    `key` are the columns that name a row; `owner` the column whose rows are wholly described by
    the files. Rows of an owner that the files do not name are removed, unless `keep` says that
    people record such rows at work too. A table without owner stands on its own: rows that the
    files do not name are left alone. With `only` (a column and its value) just those rows are the
    files' business.
    """

    table: Table
    key: tuple[str, ...]
    owner: str | None = None
    keep: bool = False
    only: tuple[str, str] | None = None
    at_once: bool = False

    @property
    def removing(self) -> bool:
        """Whether rows that the files do not name are removed."""
        return self.owner is not None and not self.keep


@dataclass(frozen=True, slots=True)
class Changes:
    """What makes the rows of a table equal to what the files say."""

    new: list[Row]
    stale: list[tuple[Row, Row]]
    gone: list[Row]
    same: int

    @property
    def differs(self) -> bool:
        """Whether anything is to be added, changed or removed."""
        return bool(self.new or self.stale or self.gone)


def compare(
    wanted: Mapping[tuple[Any, ...], Row], found: Mapping[tuple[Any, ...], Row], removing: bool
) -> Changes:
    """What to add, to change (what stands there, what is wanted) and to remove, by key."""
    both = [(found[key], row) for key, row in wanted.items() if key in found]
    stale = [(old, row) for old, row in both if any(old[name] != row[name] for name in row)]
    return Changes(
        new=[row for key, row in wanted.items() if key not in found],
        stale=stale,
        gone=[row for key, row in found.items() if key not in wanted] if removing else [],
        same=len(both) - len(stale),
    )


@dataclass(slots=True)
class Sync:
    """One run over several tables, parents before children.

    `counts` are told by sort; `differing` are the tables of which any row changed, told or not.
    """

    session: Session
    counts: dict[str, Count] = field(default_factory=lambda: defaultdict(Count))
    differing: set[str] = field(default_factory=set)
    _doomed: list[tuple[Table, list[Row]]] = field(default_factory=list)
    _changed: dict[str, list[tuple[Row, Row]]] = field(default_factory=lambda: defaultdict(list))

    @property
    def differs(self) -> bool:
        """Whether any row changed."""
        return bool(self.differing)

    def sync(
        self, shape: Shape, rows: Iterable[Row], owners: Iterable[int], sort: str | None = None
    ) -> dict[tuple[Any, ...], int]:
        """Make the table's rows equal to `rows`; returns the ids by key (if it has ids).

        `owners` are the owner ids in whose hands the rows are. Removal waits for `finish`, since
        rows further down may still refer to what goes.
        """
        wanted = {tuple(row[column] for column in shape.key): row for row in rows}
        found = self._existing(shape, wanted, owners)
        changes = compare(wanted, found, shape.removing)
        if changes.differs:
            self.differing.add(shape.table.name)
        if sort:
            self.counts[sort].add(changes)
        self._update(shape, changes.stale)
        self._changed[shape.table.name] += changes.stale
        if changes.gone and shape.at_once:
            self._take_out(shape.table, changes.gone)
        elif changes.gone:
            self._doomed.append((shape.table, changes.gone))
        ids = {key: row["id"] for key, row in found.items() if "id" in row}
        return ids | self._insert(shape, changes.new)

    def changed(self, table: str) -> list[tuple[Row, Row]]:
        """The rows of a table that were changed: what stood there, and what was written."""
        return self._changed[table]

    def going(self, table: str) -> list[Row]:
        """The rows of a table that `finish` is going to take out."""
        return [row for doomed, rows in self._doomed if doomed.name == table for row in rows]

    def finish(self) -> None:
        """Take out what the files no longer name, children before parents."""
        for table, rows in reversed(self._doomed):
            self._take_out(table, rows)
        self._doomed.clear()

    def _take_out(self, table: Table, rows: Sequence[Row]) -> None:
        primary = [column.name for column in table.primary_key]
        for row in rows:
            here = and_(*(table.c[name] == row[name] for name in primary))
            self.session.execute(delete(table).where(here))

    def _existing(
        self, shape: Shape, wanted: Mapping[tuple[Any, ...], Row], owners: Iterable[int]
    ) -> dict[tuple[Any, ...], Row]:
        if shape.owner is None:
            column = shape.table.c[shape.key[0]]
            values: Sequence[Any] = sorted({key[0] for key in wanted})
        else:
            column, values = shape.table.c[shape.owner], sorted(set(owners))
        found: dict[tuple[Any, ...], Row] = {}
        for some in chunks(values):
            asked = select(shape.table).where(column.in_(some))
            if shape.only is not None:
                name, value = shape.only
                asked = asked.where(shape.table.c[name] == value)
            for row in self.session.execute(asked):
                values_of = dict(row._mapping)
                found[tuple(values_of[name] for name in shape.key)] = values_of
        return found

    def _insert(self, shape: Shape, rows: list[Row]) -> dict[tuple[Any, ...], int]:
        if not rows:
            return {}
        if "id" not in shape.table.c:
            self.session.execute(insert(shape.table), rows)
            return {}
        statement = insert(shape.table).returning(shape.table.c.id, sort_by_parameter_order=True)
        # One statement takes its columns from its first row: rows that state others go separately.
        alike: dict[tuple[str, ...], list[Row]] = {}
        for row in rows:
            alike.setdefault(tuple(row), []).append(row)
        ids: dict[tuple[Any, ...], int] = {}
        for some in alike.values():
            new = self.session.scalars(statement, some).all()
            ids |= {
                tuple(row[column] for column in shape.key): new_id
                for row, new_id in zip(some, new, strict=True)
            }
        return ids

    def _update(self, shape: Shape, stale: list[tuple[Row, Row]]) -> None:
        primary = [column.name for column in shape.table.primary_key]
        for old, row in stale:
            here = and_(*(shape.table.c[name] == old[name] for name in primary))
            self.session.execute(update(shape.table).where(here).values(row))


def chunks(values: Sequence[Any]) -> Iterator[Sequence[Any]]:
    """Slices small enough for one statement."""
    for start in range(0, len(values), _CHUNK):
        yield values[start : start + _CHUNK]
