"""The rows of stock lists, each with what its scan says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from kitting.errors import KittingError, Problem
from kitting.facts.gs1 import Scan, unread_text
from kitting.facts.making import recorded_days
from kitting.facts.packets import Said
from kitting.files.lists.stock import read_stock
from kitting.services.item_numbers import code_of
from kitting.services.stock.scans import with_typed


@dataclass(frozen=True, slots=True)
class Entry:
    """A row of a list, and where it stands; `unused` is what of its scan is not used."""

    file: str
    line: int
    values: Mapping[str, Any]
    unused: str = ""

    def fault(self, reason: str, step: str) -> Problem:
        """A fault of the lot that the row is of."""
        return Problem(self.file, self.line, f"lot {self.values['lot']}", reason, step)

    def scanned_as(self, name: str, here: date) -> bool:
        """Whether a scanned day of making is one of the quarter or month that is on record."""
        scan: Scan | None = self.values.get("scan")
        if name != "made" or scan is None or scan.made is None:
            return False
        return scan.made in recorded_days(here)


def read_entries(paths: Sequence[Path]) -> tuple[list[Entry], list[Problem]]:
    """Every row of some lists, and every fault of their cells."""
    entries: list[Entry] = []
    problems: list[Problem] = []
    for path in paths:
        rows, faults = read_stock(path)
        entries += [Entry(str(path), row.line, values) for row, values in rows]
        problems += faults
    return entries, problems


def with_scans(session: Session, entries: Sequence[Entry]) -> tuple[list[Entry], list[Problem]]:
    """The entries with what their scans say, and what contradicts it or is not known.

    Their items are codes, also where a number was typed; `made` is a day.
    """
    found, problems = [], []
    for entry in entries:
        column = "scan" if "scan" in entry.values else "item"
        try:
            found.append(_known(session, entry))
        except KittingError as error:
            thing, step = f"column {column!r}", "Correct this row"
            problems.append(Problem(entry.file, entry.line, thing, error.message, step))
    return found, problems


def _known(session: Session, entry: Entry) -> Entry:
    values = entry.values
    scan: Scan | None = values.get("scan")
    if scan is None:
        made = {"made": values["made"].last} if "made" in values else {}
        item = {"item": code_of(session, values["item"])}
        return replace(entry, values={**values, **item, **made})
    typed = Said(*(values.get(name) for name in ("lot", "made", "expires")))
    packet = with_typed(session, scan, values.get("item"), typed)
    said = {name: value for name, value in asdict(packet).items() if value is not None}
    counted = scan.count is not None and values["quantity"].thousandths == 1000 * scan.count
    unused = unread_text((*(() if counted else scan.counts), *scan.unread))
    return replace(entry, values={**values, **said}, unused=unused)
