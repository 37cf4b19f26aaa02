"""Ramps and technicians of the branches: loaded from lists, and listed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from kitting.errors import FileProblemsError, Problem
from kitting.facts.names import natural_key
from kitting.files.lists.ramps import (
    RAMP_FIELDS,
    TECHNICIAN_FIELDS,
    WEEKDAYS,
    StaffRow,
    read_staff,
)
from kitting.files.lists.reader import Field
from kitting.services.catalogue.load import LoadReport
from kitting.services.db.sync import Row, Shape, Sync
from kitting.services.lookup import hint
from kitting.store import writing
from kitting.tables.base import Base
from kitting.tables.ramps import (
    Absence,
    Ramp,
    Technician,
    TechnicianHours,
    TechnicianLicence,
)
from kitting.tables.supply import Branch
from kitting.tables.vocabulary import Licence
from kitting.views.work_day import AbsenceView, HeldView, RampView, StaffView, TechnicianView

TABLES = Base.metadata.tables


def load_ramps(engine: Engine, paths: Sequence[Path], dry_run: bool = False) -> LoadReport:
    """Load ramps from lists, all or nothing; a list describes the branches it names wholly.

    Raises FileProblemsError with every fault of the lists.
    """
    return _load(engine, paths, "ramp", RAMP_FIELDS, dry_run)


def load_technicians(engine: Engine, paths: Sequence[Path], dry_run: bool = False) -> LoadReport:
    """Load technicians from lists, as `load_ramps` does."""
    return _load(engine, paths, "technician", TECHNICIAN_FIELDS, dry_run)


@dataclass(frozen=True, slots=True)
class _Known:
    branches: Mapping[str, int]
    licences: Mapping[str, int]


def _load(
    engine: Engine, paths: Sequence[Path], what: str, fields: Mapping[str, Field], dry_run: bool
) -> LoadReport:
    rows: list[StaffRow] = []
    problems: list[Problem] = []
    for path in paths:
        found, faults = read_staff(path, fields)
        rows += found
        problems += faults
    with writing(engine) as session:
        known = _Known(
            dict(session.execute(select(Branch.code, Branch.id)).all()),
            dict(session.execute(select(Licence.code, Licence.id)).all()),
        )
        problems += _faults(rows, what, known)
        if problems:
            raise FileProblemsError(problems)
        sync = Sync(session)
        write = _write_ramps if what == "ramp" else _write_technicians
        write(sync, rows, known)
        sync.finish()
        if not dry_run:
            session.commit()
    return LoadReport(
        counts=dict(sync.counts), remarks=(), files=tuple(map(str, paths)), dry_run=dry_run
    )


def _faults(rows: Sequence[StaffRow], what: str, known: _Known) -> Iterator[Problem]:
    """Branches and licences that nobody described, and what is listed twice."""
    seen: set[tuple[str, str]] = set()
    for row in rows:
        branch, code = row.values["branch"], row.values[what]
        thing = f"{what} {code}"
        if branch not in known.branches:
            step = hint(branch, known.branches, "Describe it under 'branches' in a catalogue file")
            yield row.problem(thing, f"no branch is called {branch!r}", step)
        if (branch, code) in seen:
            yield row.problem(thing, f"it is listed twice in {branch}", "Keep one of the two rows")
        seen.add((branch, code))
        for licence in row.values.get("licences", ()):
            if licence not in known.licences:
                step = hint(
                    licence, known.licences, "Describe it under 'licences' in a catalogue file"
                )
                yield row.problem(thing, f"no licence is called {licence!r}", step)


def _owners(rows: Sequence[StaffRow], known: _Known) -> list[int]:
    return [known.branches[code] for code in dict.fromkeys(row.values["branch"] for row in rows)]


def _write_ramps(sync: Sync, rows: Sequence[StaffRow], known: _Known) -> None:
    shape = Shape(TABLES["ramp"], ("branch_id", "code"), "branch_id")
    wanted: list[Row] = [
        {
            "branch_id": known.branches[row.values["branch"]],
            "code": row.values["ramp"],
            "takes": row.values.get("takes"),
            "hours": row.values.get("hours"),
            "lifts": row.values.get("lifts"),
        }
        for row in rows
    ]
    sync.sync(shape, wanted, _owners(rows, known), "ramps")


def _write_technicians(sync: Sync, rows: Sequence[StaffRow], known: _Known) -> None:
    shape = Shape(TABLES["technician"], ("branch_id", "code"), "branch_id")
    wanted: list[Row] = [
        {"branch_id": known.branches[row.values["branch"]], "code": row.values["technician"]}
        for row in rows
    ]
    keys = sync.sync(shape, wanted, _owners(rows, known), "technicians")
    ids = {
        id(row): keys[known.branches[row.values["branch"]], row.values["technician"]]
        for row in rows
    }
    for table, key, each in (
        ("technician_hours", "weekday", _hour_rows),
        ("technician_licence", "licence_id", _licence_rows),
        ("absence", "first_day", _absence_rows),
    ):
        shape = Shape(TABLES[table], ("technician_id", key), "technician_id")
        several = [
            {"technician_id": ids[id(row)], **one} for row in rows for one in each(row, known)
        ]
        sync.sync(shape, several, ids.values(), _SORTS[table])


_SORTS = {
    "technician_hours": "hours of a weekday",
    "technician_licence": "licences held",
    "absence": "absences",
}


def _hour_rows(row: StaffRow, _known: _Known) -> Iterator[Row]:
    for weekday, name in enumerate(WEEKDAYS):
        if name in row.values:
            yield {"weekday": weekday, "hours": row.values[name]}


def _licence_rows(row: StaffRow, known: _Known) -> Iterator[Row]:
    for code, until in row.values.get("licences", {}).items():
        yield {"licence_id": known.licences[code], "valid_until": until}


def _absence_rows(row: StaffRow, _known: _Known) -> Iterator[Row]:
    for first, last in row.values.get("away", {}).items():
        yield {"first_day": first, "last_day": last}


@dataclass(frozen=True, slots=True)
class Staff:
    """Ramps and technicians as they were read, by the key of their branch."""

    ramps: Mapping[int, Sequence[Any]]
    technicians: Mapping[int, Sequence[Any]]
    hours: Mapping[int, Mapping[int, int]]
    licences: Mapping[int, Mapping[str, date | None]]
    away: Mapping[int, Sequence[tuple[date, date]]]


_RAMPS = select(Ramp.branch_id, Ramp.code, Ramp.takes, Ramp.hours, Ramp.lifts)
_TECHNICIANS = select(Technician.id, Technician.branch_id, Technician.code)
_HOURS = select(TechnicianHours.technician_id, TechnicianHours.weekday, TechnicianHours.hours)
_LICENCES = select(
    TechnicianLicence.technician_id, Licence.code, TechnicianLicence.valid_until
).join(Licence, TechnicianLicence.licence_id == Licence.id)
_ABSENCES = select(Absence.technician_id, Absence.first_day, Absence.last_day)


def read_staff_of(session: Session) -> Staff:
    """Every ramp and technician, in five statements whatever the number is."""
    ramps: dict[int, list[Any]] = {}
    for row in session.execute(_RAMPS):
        ramps.setdefault(row.branch_id, []).append(row)
    people: dict[int, list[Any]] = {}
    for who in session.execute(_TECHNICIANS):
        people.setdefault(who.branch_id, []).append(who)
    for found in (ramps, people):
        for rows in found.values():
            rows.sort(key=lambda row: natural_key(row.code))
    hours: dict[int, dict[int, int]] = {}
    for key, weekday, amount in session.execute(_HOURS):
        hours.setdefault(key, {})[weekday] = amount
    licences: dict[int, dict[str, date | None]] = {}
    for key, code, until in session.execute(_LICENCES):
        licences.setdefault(key, {})[code] = until
    away: dict[int, list[tuple[date, date]]] = {}
    for key, first, last in session.execute(_ABSENCES):
        away.setdefault(key, []).append((first, last))
    return Staff(ramps, people, hours, licences, away)


def list_staff(session: Session, branches: Mapping[int, str]) -> tuple[StaffView, ...]:
    """The ramps and technicians of some branches, by key and code."""
    staff = read_staff_of(session)
    return tuple(
        StaffView(
            branch=code,
            ramps=tuple(
                RampView(row.code, row.takes, row.hours, row.lifts)
                for row in staff.ramps.get(key, ())
            ),
            technicians=tuple(_listed(staff, row) for row in staff.technicians.get(key, ())),
        )
        for key, code in branches.items()
    )


def _listed(staff: Staff, row: Any) -> TechnicianView:
    hours = staff.hours.get(row.id, {})
    return TechnicianView(
        code=row.code,
        hours=tuple(hours.get(weekday) for weekday in range(len(WEEKDAYS))),
        licences=tuple(
            HeldView(code, until) for code, until in sorted(staff.licences.get(row.id, {}).items())
        ),
        away=tuple(AbsenceView(first, last) for first, last in sorted(staff.away.get(row.id, ()))),
    )
