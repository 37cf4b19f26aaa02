"""Rows put together to the tree of entries that a catalogue file is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from kitting.errors import Problem
from kitting.facts.names import hint
from kitting.files.catalogue.fault_words import in_short
from kitting.files.catalogue.patterns import NOT_THERE
from kitting.files.catalogue.sheets.layout import Column, Owner, Path, Sheet, names_of, sheet_at
from kitting.files.catalogue.sheets.places import Cell, Cells
from kitting.files.catalogue.tree import new_list, new_mapping, on_line


@dataclass(slots=True)
class Row:
    """A row of a sheet: what its columns hold, without the empty ones."""

    sheet: Sheet
    number: int
    values: dict[Column, Any] = field(default_factory=dict)

    def put(self, column: Column, value: Any) -> None:
        """Add the value of a column; None is no value."""
        if value is not None:
            self.values[column] = value

    def cell(self, column: Column | None = None) -> Cell:
        """Where a column of the row stands."""
        return Cell(self.sheet.name, self.number, column.heading if column else "")

    def text(self, column: Column) -> str:
        """What a column says, "" where it is empty."""
        return str(self.values.get(column, ""))


@dataclass(frozen=True, slots=True)
class _Known:
    """An entry that later rows may belong to: what each of the columns may say that name it."""

    names: tuple[frozenset[str], ...]
    entry: Any


class Tree:
    """The tree that rows are added to, owners before what belongs to them."""

    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self.raw = new_mapping(0)
        self.problems: list[Problem] = []
        self._known: dict[tuple[int, Path], list[_Known]] = {}

    def add(self, row: Row) -> None:
        """Add a row as an entry, or say why it cannot be one."""
        sheet = row.sheet
        needed = [column for owner in sheet.owners for column in owner.columns if column.required]
        needed += [sheet.keyed] if sheet.keyed else []
        empty = [column for column in needed if column not in row.values]
        for column in empty:
            self._fault(row.cell(column), "row", "the cell is empty", f"Fill in {column.about}")
        owner = None if empty else self._owner(row)
        if owner is None:
            return
        line = self.cells.line(row.cell())
        entry = self._entry(row, line)
        held = owner
        begin = len(sheet.owners[-1].path) if sheet.owners else 0
        for key in sheet.path[begin:-1]:
            held = _inside(held, key, line, new_mapping)
        if sheet.single:
            if sheet.path[-1] in held:
                self._fault(row.cell(), "row", "there is one already", "Keep one of the two")
            held[sheet.path[-1]] = entry
            on_line(held, sheet.path[-1], line)
        elif sheet.keyed is None:
            entries = _inside(held, sheet.path[-1], line, new_list)
            entries.append(entry)
            on_line(entries, len(entries) - 1, line)
        elif not self._keyed(row, _inside(held, sheet.path[-1], line, new_mapping), entry):
            return
        self._known.setdefault((id(owner), sheet.path), []).append(
            _Known(_own_names(row, entry), entry)
        )

    def _keyed(self, row: Row, entries: Any, entry: Any) -> bool:
        """Put an entry under the name of its row; whether other rows may belong to it."""
        column = row.sheet.keyed
        assert column is not None  # noqa: S101 - asked for by the caller
        name = row.text(column)
        if name in entries:
            reason = "its joint has that part already"
            self._fault(row.cell(column), f"part {in_short(name)!r}", reason, "Keep one of the two")
            return False
        there = dict(entry) != {"item": NOT_THERE}
        entries[name] = entry if there else NOT_THERE
        on_line(entries, name, self.cells.line(row.cell(column)))
        return there

    def _fault(self, cell: Cell, thing: str, reason: str, next_step: str) -> None:
        self.problems.append(self.cells.fault(cell, thing, reason, next_step))

    def _entry(self, row: Row, line: int) -> Any:
        entry = new_mapping(line)
        for column in row.sheet.columns:
            if column not in row.values:
                continue
            there = self.cells.line(row.cell(column))
            node = entry
            for key in column.keys[:-1]:
                inner = _inside(node, key, there, new_mapping)
                if not isinstance(inner, dict):
                    other = " ".join(column.keys[:-1]).replace("_", " ")
                    reason = f"column {other!r} says {in_short(str(inner))!r} already"
                    self._fault(row.cell(column), "row", reason, "Empty one of the two cells")
                    break
                node = inner
            else:
                node[column.keys[-1]] = _placed(row.values[column], there)
                on_line(node, column.keys[-1], there)
        return entry

    def _owner(self, row: Row) -> Any | None:
        """The entry that a row belongs to; None where there is not exactly one."""
        node: Any = self.raw
        for owner in row.sheet.owners:
            known = self._known.get((id(node), owner.path), [])
            given = [row.text(column) for column in owner.columns]
            meant = [one for one in known if _is_meant(one, given)]
            if len(meant) != 1:
                self._no_owner(row, owner, known, meant)
                return None
            node = meant[0].entry
        return node

    def _no_owner(self, row: Row, owner: Owner, known: list[_Known], meant: list[_Known]) -> None:
        where, column = sheet_at(owner.path).name, owner.columns[0]
        name = in_short(row.text(column))
        if len(meant) > 1:
            unsaid = next((one for one in owner.columns if one not in row.values), column)
            step = (
                f"Fill in the {unsaid.heading}"
                if unsaid is not column or not name
                else (f"Give each row of {where!r} another name")
            )
            reason = f"{len(meant)} rows of sheet {where!r} may be meant"
            self._fault(row.cell(unsaid), f"{column.heading} {name!r}", reason, step)
            return
        names = [name for one in known for name in one.names[0]]
        step = hint(name, names, f"Add a row for it to sheet {where!r}")
        reason = f"sheet {where!r} has no such row" if known or name else "there is none"
        self._fault(row.cell(column), f"{column.heading} {name!r}", reason, step)


def _is_meant(known: _Known, given: list[str]) -> bool:
    return all(not name or name in names for name, names in zip(given, known.names, strict=True))


def _own_names(row: Row, entry: Any) -> tuple[frozenset[str], ...]:
    """What rows of other sheets may call the entry of a row."""
    found = []
    for key in names_of(row.sheet.path):
        if row.sheet.keyed is not None:
            found.append(frozenset({row.text(row.sheet.keyed)}))
            continue
        several = entry.get(f"{key}s")
        texts = several if isinstance(several, list) else [entry.get(key, "")]
        found.append(frozenset(map(str, texts)))
    return tuple(found)


def _inside(node: Any, key: str, line: int, make: Callable[[int], Any]) -> Any:
    """What stands under a key of a mapping; made where nothing does."""
    if key not in node:
        node[key] = make(line)
        on_line(node, key, line)
    return node[key]


def _placed(value: Any, line: int) -> Any:
    """A value of a cell, all of it on the line of the cell."""
    if isinstance(value, Mapping):
        for key, one in value.items():
            _placed(one, line)
            on_line(value, key, line)
    elif isinstance(value, list):
        made = value if hasattr(value, "lc") else new_list(line)
        if made is not value:
            made.extend(value)
        for index, one in enumerate(made):
            _placed(one, line)
            on_line(made, index, line)
        return made
    return value
