"""Column maps: small files that say what the headings of somebody else's list mean."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from kitting.errors import FileProblemsError, Problem
from kitting.facts.figure_signs import SIGNS
from kitting.facts.names import hint
from kitting.facts.units import AMOUNT_UNITS
from kitting.files.catalogue.yaml_text import read_yaml
from kitting.files.lists.reader import ColumnMap, heading_text, read_list

IGNORE = "ignore"
OTHERS = "others"
# What a map says of the figures of a list, in lines such as "decimal: comma".
_DECIMAL, _PACK_UNIT = "decimal", "pack unit"
_SAID: Mapping[str, Mapping[str, str]] = {
    _DECIMAL: SIGNS | {sign: sign for sign in SIGNS.values()},
    _PACK_UNIT: {unit: unit for unit in AMOUNT_UNITS},
}
_LARGEST = 1024 * 1024


@dataclass(slots=True)
class _Gathered:
    """A map as it grows, entry by entry."""

    file: str
    known: Sequence[str]
    ours: dict[str, str] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    ignored: set[str] = field(default_factory=set)
    others_ignored: bool = False
    said: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def fault(self, line: int, thing: str, reason: str, step: str) -> None:
        self.problems.append(Problem(self.file, line, thing, reason, step))

    def add(self, line: int, theirs: str, ours: str) -> None:
        """One entry: their heading, and a column of ours or "ignore"."""
        heading, target = heading_text(theirs), heading_text(ours)
        thing = f"heading {theirs[:40]!r}"
        if heading == OTHERS and target == IGNORE:
            self.others_ignored = True
        elif heading in _SAID and target not in self.known and target != IGNORE:
            self._say(line, heading, target)
        elif not heading:
            self.fault(line, "heading", "it is empty", "Write the heading as the list does")
        elif heading in self.lines:
            first = self.lines[heading]
            self.fault(line, thing, f"it is mapped on line {first} already", "Keep one of the two")
        elif target == IGNORE:
            self.lines[heading] = line
            self.ignored.add(heading)
        elif target not in self.known:
            step = hint(target, self.known, f"Columns: {', '.join(self.known)}")
            self.fault(line, thing, f"unknown column {ours[:40]!r}", step)
        elif target in self.ours.values():
            (first,) = [self.lines[key] for key, known in self.ours.items() if known == target]
            reason = f"{target!r} is mapped on line {first} already"
            self.fault(line, thing, reason, "Keep one of the two")
        else:
            self.lines[heading] = line
            self.ours[heading] = target

    def _say(self, line: int, what: str, word: str) -> None:
        known = _SAID[what]
        if what in self.said:
            self.fault(line, what, "it is said a second time", "Keep one of the two")
        elif word in known:
            self.said[what] = known[word]
        else:
            step = f"Write one of {', '.join(one for one in known if one.isalpha())}"
            self.fault(line, what, f"unknown word {word[:40]!r}", step)

    def finished(self) -> ColumnMap:
        if self.problems:
            raise FileProblemsError(self.problems)
        ignored = frozenset(self.ignored)
        return ColumnMap(
            self.file,
            self.ours,
            self.lines,
            ignored,
            self.others_ignored,
            self.said.get(_DECIMAL),
            self.said.get(_PACK_UNIT),
        )


def read_map(path: Path, known: Sequence[str]) -> ColumnMap:
    """Read a column map onto the columns `known`.

    YAML holds lines such as "their heading: ours", beside them "ignore: [their heading, …]" and
    "others: ignore", and of figures "decimal: comma" and "pack unit: each"; CSV or XLSX has the
    columns 'theirs' and 'ours', with "ignore" for ours.
    Raises FileProblemsError with every fault.
    """
    gathered = _Gathered(str(path), known)
    if path.suffix.casefold() in (".csv", ".tsv", ".txt", ".xlsx"):
        _gather_list(path, gathered)
    else:
        _gather_yaml(path, gathered)
    return gathered.finished()


def _gather_list(path: Path, gathered: _Gathered) -> None:
    rows, problems = read_list(path, ("theirs", "ours"))
    gathered.problems += problems
    for row in rows:
        if "ours" not in row.cells:
            gathered.fault(row.line, "column 'ours'", "it is empty", "Name a column, or 'ignore'")
        else:
            gathered.add(row.line, row.cells.get("theirs", ""), row.cells["ours"])


def _gather_yaml(path: Path, gathered: _Gathered) -> None:
    raw, problems = read_yaml(path, _LARGEST, "Give a list of headings only")
    if problems:
        gathered.problems += problems
        return
    if not isinstance(raw, dict) or not raw:
        gathered.fault(1, "file", "it maps nothing", "Begin with a line 'their heading: part'")
        return
    for theirs, ours in raw.items():
        line = raw.lc.key(theirs)[0] + 1  # type: ignore[attr-defined]
        if isinstance(ours, list):
            _gather_ignored(gathered, line, str(theirs), ours)
        elif ours is None or isinstance(ours, dict) or theirs is None:
            step = f"Write '{theirs}: part', with a column of ours or 'ignore'"
            gathered.fault(line, f"heading {str(theirs)[:40]!r}", "it names no column", step)
        else:
            gathered.add(line, str(theirs), str(ours))


def _gather_ignored(gathered: _Gathered, line: int, theirs: str, headings: Iterable[Any]) -> None:
    if heading_text(theirs) != IGNORE:
        step = "Map a heading to one column; only 'ignore' takes several headings"
        gathered.fault(line, f"heading {theirs[:40]!r}", "it is mapped to several columns", step)
        return
    places = getattr(headings, "lc", None)
    for place, heading in enumerate(headings):
        own = places.item(place)[0] + 1 if places is not None else line
        if heading is None or isinstance(heading, list | dict):
            gathered.fault(own, "ignore", "it is a list of headings only", "Quote the heading")
        else:
            gathered.add(own, str(heading), IGNORE)
